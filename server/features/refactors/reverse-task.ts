/**
 * A task flown the other way round. Climbs stay over their points, and speeds and climbs on the way with their legs. The
 * height of the start, and the climbs over it, are those of the new start, since over a finish nobody climbs.
 */
import { CodeActionKind } from 'vscode-languageserver-types';
import type { LineSyntax, QuantityNode } from '../../../grammar/syntax.ts';
import { fromSi } from '../../../grammar/units.ts';
import { track } from '../../flight/index.ts';
import type { Task } from '../../plan/meaning.ts';
import type { LegEvaluation, TaskEvaluation } from '../../plan/task.ts';
import { type Edit, replaceIn, rowAt, type Spot, spotOf } from '../fixes/edit.ts';
import { plain, shownName } from '../fixes/writing.ts';
import { locate } from '../locate.ts';
import type { Refactorer } from './refactoring.ts';

interface Climb {
  readonly line: LineSyntax;
  readonly afterM: number | undefined;
}

/** A leg as it is written: where it goes, how fast, and the climbs on it. */
interface Way {
  readonly line: LineSyntax;
  readonly speed: string;
  readonly onTheWay: readonly Climb[];
  readonly lengthM: number | undefined;
}

/** The itinerary by points: over each the climbs, and the leg that leads away from it. */
interface Itinerary {
  readonly start: LineSyntax;
  readonly points: readonly LineSyntax[];
  readonly overhead: readonly (readonly Climb[])[];
  readonly ways: readonly Way[];
}

function lengthOf(leg: LegEvaluation | undefined): number | undefined {
  const [from, to] = [leg?.from?.meaning.position, leg?.to?.meaning.position];
  return from && to ? track(from, to).distanceM : undefined;
}

/** The itinerary, where it goes from one start to one finish and every line can be read. */
function itineraryOf(task: Task, evaluation: TaskEvaluation): Itinerary | undefined {
  const { itinerary, entry } = task;
  const [start] = itinerary;
  const last = itinerary.at(-1);
  const count = (kind: string) => itinerary.filter((item) => item.kind === kind).length;
  if (start?.kind !== 'start' || last?.kind !== 'finish' || count('start') !== 1 || count('finish') !== 1)
    return undefined;
  const faulty = new Set(task.faulty.map(({ line }) => line));
  if (itinerary.some(({ line }) => faulty.has(line) || line.problems.length > 0 || !line.form)) return undefined;
  const points = [start.line];
  const overhead: Climb[][] = [[]];
  const ways: Way[] = [];
  let onTheWay: Climb[] = [];
  for (const item of itinerary.slice(1)) {
    if (item.kind === 'climb') {
      if (item.afterM === 'unread') return undefined;
      if (item.afterM === undefined) overhead.at(-1)?.push({ line: item.line, afterM: undefined });
      else onTheWay.push({ line: item.line, afterM: item.afterM });
      continue;
    }
    const point = item.line.slots['point'];
    if (!point) return undefined;
    const leg = evaluation.legs.find(({ line }) => line === item.line);
    const speed = entry.text.slice(point.span.end, item.line.span.end);
    ways.push({ line: item.line, speed, onTheWay, lengthM: lengthOf(leg) });
    onTheWay = [];
    points.push(item.line);
    overhead.push([]);
  }
  return { start: start.line, points, overhead, ways };
}

/** The rows of the itinerary the other way round; undefined when a climb on the way would lie nowhere. */
function reversedRows({ start, points, overhead, ways }: Itinerary, text: string): string[] | undefined {
  const second = start.tokens[1];
  const column = second ? second.startOffset - start.span.start : 0;
  const lead = (keyword: string) => keyword.padEnd(Math.max(column - 1, keyword.length));
  const remark = (line: LineSyntax) => text.slice(line.span.end, rowAt(text, line.span.start).end).trimEnd();
  const name = (line: LineSyntax) => {
    const { span } = line.slots['point'] ?? line;
    return text.slice(span.start, span.end);
  };
  const last = points.length - 1;
  const altitude = text.slice(start.slots['point']?.span.end ?? start.span.end, start.span.end);
  const newStart = points[last] as LineSyntax;
  const rows = [`${lead('start')} ${name(newStart)}${altitude}${remark(newStart)}`];
  for (let i = last; i > 0; i--) {
    const above = i === last ? overhead[0] : overhead[i];
    for (const { line } of above ?? []) rows.push(text.slice(line.span.start, line.span.end) + remark(line));
    const way = ways[i - 1] as Way;
    const climbs = way.onTheWay.toSorted((a, b) => (b.afterM ?? 0) - (a.afterM ?? 0));
    for (const { line, afterM } of climbs) {
      const node = line.slots['after'] as QuantityNode | undefined;
      const unit = node?.unit?.unit;
      const restM = way.lengthM === undefined || afterM === undefined ? undefined : way.lengthM - afterM;
      if (!node || !unit || restM === undefined || restM < 0) return undefined;
      const rest = `${plain(fromSi(restM, unit), unit.factor >= 100 ? 2 : 0)} ${unit.text}`;
      rows.push(
        text.slice(line.span.start, node.span.start) + rest + text.slice(node.span.end, line.span.end) + remark(line),
      );
    }
    const to = points[i - 1] as LineSyntax;
    rows.push(`${lead(i === 1 ? 'finish' : 'turn')} ${name(to)}${way.speed}${remark(to)}`);
  }
  return rows;
}

/** Puts rows in the places of the itinerary's lines, each with what stands behind it. */
function edits(spot: Spot, lines: readonly LineSyntax[], rows: readonly string[]): Edit[] {
  const { text } = spot.placed.syntax;
  return lines.flatMap((line, i) => {
    const span = { start: line.span.start, end: rowAt(text, line.span.start).end };
    const row = rows[i] as string;
    return text.slice(span.start, span.end) === row ? [] : [replaceIn(spot, span, row)];
  });
}

export const reverseTask: Refactorer = function* (range, { workspace, understood }) {
  const located = locate(understood.file.syntax, range.start);
  const entry = located?.placed.syntax;
  const task = understood.tasks.find((one) => one.entry === entry);
  const { line } = located ?? {};
  if (!task || !entry || !line || !(line === entry.head || line.form?.itinerary)) return;
  const spot = spotOf(workspace, task.uri, entry);
  const itinerary = itineraryOf(task.task, task);
  const rows = itinerary && reversedRows(itinerary, entry.text);
  const lines = task.task.itinerary.map((item) => item.line);
  if (!spot || !rows || rows.length !== lines.length) return;
  const changes = edits(spot, lines, rows);
  if (changes.length > 0)
    yield {
      title: `Fly ${shownName(task.task.name)} the other way round`,
      kind: CodeActionKind.RefactorRewrite,
      edits: changes,
    };
};
