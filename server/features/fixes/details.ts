/** Fixes for the details of an entry: those that are missing, and those that stand twice. */
import { detailsOf, type LineSyntax } from '../../../grammar/syntax.ts';
import { fromSi, unit } from '../../../grammar/units.ts';
import type { Form } from '../../../grammar/vocabulary.ts';
import type { Aircraft, Meaning } from '../../plan/meaning.ts';
import { namesIn } from '../../plan/workspace.ts';
import { detailLine, type Edit, insertAbove, insertBelow, removeLine, type Spot, spotOf } from './edit.ts';
import { type Fix, type FixContext, type Fixer, meaningAt } from './fix.ts';
import { FILL_IN } from './names.ts';
import { nameText } from './writing.ts';

const whole = (value: number) => Math.round(value);

/** Figures for an aircraft that fit those it has: masses rise from empty to maximum, speeds from vs to vne. */
function aircraftValue(
  id: string,
  { polarMassKg, emptyMassKg, maximumMassKg, ...speeds }: Aircraft,
): string | undefined {
  const empty = emptyMassKg?.value ?? Math.min(polarMassKg?.value ?? 310, maximumMassKg?.value ?? 340) * 0.7;
  const most = maximumMassKg?.value ?? Math.max(340, empty + 115, polarMassKg?.value ?? 0);
  const known = [speeds.vaMps, speeds.vnoMps].flatMap((speed) => (speed ? [fromSi(speed.value, unit('kt'))] : []));
  const vs = speeds.vsMps && fromSi(speeds.vsMps.value, unit('kt'));
  const vne = speeds.vneMps && fromSi(speeds.vneMps.value, unit('kt'));
  switch (id) {
    case 'polar mass':
      return `${whole(Math.min(empty + 85, most))} kg`;
    case 'empty mass':
      return `${whole(empty)} kg`;
    case 'maximum mass':
      return `${whole(most)} kg`;
    case 'vs':
      return `${whole(Math.min(36, ...[...known, ...(vne ? [vne] : [])].map((speed) => speed * 0.45)))} kt`;
    case 'vne':
      return `${whole(Math.max(115, ...known.map((speed) => speed * 1.25), ...(vs ? [vs * 3] : [])))} kt`;
    default:
      return undefined;
  }
}

const VALUES: Readonly<Record<string, string>> = {
  'field elevation': '200 m',
  'turnpoint elevation': '200 m',
  'obstacle top': '1000 ft MSL',
  'airspace floor': '4500 ft MSL',
  'airspace ceiling': 'FL95',
  'reserve arrive': '1000 ft AGL',
};

/** A name of this kind that the file knows, as it is written. */
function someName(namespace: 'aircraft' | 'reserve', { understood }: FixContext): string | undefined {
  const [name] = namesIn(understood.scope, namespace);
  return name === undefined ? undefined : nameText(name);
}

/** A field that the file knows. */
function someField({ understood }: FixContext): string | undefined {
  for (const file of understood.scope.files) {
    const field = file.syntax.trees.find(({ form, name }) => form?.keyword === 'field' && name);
    const name = field?.name?.text;
    if (name) return nameText(name);
  }
  return undefined;
}

/** The name that a line of a task's itinerary has. */
function pointOf(meaning: Meaning, kind: 'start' | 'finish'): string | undefined {
  if (meaning.kind !== 'task') return undefined;
  const item = meaning.itinerary.find((one) => one.kind === kind);
  const name = item && 'point' in item ? item.point?.text : undefined;
  return name === undefined ? undefined : nameText(name);
}

/** What a missing detail says until it is filled in; undefined when nothing valid can be said. */
function saysOf(id: string, meaning: Meaning, context: FixContext): string | undefined {
  if (meaning.kind === 'aircraft') return aircraftValue(id, meaning);
  if (meaning.kind !== 'task') return VALUES[`${meaning.kind} ${id}`];
  switch (id) {
    case 'aircraft':
    case 'reserve':
      return someName(id, context);
    case 'start': {
      const point = pointOf(meaning, 'finish') ?? someField(context);
      return point && `${point} at 3000 ft MSL`;
    }
    case 'finish':
      return pointOf(meaning, 'start') ?? someField(context);
    default:
      return undefined;
  }
}

/** Puts a detail where it belongs among those that the entry has: in the order of the vocabulary. */
export function inserted(spot: Spot, form: Form, row: string): Edit {
  const { syntax } = spot.placed;
  const forms = syntax.form?.details ?? [];
  const rank = (one: Form | undefined) => (one ? forms.indexOf(one) : -1);
  const own = rank(form);
  const behind = syntax.details.find((line) => line.form?.id !== 'note' && rank(line.form) > own);
  if (behind) return insertAbove(spot, behind, [row]);
  return insertBelow(spot, syntax.details.at(-1), [row]);
}

