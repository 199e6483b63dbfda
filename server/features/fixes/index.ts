/** Which fixes belong to which finding. A new fix is one line here. */
import type { Finding } from '../../rules/rule.ts';
import { asGoodAsPolar, onePolar, planOnLess, writeWeather } from './assumptions.ts';
import { missingDatum, wrongDatum } from './datums.ts';
import { missingDetails, repeatedDetail } from './details.ts';
import { overlap } from './edit.ts';
import { definedOnce, outOfCircle, pathToFile, unused } from './files.ts';
import { type Fix, type FixContext, type Fixer, holds, type Reveals } from './fix.ts';
import { arriveAsAsked, arriveWithMargin, lowerToCeiling } from './heights.ts';
import { finishAtField, inOrder } from './itinerary.ts';
import { lessBallast, mostBallast, writePilot } from './masses.ts';
import { knownName } from './names.ts';
import { wholeCoordinates, writeZone } from './positions.ts';
import { sensible } from './sense.ts';
import { getOn, insidePolar, slowDown, speedUp } from './speeds.ts';
import { askedReserve, otherTakeoff } from './times.ts';
import { clearNumber, missingUnit, unknownUnit, wrongUnit } from './units.ts';
import { detailWord, entryWord, indent, quoteKeyword, readable, withoutMarks } from './words.ts';

interface Entry {
  readonly fixer: Fixer;
  /** What the fix may bring to light, and still be offered. */
  readonly reveals: Reveals;
}

const anything = (fixer: Fixer): Entry => ({ fixer, reveals: 'anything' });
const flight = (fixer: Fixer): Entry => ({ fixer, reveals: 'flight' });
const nothing = (fixer: Fixer): Entry => ({ fixer, reveals: 'nothing' });

const FIXERS: Readonly<Record<string, Entry>> = {
  syntax: anything(readable),
  'entry-unknown': anything(entryWord),
  'detail-unknown': anything(detailWord),
  'not-indented': flight(indent),
  'name-is-keyword': flight(quoteKeyword),
  'name-deceives': flight(withoutMarks),
  'number-unclear': anything(clearNumber),
  'unit-missing': flight(missingUnit),
  'unit-wrong-kind': flight(wrongUnit),
  'unit-unknown': flight(unknownUnit),
  'datum-missing': flight(missingDatum),
  'datum-wrong': flight(wrongDatum),
  'coordinates-incomplete': flight(wholeCoordinates),
  'zone-missing': flight(writeZone),
  'value-out-of-sense': flight(sensible),
  'detail-missing': flight(missingDetails),
  'detail-repeated': flight(repeatedDetail),
  'itinerary-order': flight(inOrder),
  'file-missing': anything(pathToFile),
  'use-cycle': nothing(outOfCircle),
  'unknown-name': flight(knownName),
  'defined-twice': flight(definedOnce),
  'never-used': nothing(unused),
  'polar-given-twice': nothing(onePolar),
  'performance-above-polar': flight(asGoodAsPolar),
  'standard-assumed': flight(writeWeather),
  'mass-assumed': nothing(writePilot),
  'full-performance': flight(planOnLess),
  overweight: flight(lessBallast),
  'too-much-ballast': flight(mostBallast),
  'below-reserve': nothing(arriveAsAsked),
  'below-turn-height': nothing(arriveAsAsked),
  'reaches-ground': nothing(arriveAsAsked),
  'thin-margin': nothing(arriveWithMargin),
  'no-headway': flight(getOn),
  'above-vne': nothing(slowDown),
  'above-vno': nothing(slowDown),
  'near-stall': nothing(speedUp),
  'speed-outside-polar': nothing(insidePolar),
  'above-cloudbase': flight(lowerToCeiling),
  'above-working-top': flight(lowerToCeiling),
  'finish-not-landable': flight(finishAtField),
  'after-sunset': nothing(otherTakeoff),
  'before-thermals': nothing(otherTakeoff),
  'after-thermals': nothing(otherTakeoff),
  'limit-landing-before-sunset': nothing(otherTakeoff),
  'limit-reserve': flight(askedReserve),
};

/** What the fixes of a finding may bring to light; undefined for a finding without fixes. */
export function revealsOf(code: string): Reveals | undefined {
  return FIXERS[code]?.reveals;
}

/** The ways out of a finding, each tried on the plan: it takes the finding away, and brings no error. */
export function fixesOf(finding: Finding, all: readonly Finding[], context: FixContext): Fix[] {
  const entry = Object.hasOwn(FIXERS, finding.code) ? FIXERS[finding.code] : undefined;
  if (!entry) return [];
  let preferred = false;
  const offered: Fix[] = [];
  for (const fix of entry.fixer(finding, context)) {
    if (fix.edits.length + (fix.created?.length ?? 0) === 0) continue;
    if (!holds(fix, finding, all, context, entry.reveals)) continue;
    // One way is preferred at most.
    offered.push(preferred ? { ...fix, preferred: false } : fix);
    preferred ||= fix.preferred === true;
  }
  return offered;
}

/**
 * The findings that are mended all at once: those whose only reading is plain. These are a detail that lost its
 * indentation, a name that wants quotes, a misspelt keyword with one that is near, a unit written by another word for
 * it, a missing unit where one alone makes sense, a path with backslashes, and a second line or entry that says the
 * same as the first. Never a datum, a height, a speed, a name or a date: those are the pilot's.
 */
const SAFE: ReadonlySet<string> = new Set([
  'not-indented',
  'name-is-keyword',
  'syntax',
  'entry-unknown',
  'detail-unknown',
  'unit-unknown',
  'unit-missing',
  'file-missing',
  'detail-repeated',
  'defined-twice',
]);

/** The safe fixes of all findings; of two that touch one place the first. */
export function safeFixes(findings: readonly Finding[], context: FixContext): Fix[] {
  const taken: Fix[] = [];
  for (const finding of findings) {
    if (!SAFE.has(finding.code)) continue;
    const fix = fixesOf(finding, findings, context).find(({ safe, preferred }) => safe && preferred);
    // Nothing but the flight may come to light by what is done without a look.
    if (!fix || !holds(fix, finding, findings, context, 'flight')) continue;
    const clash = taken.some(({ edits }) => edits.some((one) => fix.edits.some((other) => overlap(one, other))));
    if (!clash) taken.push(fix);
  }
  return taken;
}
