/** Coordinates in another notation, or rounded to what one can tell on a map. */
import { CodeActionKind } from 'vscode-languageserver-types';
import type { AngleNode } from '../../../grammar/syntax.ts';
import { replaceIn, spotOf } from '../fixes/edit.ts';
import { shownText } from '../fixes/writing.ts';
import { locate } from '../locate.ts';
import type { Refactorer } from './refactoring.ts';

type Notation = AngleNode['notation'];

/** Decimals of the last part that keep a place within two metres, by notation. */
const FINE: Readonly<Record<Notation, number>> = { degrees: 5, minutes: 3, seconds: 1 };
/** Decimals that a map tells. */
const ROUND: Readonly<Record<Notation, number>> = { degrees: 4, minutes: 2, seconds: 0 };

/** An angle in a notation with so many decimals in its last part. */
function angleText(angle: AngleNode, notation: Notation, decimals: number): string {
  const letter = angle.hemisphere?.text.toUpperCase() ?? '';
  const value = angle.value as number;
  const width = letter === 'N' || letter === 'S' ? 2 : 3;
  const scale = 10 ** decimals;
  const pad = (whole: number, digits: number) => String(whole).padStart(digits, '0');
  const last = (units: number) => (units / scale).toFixed(decimals).padStart(decimals === 0 ? 2 : decimals + 3, '0');
  switch (notation) {
    case 'degrees': {
      const text = value.toFixed(decimals);
      // Four decimals are usual; further zeros say nothing.
      return `${decimals > 4 ? text.replace(/(\.\d{4}\d*?)0+$/, '$1') : text} ${letter}`;
    }
    case 'minutes': {
      const units = Math.round(value * 60 * scale);
      const degrees = Math.floor(units / (60 * scale));
      return `${pad(degrees, width)}°${last(units - degrees * 60 * scale)}'${letter}`;
    }
    case 'seconds': {
      const units = Math.round(value * 3600 * scale);
      const minutes = Math.floor(units / (60 * scale));
      const degrees = Math.floor(minutes / 60);
      return `${pad(degrees, width)}°${pad(minutes % 60, 2)}'${last(units - minutes * 60 * scale)}"${letter}`;
    }
  }
}

/** How many decimals the last part of an angle is written with. */
function decimalsOf({ text }: AngleNode): number {
  const parts = text.match(/\d+(?:\.\d+)?/g) ?? [];
  return parts.at(-1)?.split('.')[1]?.length ?? 0;
}

const NAMES: Readonly<Record<Notation, string>> = {
  degrees: 'degrees',
  minutes: 'degrees and minutes',
  seconds: 'degrees, minutes and seconds',
};

export const rewriteCoordinates: Refactorer = function* (range, { workspace, understood }) {
  const located = locate(understood.file.syntax, range.start);
  const node = located?.node;
  const spot = located && spotOf(workspace, understood.file.uri, located.placed.syntax);
  if (!spot || node?.kind !== 'coordinates' || !located?.line) return;
  const { first, second } = node;
  const ok = (angle: AngleNode | undefined, most: number): angle is AngleNode =>
    angle?.value !== undefined && angle.hemisphere !== undefined && angle.value >= 0 && angle.value <= most;
  if (located.line.problems.length > 0 || !ok(first, 90) || !ok(second, 180)) return;
  const pair = (notation: Notation, decimals: number) =>
    `${angleText(first, notation, decimals)} ${angleText(second, notation, decimals)}`;
  const kind = CodeActionKind.RefactorRewrite;
  for (const notation of Object.keys(NAMES) as Notation[]) {
    if (notation === first.notation && notation === second.notation) continue;
    const text = pair(notation, FINE[notation]);
    yield {
      title: `Write the position in ${NAMES[notation]}: ${shownText(text)}`,
      kind,
      edits: [replaceIn(spot, node.span, text)],
    };
  }
  const { notation } = first;
  const decimals = ROUND[notation];
  if (second.notation === notation && Math.max(decimalsOf(first), decimalsOf(second)) > decimals) {
    const text = pair(notation, decimals);
    yield { title: `Round the position to ${shownText(text)}`, kind, edits: [replaceIn(spot, node.span, text)] };
  }
};