/** Two ways to give a polar. */
const POLARS = [
  {
    title: ' with points of the polar',
    rows: [
      ['polar', '45 kt sink 1.40 kt'],
      ['polar', '60 kt sink 2.05 kt'],
      ['polar', '80 kt sink 3.70 kt'],
    ],
  },
  {
    title: ' with the figures of the handbook',
    rows: [
      ['best glide', '30:1 at 50 kt'],
      ['minimum sink', '1.5 kt at 42 kt'],
    ],
  },
] as const;

/** Lines that complete the polar of an aircraft, one set for each way; a single empty one when nothing is missing. */
function polarRows({ entry, faulty }: Aircraft): { title: string; rows: readonly (readonly [string, string])[] }[] {
  const complete = [{ title: '', rows: [] }];
  if (faulty.some(({ detail }) => ['polar', 'best glide', 'minimum sink'].includes(detail ?? ''))) return complete;
  const points = detailsOf(entry, 'polar').length;
  const best = detailsOf(entry, 'best glide').length > 0;
  const minimum = detailsOf(entry, 'minimum sink').length > 0;
  if (points >= 3 || (points === 0 && best && minimum)) return complete;
  if (points > 0) return [{ title: '', rows: POLARS[0].rows.slice(points) }];
  if (best) return [{ title: '', rows: POLARS[1].rows.slice(1) }];
  if (minimum) return [{ title: '', rows: POLARS[1].rows.slice(0, 1) }];
  return POLARS.map(({ title, rows }) => ({ title, rows }));
}

export const missingDetails: Fixer = function* (finding, context) {
  const { at } = finding;
  const spot = spotOf(context.workspace, at.uri, at.entry);
  const meaning = meaningAt(finding, context);
  const { form } = at.entry;
  if (!spot || !meaning || !form) return;
  const here = new Set(at.entry.details.map((line) => line.form?.id));
  for (const { detail } of meaning.faulty) if (detail !== undefined) here.add(detail);
  const missing = form.details.filter(({ required, id }) => required && !here.has(id));
  const rowOf = (id: string, says: string) => `${detailLine(at.entry, id, says)}  ${FILL_IN}`;
  const rows: { form: Form; row: string }[] = [];
  for (const one of missing) {
    const says = saysOf(one.id, meaning, context);
    if (says === undefined) return;
    rows.push({ form: one, row: rowOf(one.id, says) });
  }
  const polars = meaning.kind === 'aircraft' ? polarRows(meaning) : [{ title: '', rows: [] }];
  for (const polar of polars) {
    const own = polar.rows.flatMap(([id, says]) => {
      const detail = form.details.find((one) => one.id === id);
      return detail ? [{ form: detail, row: rowOf(id, says) }] : [];
    });
    const edits = merged([...own, ...rows].map(({ form: one, row }) => inserted(spot, one, row)));
    const count = own.length + rows.length;
    yield {
      title: `Add what is missing${polar.title}, to be filled in${count > 1 ? ` (${count} lines)` : ''}`,
      edits,
      preferred: polars.length === 1,
    };
  }
};

/** Insertions at one place as one, in their order. */
function merged(edits: readonly Edit[]): Edit[] {
  const by = new Map<number, Edit>();
  for (const edit of edits) {
    const same = by.get(edit.start);
    by.set(edit.start, same ? { ...same, text: same.text + edit.text } : edit);
  }
  return [...by.values()];
}

const bare = (spot: Spot, line: LineSyntax) =>
  line.tokens
    .map((tok) => tok.image)
    .join(' ')
    .toLowerCase() + (spot.placed.syntax.form?.keyword ?? '');

export const repeatedDetail: Fixer = function* (finding, { workspace }) {
  const { at } = finding;
  const spot = spotOf(workspace, at.uri, at.entry);
  const line = at.entry.details.find(({ keyword }) => keyword.start === at.span.start);
  const first = line && at.entry.details.find(({ form }) => form === line.form);
  if (!spot || !line || !first) return;
  const equal = bare(spot, line) === bare(spot, first);
  yield {
    title: 'Take this line out: the first one counts',
    edits: [removeLine(spot, line)],
    preferred: true,
    safe: equal,
  };
  if (!equal)
    yield { title: 'Take the first one out, and let this one count', edits: [removeLine(spot, first)] } satisfies Fix;
};
