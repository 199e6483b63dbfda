/** Hover: what a value is in other units, what a name stands for, and, on an itinerary line, the whole leg. */
import { type Hover, MarkupKind } from 'vscode-languageserver-types';
import { type LinePosition, rangeAt } from '../../grammar/file.ts';
import type { LineSyntax, NameNode } from '../../grammar/syntax.ts';
import { namespaceOf } from '../plan/meaning.ts';
import { show } from '../plan/show.ts';
import type { TaskEvaluation } from '../plan/task.ts';
import type { Understood } from '../plan/understand.ts';
import { definedIn, lookUp } from '../plan/workspace.ts';
import { describeEntry } from './hover-entries.ts';
import { climbSection, legSection, startSection } from './hover-legs.ts';
import { soarSection } from './hover-soar.ts';
import { describeValue, type ValuePlace } from './hover-values.ts';
import { type Located, locate, touches } from './locate.ts';
import { saysOf } from './says.ts';

/** The reader of a hover: where the file's own text says nothing more, its lines are explained. */
function keywordSection(located: Located): string | undefined {
  const { line, offset } = located;
  if (!line?.form || !touches(line.keyword, offset)) return undefined;
  return `\`${line.form.id}\`: ${saysOf(line.form)}`;
}

function taskOf(understood: Understood, located: Located): TaskEvaluation | undefined {
  return understood.tasks.find((task) => task.entry === located.placed.syntax);
}

function itinerarySection(task: TaskEvaluation, line: LineSyntax, with_: ReturnType<typeof show>): string | undefined {
  const leg = task.legs.find((one) => one.line === line);
  if (leg) return legSection(leg, task, with_);
  if (task.start?.line === line) return startSection(task, with_);
  return climbSection(task, line, with_) ?? soarSection(task, line, with_);
}

function nameSection(
  understood: Understood,
  located: Located,
  node: NameNode,
  with_: ReturnType<typeof show>,
): string | undefined {
  const { slot, placed } = located;
  if (slot?.refers) {
    const found = lookUp(understood.scope, slot.refers, node.text)[0];
    return found && describeEntry(found, understood, with_);
  }
  const own = definedIn(understood.file, placed.syntax);
  return namespaceOf(own.meaning) ? describeEntry(own, understood, with_) : undefined;
}

/** The hover at a position; undefined where there is nothing to say. */
export function hover(understood: Understood, position: LinePosition): Hover | undefined {
  const located = locate(understood.file.syntax, position);
  const line = located?.line;
  if (!located || !line) return undefined;
  const with_ = show(understood.units);
  const task = taskOf(understood, located);
  const sections: string[] = [];
  const { node, slot } = located;
  let span = line.span;
  if (node && slot) {
    span = node.span;
    const place: ValuePlace = { understood, located, line, node, slot, task };
    const text = node.kind === 'name' ? nameSection(understood, located, node, with_) : describeValue(place, with_);
    if (text) sections.push(text);
  }
  const itinerary = task && line.form?.itinerary ? itinerarySection(task, line, with_) : undefined;
  if (itinerary) sections.push(itinerary);
  if (sections.length === 0) {
    const keyword = keywordSection(located);
    if (keyword) {
      sections.push(keyword);
      span = line.keyword;
    }
  }
  if (sections.length === 0) return undefined;
  if (itinerary && !node) span = line.span;
  return {
    contents: { kind: MarkupKind.Markdown, value: sections.join('\n\n---\n\n') },
    range: rangeAt(located.placed, span),
  };
}
