/** Every rule, in the order of the manual. A new rule is one file and one line here. */

import { aboveCloudbase } from './above-cloudbase.ts';
import { aboveVne } from './above-vne.ts';
import { aboveVno } from './above-vno.ts';
import { aboveWorkingTop } from './above-working-top.ts';
import { afterSunset } from './after-sunset.ts';
import { afterThermals } from './after-thermals.ts';
import { airspaceNotComplete } from './airspace-not-complete.ts';
import { badgeDistance } from './badge-distance.ts';
import { beforeSunrise } from './before-sunrise.ts';
import { beforeThermals } from './before-thermals.ts';
import { belowClearance } from './below-clearance.ts';
import { belowReserve } from './below-reserve.ts';
import { belowTurnHeight } from './below-turn-height.ts';
import { climbRateUnknown } from './climb-rate-unknown.ts';
import { coordinatesIncomplete } from './coordinates-incomplete.ts';
import { crosswind } from './crosswind.ts';
import { dateOutsideModel } from './date-outside-model.ts';
import { datumMissing } from './datum-missing.ts';
import { datumWrong } from './datum-wrong.ts';
import { daylightUnknown } from './daylight-unknown.ts';
import { definedTwice } from './defined-twice.ts';
import { detailMissing } from './detail-missing.ts';
import { detailOutsideEntry } from './detail-outside-entry.ts';
import { detailRepeated } from './detail-repeated.ts';
import { detailUnknown } from './detail-unknown.ts';
import { entersAirspace } from './enters-airspace.ts';
import { entryUnknown } from './entry-unknown.ts';
import { fileMissing } from './file-missing.ts';
import { fileUnreadable } from './file-unreadable.ts';
import { finishNotLandable } from './finish-not-landable.ts';
import { fullPerformance } from './full-performance.ts';
import { itineraryOrder } from './itinerary-order.ts';
import { limitCrosswind } from './limit-crosswind.ts';
import { limitDistance } from './limit-distance.ts';
import { limitDuration } from './limit-duration.ts';
import { limitFieldInGlide } from './limit-field-in-glide.ts';
import { limitLandingBeforeSunset } from './limit-landing-before-sunset.ts';
import { limitReserve } from './limit-reserve.ts';
import { limitWithin } from './limit-within.ts';
import { massAssumed } from './mass-assumed.ts';
import { nameDeceives } from './name-deceives.ts';
import { nameIsKeyword } from './name-is-keyword.ts';
import { nearAirspace } from './near-airspace.ts';
import { nearStall } from './near-stall.ts';
import { neverUsed } from './never-used.ts';
import { noFieldInGlide } from './no-field-in-glide.ts';
import { noHeadway } from './no-headway.ts';
import { notComputed } from './not-computed.ts';
import { notIndented } from './not-indented.ts';
import { notText } from './not-text.ts';
import { numberUnclear } from './number-unclear.ts';
import { overweight } from './overweight.ts';
import { performanceAbovePolar } from './performance-above-polar.ts';
import { pilotWeight } from './pilot-weight.ts';
import { polarGivenTwice } from './polar-given-twice.ts';
import { polarPoorFit } from './polar-poor-fit.ts';
import { polarRefused } from './polar-refused.ts';
import { reachesGround } from './reaches-ground.ts';
import type { Rule } from './rule.ts';
import { runwayLength } from './runway-length.ts';
import { soarWithoutLift } from './soar-without-lift.ts';
import { speedOutsidePolar } from './speed-outside-polar.ts';
import { standardAssumed } from './standard-assumed.ts';
import { syntax } from './syntax.ts';
import { terrainUnknown } from './terrain-unknown.ts';
import { thinMargin } from './thin-margin.ts';
import { tooMuchBallast } from './too-much-ballast.ts';
import { unitMissing } from './unit-missing.ts';
import { unitUnknown } from './unit-unknown.ts';
import { unitWrongKind } from './unit-wrong-kind.ts';
import { unknownName } from './unknown-name.ts';
import { useCycle } from './use-cycle.ts';
import { useOutside } from './use-outside.ts';
import { valueOutOfSense } from './value-out-of-sense.ts';
import { variationUnknown } from './variation-unknown.ts';
import { windExtrapolated } from './wind-extrapolated.ts';
import { zoneMissing } from './zone-missing.ts';

export const RULES: readonly Rule[] = [
  notText,
  syntax,
  entryUnknown,
  detailUnknown,
  detailOutsideEntry,
  notIndented,
  nameIsKeyword,
  nameDeceives,
  numberUnclear,
  unitMissing,
  unitWrongKind,
  unitUnknown,
  datumMissing,
  datumWrong,
  coordinatesIncomplete,
  zoneMissing,
  valueOutOfSense,
  detailMissing,
  detailRepeated,
  itineraryOrder,
  fileMissing,
  fileUnreadable,
  useOutside,
  useCycle,
  unknownName,
  definedTwice,
  neverUsed,
  polarRefused,
  polarGivenTwice,
  polarPoorFit,
  variationUnknown,
  performanceAbovePolar,
  notComputed,
  standardAssumed,
  massAssumed,
  fullPerformance,
  overweight,
  pilotWeight,
  tooMuchBallast,
  belowReserve,
  belowTurnHeight,
  reachesGround,
  belowClearance,
  terrainUnknown,
  entersAirspace,
  nearAirspace,
  airspaceNotComplete,
  noFieldInGlide,
  noHeadway,
  thinMargin,
  aboveVne,
  aboveVno,
  nearStall,
  speedOutsidePolar,
  windExtrapolated,
  aboveCloudbase,
  aboveWorkingTop,
  climbRateUnknown,
  soarWithoutLift,
  finishNotLandable,
  beforeSunrise,
  afterSunset,
  afterThermals,
  beforeThermals,
  daylightUnknown,
  dateOutsideModel,
  crosswind,
  runwayLength,
  badgeDistance,
  limitReserve,
  limitWithin,
  limitFieldInGlide,
  limitDistance,
  limitDuration,
  limitLandingBeforeSunset,
  limitCrosswind,
];

const byCode = new Map(RULES.map((rule) => [rule.code, rule]));

export function ruleOf(code: string): Rule | undefined {
  return byCode.get(code);
}
