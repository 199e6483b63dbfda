/** Which fixes belong to which finding. A new fix is one line here. */
import type { Finding } from '../../rules/rule.ts';
import { asGoodAsPolar, onePolar, planOnLess, writeWeather } from './assumptions.ts';
import { missingDatum, wrongDatum } from './datums.ts';
import { missingDetails, repeatedDetail } from './details.ts';
import { definedOnce, outOfCircle, pathToFile, unused } from './files.ts';
import { type Fix, type FixContext, type Fixer, holds, leftOver, type Reveals } from './fix.ts';
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
  /** Whether it mends how something is written: then the line has to read, and to hold the numbers that it held. */
  readonly writes?: boolean;
}

const anything = (fixer: Fixer): Entry => ({ fixer, reveals: 'anything' });
const flight = (fixer: Fixer): Entry => ({ fixer, reveals: 'flight' });
const nothing = (fixer: Fixer): Entry => ({ fixer, reveals: 'nothing' });
const writing = (entry: Entry): Entry => ({ ...entry, writes: true });

const FIXERS: Readonly<Record<string, Entry>> = {
  syntax: writing(anything(readable)),
  'entry-unknown': writing(anything(entryWord)),
  'detail-unknown': writing(anything(detailWord)),
  'not-indented': writing(flight(indent)),
  'name-is-keyword': writing(flight(quoteKeyword)),
  'name-deceives': flight(withoutMarks),
  'number-unclear': writing(anything(clearNumber)),
  'unit-missing': writing(flight(missingUnit)),
  'unit-wrong-kind': writing(flight(wrongUnit)),
  'unit-unknown': writing(flight(unknownUnit)),
  'datum-missing': writing(flight(missingDatum)),
  'datum-wrong': writing(flight(wrongDatum)),
  'coordinates-incomplete': writing(flight(wholeCoordinates)),
  'zone-missing': writing(flight(writeZone)),
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
  'before-sunrise': nothing(otherTakeoff),
  'before-thermals': nothing(otherTakeoff),
  'after-thermals': nothing(otherTakeoff),
  'limit-landing-before-sunset': nothing(otherTakeoff),
  'limit-reserve': flight(askedReserve),
};

/** What the fixes of a finding may bring to light; undefined for a finding without fixes. */
export function revealsOf(code: string): Reveals | undefined {
  return Object.hasOwn(FIXERS, code) ? FIXERS[code]?.reveals : undefined;
}

/** Whether the fixes of a finding mend how something is written. */
export function writesText(code: string): boolean {
  return Object.hasOwn(FIXERS, code) && FIXERS[code]?.writes === true;
}

/** The ways out of a finding, none of them tried yet. */
export function waysOf(finding: Finding, context: FixContext): Fix[] {
  const entry = Object.hasOwn(FIXERS, finding.code) ? FIXERS[finding.code] : undefined;
  return [...(entry?.fixer(finding, context) ?? [])].filter(
    ({ edits, created }) => edits.length + (created?.length ?? 0) > 0,
  );
}

/** Codes of findings about the words of a line; those about its values are looked at where the line reads. */
const OF_WORDS: ReadonlySet<string> = new Set(['syntax', 'entry-unknown', 'detail-unknown', 'not-indented']);

/**
 * A fix of how something is written, as far as it may be offered: no number goes, and a value is mended where its line
 * then reads, for else it may be a piece of another (`7 0 %`). Where the line still has a fault, it is not the obvious way.
 */
function asWritten(fix: Fix, code: string, context: FixContext): Fix | undefined {
  const { unread, faulty, numberLost } = leftOver(fix, context);
  if (numberLost || (unread && !OF_WORDS.has(code))) return undefined;
  if (!unread && !faulty) return fix;
  if (fix.onlyWhenRight) return undefined;
  return { ...fix, preferred: false, safe: false };
}

/** The ways out of a finding, each tried on the plan: it takes the finding away, and brings no error. */
export function fixesOf(finding: Finding, all: readonly Finding[], context: FixContext): Fix[] {
  const reveals = revealsOf(finding.code);
  if (!reveals) return [];
  let preferred = false;
  const offered: Fix[] = [];
  for (const fix of waysOf(finding, context)) {
    if (!holds(fix, finding, all, context, reveals)) continue;
    const tried = writesText(finding.code) ? asWritten(fix, finding.code, context) : fix;
    if (!tried) continue;
    // One way is preferred at most.
    offered.push(preferred ? { ...tried, preferred: false } : tried);
    preferred ||= tried.preferred === true;
  }
  return offered;
}
