/** Fixes for what a plan leaves to be assumed: weather, performance, a polar that is given twice. */
import { detailsOf, type LineSyntax } from '../../../grammar/syntax.ts';
import type { Form } from '../../../grammar/vocabulary.ts';
import { bestGlideRatio } from '../../flight/index.ts';
import type { Meaning } from '../../plan/meaning.ts';
import type { Reference } from '../../plan/task.ts';
import { fileName, namesIn } from '../../plan/workspace.ts';
import { entryAbove } from './blocks.ts';
import { inserted } from './details.ts';
import { detailLine, type Edit, removeLine, replaceIn, type Spot, spotOf } from './edit.ts';
import type { Fix, FixContext, Fixer } from './fix.ts';
import { taskOf } from './legs.ts';
import { nameText, plain, shownName } from './writing.ts';

/** What is computed with where the weather says nothing, as it is written. */
const STANDARD = [
  ['qnh', '1013.25 hPa'],
  ['temperature', '15 °C at 0 m MSL'],
  ['wind', 'surface from 000° at 0 kt'],
] as const;

/** Puts a detail into an entry, where it belongs. */
function added(spot: Spot, id: string, says: string): Edit | undefined {
  const { syntax } = spot.placed;
  const form = syntax.form?.details.find((one: Form) => one.id === id);
  return form && inserted(spot, form, detailLine(syntax, id, says));
}

/** ` in rules.taskplan`, when an edit is made in another file. */
function elsewhere(reference: Reference<Meaning>, { understood }: FixContext): string {
  return reference.at.uri === understood.file.uri ? '' : ` in ${shownName(fileName(reference.at.uri))}`;
}

function standardIn(weather: Reference<Meaning>, context: FixContext): Fix[] {
  const { meaning, at } = weather;
  const spot = spotOf(context.workspace, at.uri, at.entry);
  if (!spot) return [];
  const there = (id: string) =>
    detailsOf(meaning.entry, id).length > 0 || meaning.faulty.some(({ detail }) => detail === id);
  const missing = STANDARD.filter(([id]) => !there(id));
  const edits = missing.flatMap(([id, says]) => added(spot, id, says) ?? []);
  // Lines at one place become one edit, in their order.
  const joined = edits.reduce<Edit[]>((all, edit) => {
    const last = all.at(-1);
    if (last?.start === edit.start) all[all.length - 1] = { ...last, text: last.text + edit.text };
    else all.push(edit);
    return all;
  }, []);
  const what = missing.map(([id, says]) => `${id} ${says}`).join(', ');
  return [{ title: `Write what is assumed${elsewhere(weather, context)}: ${what}`, edits: joined, preferred: true }];
}

/** Weather that is assumed: written out, or that of a day that is known. */
export const writeWeather: Fixer = function* (finding, context) {
  const task = taskOf(finding, context);
  const spot = task && spotOf(context.workspace, task.uri, task.entry);
  if (!task || !spot) return;
  if (task.weather) {
    yield* standardIn(task.weather, context);
    return;
  }
  const known = namesIn(context.understood.scope, 'weather');
  for (const name of known.slice(0, 3)) {
    const text = nameText(name);
    const edit = text === undefined ? undefined : added(spot, 'weather', text);
    if (edit) yield { title: `Plan for the weather ${shownName(name)}`, edits: [edit], preferred: known.length === 1 };
  }
  const name = ['Standard', 'Assumed', 'Standard-Air'].find((one) => !known.includes(one));
  if (name === undefined) return;
  const entry = [`weather ${name}`, ...STANDARD.map(([id, says]) => `  ${id.padEnd(11)} ${says}`)].join('\n');
  const above = entryAbove(task.uri, spot.file.syntax, task.entry, entry);
  const line = added(spot, 'weather', name);
  if (above && line) yield { title: 'Write the weather that is assumed: calm, standard air', edits: [above, line] };
};

/** Says which share of the polar, or which glide ratio, a reserve plans on. */
function* performance(ways: readonly string[], finding: Parameters<Fixer>[0], context: FixContext): Iterable<Fix> {
  const reserve = taskOf(finding, context)?.reserve ?? reserveAt(finding, context);
  const spot = reserve && spotOf(context.workspace, reserve.at.uri, reserve.at.entry);
  if (!reserve || !spot) return;
  const written = reserve.meaning.performance;
  for (const text of ways) {
    const edit = written ? replaceIn(spot, written.span, text) : added(spot, 'performance', text);
    if (edit)
      yield {
        title: `Plan on ${text.endsWith('%') ? `${text} of the polar` : text} with ${shownName(reserve.meaning.name)}${elsewhere(reserve, context)}`,
        edits: [edit],
        preferred: ways.length === 1,
      };
  }
}

/** The reserve in which a finding is marked. */
function reserveAt({ at }: Parameters<Fixer>[0], { understood }: FixContext) {
  return understood.tasks.find(({ reserve }) => reserve?.at.entry === at.entry)?.reserve;
}

export const planOnLess: Fixer = (finding, context) => performance(['70 %'], finding, context);

/** No better than the polar of the aircraft. */
export const asGoodAsPolar: Fixer = (finding, context) => {
  const asks = (performance: { kind: string } | undefined) => performance?.kind === 'ratio';
  const task =
    taskOf(finding, context) ??
    context.understood.tasks.find(
      ({ reserve, share }) =>
        reserve?.at.entry === finding.at.entry && asks(reserve.meaning.performance?.value) && share === undefined,
    );
  const polar = task?.aircraft?.meaning.polar;
  if (polar?.kind !== 'polar') return [];
  const best = Math.floor(bestGlideRatio(polar.polar) * 10 + 1e-9) / 10;
  return performance([`${plain(best, 1)}:1`, '70 %'], finding, context);
};

/** The points count: the handbook's figures go, or stay as a note. */
export const onePolar: Fixer = (finding, { workspace }) => {
  const { at } = finding;
  const spot = spotOf(workspace, at.uri, at.entry);
  if (!spot) return [];
  const figures = ['best glide', 'minimum sink'].flatMap((id) => detailsOf(at.entry, id));
  const text = ({ span }: LineSyntax) => at.entry.text.slice(span.start, span.end).replace(/\s+/g, ' ');
  const notes = figures.map((line) =>
    replaceIn(spot, line.span, detailLine(at.entry, 'note', `"${text(line)}"`).trimStart()),
  );
  return [
    {
      title: 'Take the figures of the handbook out: the points count',
      edits: figures.map((line) => removeLine(spot, line)),
      preferred: true,
    },
    { title: 'Keep the figures of the handbook as notes', edits: notes },
  ];
};
