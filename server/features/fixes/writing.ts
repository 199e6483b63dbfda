/** Numbers and names as a plan writes them. */
import { writtenName } from '../../../grammar/names.ts';
import { fromSi, toSi, type Unit } from '../../../grammar/units.ts';
import type { Air } from '../../flight/index.ts';
import { altitudeIn } from '../../plan/task.ts';
import { harmless, shortened } from '../../plan/text.ts';

/** A number without needless zeros: `5750`, `68.5`. */
export function plain(value: number, decimals: number): string {
  const text = value.toFixed(decimals);
  return text.includes('.') ? text.replace(/\.?0+$/, '') : text;
}

const DECIMALS = 6;

/** A value in a unit as a multiple of `step`, rounded to the side that is asked. */
export function stepped(si: number, unit: Unit, step: number, rounding: 'up' | 'down'): number {
  const steps = fromSi(si, unit) / step;
  const whole = rounding === 'up' ? Math.ceil(steps - 1e-6) : Math.floor(steps + 1e-6);
  return Number((whole * step).toFixed(DECIMALS));
}

/** A quantity in SI as text in a unit, in steps. */
export function quantityText(si: number, unit: Unit, step: number, rounding: 'up' | 'down'): string {
  return `${plain(stepped(si, unit, step, rounding), DECIMALS)} ${unit.text}`;
}

/** The quantity that such a text means, in SI. */
export function steppedSi(si: number, unit: Unit, step: number, rounding: 'up' | 'down'): number {
  return toSi(stepped(si, unit, step, rounding), unit);
}

/** A name as a plan writes it: bare where it may be, else in quotes. Undefined for a name that no plan can write. */
export function nameText(name: string): string | undefined {
  if (name === '' || /["\r\n]/.test(name)) return undefined;
  return writtenName(name);
}

/** A name in a title; in quotation marks where a space or a full stop at its end would be lost: `“use ”`. */
export function shownName(name: string): string {
  const text = shortened(harmless(name));
  return /^\s|[\s.]$/u.test(text) ? `“${text}”` : text;
}

/** Text from a plan in a title: `“5200 ft MSL”` without the marks of Markdown. */
export function shownText(text: string): string {
  return `“${shortened(harmless(text))}”`;
}

/** The flight level at or next above (or below) an altitude. */
export function levelAt(altitudeM: number, air: Air, step: number, rounding: 'up' | 'down'): number | undefined {
  const altitude = (level: number) => altitudeIn({ kind: 'fl', level }, undefined, air) as number;
  let low = 0;
  let high = 650;
  if (altitude(low) > altitudeM || altitude(high) < altitudeM) return undefined;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (altitude(middle) <= altitudeM + 1e-6) low = middle;
    else high = middle;
  }
  const exact = Math.abs(altitude(low) - altitudeM) < 1e-6;
  const level = rounding === 'down' || exact ? low : high;
  return (rounding === 'up' ? Math.ceil(level / step) : Math.floor(level / step)) * step;
}
