/** Units behind a number, in the order in which the file uses them, with the datum of a height; letters behind an angle. */
import { CompletionItemKind } from 'vscode-languageserver-types';
import { linesOf, type QuantityNode, type ValueNode } from '../../grammar/syntax.ts';
import { Angle, NumberToken, PlainKeyword, Word } from '../../grammar/tokens.ts';
import { type Unit, unitOf, unitsFor } from '../../grammar/units.ts';
import type { Slot } from '../../grammar/vocabulary.ts';
import type { Show } from '../plan/show.ts';
import { DATUMS, datumUse, dimensionOf } from '../plan/values.ts';
import type { Expected } from './completion-expected.ts';
import type { Draft } from './completion-item.ts';
import type { CompletionPlace } from './completion-place.ts';

/** Values of the same kind that the file holds: those of this very slot, and all others. */
export function* writtenIn({
  understood,
  row,
}: CompletionPlace): Iterable<{ entry: string; id: string; slot: string; node: ValueNode }> {
  for (const { syntax, line } of understood.file.syntax.entries) {
    for (const { form, slots, span } of linesOf(syntax)) {
      if (!form || !syntax.form) continue;
      // The line at the caret says nothing of what is usual.
      const start = syntax.lineStarts[row - line];
      if (start !== undefined && span.start >= start && span.start < (syntax.lineStarts[row - line + 1] ?? Infinity))
        continue;
      const id = form === syntax.form.head ? '' : form.id;
      for (const [slot, node] of Object.entries(slots)) {
        if (node) yield { entry: syntax.form.keyword, id, slot, node };
      }
    }
  }
}

function quantitiesOf(node: ValueNode): readonly QuantityNode[] {
  if (node.kind === 'duration') return node.parts;
  return node.kind === 'quantity' ? [node] : [];
}

/** Runways and radii are measured in short units, whatever distances are. */
const SHORT: ReadonlySet<string> = new Set(['length', 'radius']);

const isHeight = ({ kind, slot }: Slot) => kind === 'altitude' || kind === 'elevation' || slot === 'height';

function readerUnit(slot: Slot, { units }: Show): Unit | undefined {
  const dimension = dimensionOf(slot.kind);
  if (dimension === 'length') {
    if (isHeight(slot)) return units.altitude;
    return SHORT.has(slot.slot) ? unitOf('m') : units.distance;
  }
  if (dimension === 'speed' || dimension === 'climb' || dimension === 'mass') return units[dimension];
  return undefined;
}

/** The units of a slot, best first: those that this detail is written in, the reader's own, those the file uses. */
export function unitsInOrder(place: CompletionPlace, { form }: Expected, slot: Slot, with_: Show): Unit[] {
  const dimension = dimensionOf(slot.kind);
  if (!dimension) return [];
  const keyword = place.placed.syntax.form?.keyword;
  const here = new Map<Unit, number>();
  const anywhere = new Map<Unit, number>();
  const count = (counts: Map<Unit, number>, unit: Unit) => counts.set(unit, (counts.get(unit) ?? 0) + 1);
  for (const { entry, id, slot: name, node } of writtenIn(place)) {
    for (const { unit } of quantitiesOf(node)) {
      if (!unit?.unit?.dimensions.includes(dimension)) continue;
      count(anywhere, unit.unit);
      if (entry === keyword && name === slot.slot && id === form.id) count(here, unit.unit);
    }
  }
  const reader = readerUnit(slot, with_);
  return unitsFor(dimension)
    .filter(({ text }) => !isHeight(slot) || text === 'm' || text === 'ft')
    .toSorted(
      (a, b) =>
        (here.get(b) ?? 0) - (here.get(a) ?? 0) ||
        Number(b === reader) - Number(a === reader) ||
        (anywhere.get(b) ?? 0) - (anywhere.get(a) ?? 0),
    );
}

