/** A quantity in another unit, and all quantities of its kind in a file. What it means stays the same within half a foot. */
import { CodeActionKind } from 'vscode-languageserver-types';
import { type LineSyntax, linesOf, type QuantityNode, type ValueNode } from '../../../grammar/syntax.ts';
import { fromSi, toSi, type Unit, unitsFor } from '../../../grammar/units.ts';
import { type Slot, slotsOf } from '../../../grammar/vocabulary.ts';
import { dimensionOf } from '../../plan/values.ts';
import { type Edit, replaceIn, type Spot, spotOf } from '../fixes/edit.ts';
import { isHeight, withUnit } from '../fixes/faults.ts';
import { plain, shownText } from '../fixes/writing.ts';
import { locate } from '../locate.ts';
import type { Refactorer } from './refactoring.ts';

/** What is converted together: nobody wants runways in nautical miles because the distances are. */
type Group = 'heights' | 'distances' | 'lengths' | 'speeds' | 'climbs' | 'masses' | 'pressures' | 'temperatures';

const UNITS: Readonly<Record<Group, readonly string[]>> = {
  heights: ['ft', 'm'],
  distances: ['NM', 'km', 'mi'],
  lengths: ['m', 'ft', 'km', 'NM', 'mi'],
  speeds: ['kt', 'km/h', 'mph', 'm/s'],
  climbs: ['kt', 'm/s', 'ft/min'],
  masses: ['kg', 'lb'],
  pressures: ['hPa', 'inHg'],
  temperatures: ['°C', '°F'],
};

const NAMES: Readonly<Record<Group, string>> = {
  heights: 'heights',
  distances: 'distances',
  lengths: 'lengths',
  speeds: 'speeds',
  climbs: 'rates of climb and sink',
  masses: 'masses',
  pressures: 'pressures',
  temperatures: 'temperatures',
};

const BY_DIMENSION: Readonly<Record<string, Group>> = {
  speed: 'speeds',
  climb: 'climbs',
  mass: 'masses',
  pressure: 'pressures',
  temperature: 'temperatures',
};

function groupOf(slot: Slot): Group | undefined {
  if (isHeight(slot)) return 'heights';
  const dimension = dimensionOf(slot.kind);
  if (dimension !== 'length') return dimension && BY_DIMENSION[dimension];
  return slot.slot === 'distance' || slot.slot === 'after' ? 'distances' : 'lengths';
}

/** As near as a conversion stays: half a foot for heights, a thousandth of anything else. */
const HALF_FOOT_M = 0.1524;
const MOST_DECIMALS = 6;

function isNear(group: Group, si: number, written: number): boolean {
  const off = Math.abs(si - written);
  if (group === 'heights') return off <= HALF_FOOT_M;
  if (group === 'temperatures') return off <= 0.05;
  return off <= Math.abs(written) * 1e-3;
}

/** A quantity in another unit with as few decimals as turn back into the number that is written. */
export function converted(node: QuantityNode, group: Group, to: Unit): string | undefined {
  const { number, unit } = node;
  const from = unit?.unit;
  if (number.value === undefined || !from) return undefined;
  const si = toSi(number.value, from);
  // More than 100 cannot be asked of a number, and none has so many that count.
  const decimals = Math.min(number.text.split('.')[1]?.length ?? 0, 100);
  for (let count = 0; count <= MOST_DECIMALS; count++) {
    const text = fromSi(si, to).toFixed(count);
    const again = toSi(Number(text), to);
    const back = fromSi(again, from).toFixed(decimals);
    if (Number(back) === number.value && isNear(group, again, si)) return withUnit(plain(Number(text), count), to.text);
  }
  return undefined;
}

/** The number and unit of a quantity, without its datum. */
function edited(spot: Spot, node: QuantityNode, text: string): Edit {
  return replaceIn(spot, { start: node.number.span.start, end: (node.unit ?? node.number).span.end }, text);
}

function isQuantity(node: ValueNode | undefined): node is QuantityNode {
  return node?.kind === 'quantity' && node.unit?.unit !== undefined && node.number.value !== undefined;
}

/** The quantities of a line, with what kind each is. */
function quantitiesOf(line: LineSyntax): { node: QuantityNode; group: Group }[] {
  if (!line.form || line.problems.length > 0) return [];
  return [...slotsOf(line.form)].flatMap(([name, slot]) => {
    const node = line.slots[name];
    const group = groupOf(slot);
    const fits = isQuantity(node) && group && UNITS[group].includes(node.unit?.unit?.text ?? '');
    return fits ? [{ node, group }] : [];
  });
}

function unitsOf(slot: Slot, group: Group): Unit[] {
  const dimension = dimensionOf(slot.kind);
  return dimension ? unitsFor(dimension).filter(({ text }) => UNITS[group].includes(text)) : [];
}

export const convertUnits: Refactorer = function* (range, { workspace, understood }) {
  const { uri, syntax: file } = understood.file;
  const located = locate(file, range.start);
  const { node, slot, line } = located ?? {};
  const spot = located && spotOf(workspace, uri, located.placed.syntax);
  const group = slot && groupOf(slot);
  if (!spot || !line || line.problems.length > 0 || !slot || !group || !isQuantity(node)) return;
  const kind = CodeActionKind.RefactorRewrite;
  const units = unitsOf(slot, group);
  for (const unit of units) {
    const text = unit === node.unit?.unit ? undefined : converted(node, group, unit);
    if (text !== undefined)
      yield { title: `Write it in ${unit.words}: ${shownText(text)}`, kind, edits: [edited(spot, node, text)] };
  }
  const all = file.entries.flatMap((placed) =>
    linesOf(placed.syntax)
      .flatMap(quantitiesOf)
      .filter((one) => one.group === group)
      .map((one) => ({ node: one.node, spot: { file: understood.file, placed } })),
  );
  for (const unit of units) {
    const others = all.filter((one) => one.node.unit?.unit !== unit);
    // One alone is offered already.
    if (others.length === 0 || (others.length === 1 && others[0]?.node === node)) continue;
    const edits = others.flatMap((one) => {
      const text = converted(one.node, group, unit);
      return text === undefined ? [] : [edited(one.spot, one.node, text)];
    });
    yield { title: `Write all ${NAMES[group]} of this file in ${unit.words}`, kind, edits };
  }
};
