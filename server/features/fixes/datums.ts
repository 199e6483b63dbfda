/** Fixes for what a height is counted from. Each reading is a fix: only the pilot knows which was meant. */
import { DATUMS, datumUseIn } from '../../plan/values.ts';
import { replaceIn } from './edit.ts';
import { type AnyFaulty, faultBehind, quantityOf } from './faults.ts';
import type { Fix, Fixer } from './fix.ts';
import { shownText } from './writing.ts';

const SAYS: Readonly<Record<string, string>> = {
  MSL: ', above the sea',
  AGL: ', above the ground there',
};

/** What other words for a datum say, where a pilot writes them. */
const MEANS: Readonly<Record<string, string>> = {
  AMSL: 'MSL',
  ASL: 'MSL',
  QNH: 'MSL',
  AAL: 'AGL',
  ASFC: 'AGL',
  GND: 'AGL',
  SFC: 'AGL',
  QFE: 'AGL',
};

/** The height with each of these datums; '' for none. One that says otherwise than what stands there is not preferred. */
function counted(at: AnyFaulty, datums: readonly string[]): Fix[] {
  const node = quantityOf(at);
  if (!node) return [];
  const start = (node.unit ?? node.number).span.end;
  const written = node.datum?.text.toUpperCase() ?? '';
  const says = MEANS[written] ?? written;
  const height = `${node.number.text} ${node.unit?.text ?? ''}`.trim();
  return datums.map((datum) => ({
    title: `Write ${shownText(`${height} ${datum}`.trim())}${SAYS[datum] ?? ''}`,
    edits: [replaceIn(at.spot, { start, end: node.span.end }, datum === '' ? '' : ` ${datum}`)],
    preferred: datums.length === 1 && (node.datum === undefined || says === datum),
  }));
}

export const missingDatum: Fixer = (finding, context) => {
  const at = faultBehind('datum-missing', finding, context);
  return at ? counted(at, DATUMS[datumUseIn(at.spot.placed.syntax, at.found.line)]) : [];
};

export const wrongDatum: Fixer = (finding, context) => {
  const at = faultBehind('datum-wrong', finding, context);
  if (!at) return [];
  const { where } = at.found.fault;
  return counted(at, where === 'sea' ? [''] : DATUMS[where]);
};