/** The datums that a height takes here, for behind its unit. */
function datumsOf({ placed, lineText }: CompletionPlace, { form }: Expected, slot: Slot): readonly string[] {
  if (slot.kind === 'elevation') return ['MSL'];
  if (slot.kind !== 'altitude') return [];
  const onTheWay = /\safter\s/i.test(lineText);
  return DATUMS[datumUse(placed.syntax.form?.keyword ?? '', form.id, onTheWay)];
}

const DATUM_WORDS: Readonly<Record<string, string>> = {
  MSL: 'above sea level',
  AGL: 'above the ground there',
};

/** Behind a number: its unit, and for a height its datum with it. */
export function unitDrafts(place: CompletionPlace, expected: Expected, slot: Slot, with_: Show): Draft[] {
  const { inside, goesOn } = expected;
  const hasNumber = inside.at(-1)?.tokenType === NumberToken;
  const startsHere = inside.length === 0 || (slot.kind === 'duration' && !hasNumber);
  const digits = startsHere ? /^[-−+]?\d+(?:\.\d+)?/.exec(place.run)?.[0] : undefined;
  const datums = datumsOf(place, expected, slot);
  const unitThere = inside.length > 1 && !hasNumber && slot.kind !== 'duration';
  if (unitThere) {
    return datums.map((text) => ({
      label: text,
      text,
      kind: CompletionItemKind.Unit,
      beside: DATUM_WORDS[text] ?? '',
      goesOn,
    }));
  }
  if (digits === undefined && !hasNumber) return [];
  const units = unitsInOrder(place, expected, slot, with_);
  // Hours are followed by minutes.
  const hours = slot.kind === 'duration' && inside.length > 1;
  return units
    .filter(({ text }) => !(hours && text === 'h'))
    .flatMap((unit) => {
      const behind = slot.kind === 'altitude' ? datums.map((datum) => ` ${datum}`) : [''];
      return behind.map((datum): Draft => {
        const label = `${unit.text}${datum}`;
        const space = slot.kind === 'direction' ? '' : ' ';
        const text = digits === undefined ? label : `${digits}${space}${label}`;
        const filter = digits === undefined ? text : place.run.slice(digits.length) === '' ? text : `${digits}${label}`;
        return {
          label,
          text,
          filter,
          kind: CompletionItemKind.Unit,
          beside: `${unit.words}${datum === '' ? '' : ` ${DATUM_WORDS[datum.trim()]}`}`,
          goesOn,
        };
      });
    });
}

/** The letter of the hemisphere behind an angle, those of the file first. */
export function hemisphereDrafts(place: CompletionPlace, { inside, goesOn }: Expected): Draft[] {
  const angle = /^\d+(?:\.\d+)?(?:°(?:\d+(?:\.\d+)?['′’](?:\d+(?:\.\d+)?(?:["″”]|''|′′))?)?)?$/.exec(place.run)?.[0];
  const letters = inside.filter(
    ({ tokenType }) => tokenType === Word || tokenType.CATEGORIES?.includes(PlainKeyword),
  ).length;
  const numbers = inside.filter(({ tokenType }) => tokenType === NumberToken || tokenType === Angle).length;
  const isBehind = angle === undefined && numbers > letters && /^[a-z]?$/i.test(place.run);
  if (angle === undefined && !isBehind) return [];
  const isFirst = (angle === undefined ? numbers : numbers + 1) === 1;
  const counts = new Map<string, number>();
  for (const { node } of writtenIn(place)) {
    if (node.kind !== 'coordinates') continue;
    const letter = (isFirst ? node.first : node.second)?.hemisphere?.text.toUpperCase();
    if (letter) counts.set(letter, (counts.get(letter) ?? 0) + 1);
  }
  const both = isFirst ? ['N', 'S'] : ['E', 'W'];
  return both
    .toSorted((a, b) => (counts.get(b) ?? 0) - (counts.get(a) ?? 0))
    .map((letter) => {
      const text = angle === undefined ? letter : angle.includes('°') ? `${angle}${letter}` : `${angle} ${letter}`;
      return {
        label: letter,
        text,
        kind: CompletionItemKind.Unit,
        beside: isFirst ? 'latitude' : 'longitude',
        goesOn: goesOn || isFirst,
      };
    });
}
