/** Fixes for speeds outside the limits of the aircraft, or outside its polar: the speed at the limit, or best glide. */
import type { Unit } from '../../../grammar/units.ts';
import { massFactor } from '../../flight/index.ts';
import { LEAST_OVER_VS } from '../../rules/leg-words.ts';
import type { Fix, FixContext, Fixer } from './fix.ts';
import { type LegSpot, legAfter, legOf, speedEdit, speedStep, speedUnit } from './legs.ts';
import { quantityText, shownName } from './writing.ts';

/** Flies a leg at a speed, rounded to the side that is asked. */
function flown(at: LegSpot, mps: number, unit: Unit, rounding: 'up' | 'down'): Fix | undefined {
  const text = quantityText(mps, unit, speedStep(unit), rounding);
  const edit = speedEdit(at, text);
  return edit && { title: `Fly ${text} to ${shownName(at.leg.toName)}`, edits: [edit], preferred: true };
}

function bestGlide(at: LegSpot, context: FixContext): Fix | undefined {
  if (at.leg.input?.speed.kind === 'bestGlide') return undefined;
  const edit = speedEdit(at, 'best glide');
  const result = edit && legAfter(at, context, [edit])?.result;
  if (!result || result.problem) return undefined;
  return { title: `Fly at best glide to ${shownName(at.leg.toName)}`, edits: [edit] };
}

const found = (fixes: readonly (Fix | undefined)[]): Fix[] => fixes.filter((fix) => fix !== undefined);

/** Too fast: as fast as the aircraft may be flown. */
export const slowDown: Fixer = (finding, context) => {
  const at = legOf(finding, context);
  const { vneMps, vnoMps } = at?.task.aircraft?.meaning ?? {};
  const limit = finding.code === 'above-vne' ? vneMps : vnoMps;
  if (!at || !limit) return [];
  return found([flown(at, limit.value, speedUnit(at, context), 'down'), bestGlide(at, context)]);
};

/** Too slow: as slow as a plan may count on. */
export const speedUp: Fixer = (finding, context) => {
  const at = legOf(finding, context);
  const vs = at?.task.aircraft?.meaning.vsMps;
  if (!at || !vs) return [];
  return found([flown(at, LEAST_OVER_VS * vs.value, speedUnit(at, context), 'up'), bestGlide(at, context)]);
};

/** No headway: the best glide, where that gets on. */
export const getOn: Fixer = (finding, context) => {
  const at = legOf(finding, context);
  const fix = at && bestGlide(at, context);
  return fix ? [{ ...fix, preferred: true }] : [];
};

/** A speed at which the polar is not known: the nearest at which it is. */
export const insidePolar: Fixer = (finding, context) => {
  const at = legOf(finding, context);
  const polar = at?.task.aircraft?.meaning.polar;
  const { massKg } = at?.task ?? {};
  const indicated = at?.leg.result?.indicatedMps;
  if (!at || polar?.kind !== 'polar' || massKg === undefined || indicated === undefined) return [];
  const factor = massFactor(massKg, polar.polar.massKg);
  const fast = indicated > polar.toMps * factor;
  const limit = (fast ? polar.toMps : polar.fromMps) * factor;
  return found([flown(at, limit, speedUnit(at, context), fast ? 'down' : 'up'), bestGlide(at, context)]);
};
