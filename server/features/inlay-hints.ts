/** Behind each line of an itinerary, the few numbers one looks for first; each part explains itself and leads to its source. */
import {
  type InlayHint,
  type InlayHintLabelPart,
  type Location,
  MarkupKind,
  type Range,
} from 'vscode-languageserver-types';
import { positionAt } from '../../grammar/file.ts';
import type { LineSyntax } from '../../grammar/syntax.ts';
import { budgetTerms, courseText, marginText, wholeHeights } from '../plan/budget-rows.ts';
import { CAUTION } from '../plan/caution.ts';
import { placedEntry, rangeOf } from '../plan/places.ts';
import { type Show, show } from '../plan/show.ts';
import { soaringOf } from '../plan/soaring.ts';
import type { ClimbEvaluation, LegEvaluation, Place, TaskEvaluation } from '../plan/task.ts';
import { escapeMarkdown, harmless, shortened } from '../plan/text.ts';
import type { Understood } from '../plan/understand.ts';
import type { Workspace } from '../plan/workspace.ts';
import { climbCount, soarSection } from './hover-soar.ts';

/** Which parts are shown. */
export interface HintOptions {
  readonly distance: boolean;
  readonly course: boolean;
  readonly arrival: boolean;
  readonly margin: boolean;
  readonly time: boolean;
  /** Gain and time, behind a climb; climbs and average speed, behind a `soar` line. */
  readonly climb: boolean;
}

export const DEFAULT_HINTS: HintOptions = {
  distance: true,
  course: false,
  arrival: true,
  margin: true,
  time: false,
  climb: true,
};

/** The options from a client's setting, an object of booleans; what is not one is as by default. `false` shows none. */
export function hintOptions(given: unknown): HintOptions {
  const options = { ...DEFAULT_HINTS };
  for (const key of Object.keys(options) as (keyof HintOptions)[]) {
    const wish = given === false ? false : (given as Record<string, unknown> | null | undefined)?.[key];
    if (typeof wish === 'boolean') options[key] = wish;
  }
  return options;
}

/** A part of a label before it has its place in the protocol. */
interface Part {
  readonly text: string;
  /** Markdown. */
  readonly says: string;
  readonly at?: Place | undefined;
}

/** As much of a cause as fits behind a line. */
const LONGEST_CAUSE = 48;

/** A time to the minute: seconds behind a line would only look exact. */
function minutes(seconds: number, with_: Show): string {
  return seconds < 570 ? `${Math.max(1, Math.round(seconds / 60))} min` : with_.duration(seconds);
}

interface LegContext {
  readonly leg: LegEvaluation;
  readonly task: TaskEvaluation;
  readonly with_: Show;
  readonly options: HintOptions;
  readonly here: (span: Place['span']) => Place;
}

function heightPlace({ leg, here }: LegContext): Place | undefined {
  return leg.heightLine && !leg.departAssumed ? here(leg.heightLine.span) : undefined;
}

function leaving(context: LegContext): string {
  const { leg, with_ } = context;
  const { result } = leg;
  const last = result?.climbs.at(-1);
  const from = escapeMarkdown(leg.fromName);
  if (last) return `climbing to ${with_.altitude(last.toAltitudeM)} after ${with_.distance(last.afterM)}`;
  const height = with_.altitude(result?.departAltitudeM ?? 0, 'down');
  return `leaving ${from} at ${height}${leg.departAssumed ? ', the height asked there, since the leg before does not get there' : ''}`;
}

function wayParts({ leg, with_, options }: LegContext): Part[] {
  const { result } = leg;
  if (!result) return [];
  const between = `from ${escapeMarkdown(leg.fromName)} to ${escapeMarkdown(leg.toName)}`;
  const parts: Part[] = [];
  if (options.distance) {
    const says = `**distance** ${between}, the shortest way over the WGS84 ellipsoid between the two positions.`;
    parts.push({ text: with_.distance(result.distanceM), says, at: leg.to?.at });
  }
  if (options.course) {
    const magnetic =
      leg.variationDeg === undefined
        ? 'The magnetic course is known once the weather has a `date`.'
        : 'The one behind the stroke is magnetic, by the variation there on the day.';
    const says = `**course** ${between}, true, as it is at ${escapeMarkdown(leg.fromName)}. ${magnetic}`;
    parts.push({ text: courseText(leg, with_), says, at: leg.to?.at });
  }
  return parts;
}

function arrivalPart(context: LegContext): Part | undefined {
  const { leg, with_ } = context;
  const { result } = leg;
  const heights = wholeHeights(leg, with_);
  const terms = budgetTerms(leg, with_);
  if (!heights || !terms || result?.problem !== null) return undefined;
  const to = escapeMarkdown(leg.toName);
  const lost = terms.spent.map(([what, value]) => `${what} ${value}`).join(' + ');
  const says = [
    `**arrival over ${to}**: ${terms.over} above the ground there (${with_.altitude(result.arriveAltitudeM, 'down')}), ${leaving(context)} and flying ${with_.speed(result.indicatedMps)}.`,
    `Loses ${terms.lost} = ${lost}.`,
    `*${CAUTION}*`,
  ].join('\n\n');
  const ground = result.reachesGroundAfterM;
  const text =
    ground !== null
      ? `reaches the ground after ${with_.distance(ground)}`
      : heights.over < 0
        ? 'arrives below the ground there'
        : `${terms.over} over`;
  return { text, says, at: leg.asks?.at ?? leg.to?.at };
}

function marginPart(context: LegContext): Part | undefined {
  const { leg, with_ } = context;
  const { result } = leg;
  const terms = budgetTerms(leg, with_);
  if (!terms || !result) return undefined;
  const [[, reserve], [, altimeter]] = terms.left as [[string, string], [string, string], [string, string]];
  const required =
    result.requiredDepartAltitudeM === null
      ? 'No height is enough at this speed.'
      : `Just enough would be ${with_.altitude(result.requiredDepartAltitudeM, 'up')}.`;
  const says = [
    `**margin**: the arrival of ${terms.over} less what is asked there, ${reserve} of reserve and ${altimeter} for the altimeter.`,
    `It is planned as ${leaving(context)}. ${required}`,
    `*${CAUTION}*`,
  ].join('\n\n');
  return { text: `margin ${marginText(leg, with_)}`, says, at: heightPlace(context) };
}

function timePart({ leg, with_, task }: LegContext): Part | undefined {
  const { result } = leg;
  if (result?.problem !== null) return undefined;
  const wind = task.weather ? `in the wind of ${escapeMarkdown(task.weather.meaning.name)}` : 'without wind';
  const says = `**time** of the glide, ${with_.duration(result.timeS)}, at ${with_.speed(result.indicatedMps)} ${wind}, ${with_.speed(result.meanGroundSpeedMps)} over the ground; climbs are not in it.`;
  return { text: minutes(result.timeS, with_), says, at: task.weather?.at };
}

function computedParts(context: LegContext): Part[] {
  const { leg, with_, options } = context;
  const { result } = leg;
  const parts = wayParts(context);
  if (result?.problem) {
    const speed = with_.speed(result.indicatedMps);
    const says = `At ${speed} the glider makes no headway against the wind ${with_.distance(result.atM)} along this leg.`;
    const stopped: Part = { text: `no headway at ${speed}`, says, at: context.task.weather?.at };
    return options.arrival || options.margin || options.time ? [stopped, ...parts] : parts;
  }
  const arrival = options.arrival ? arrivalPart(context) : undefined;
  const margin = options.margin ? marginPart(context) : undefined;
  const time = options.time ? timePart(context) : undefined;
  // An editor may cut a hint off at its end: what matters stands first.
  return [...[margin, arrival, time].filter((part) => part !== undefined), ...parts];
}

/** The parts of a leg; `told` holds the causes that an earlier line has said already. */
function legParts(context: LegContext, told: Set<string>): Part[] {
  const { leg, options } = context;
  const { distance, course, arrival, margin, time } = options;
  if (!(distance || course || arrival || margin || time)) return [];
  if (leg.result) return computedParts(context);
  const { cause } = leg;
  if (!cause) return [];
  const says = `Leg ${leg.number} is not computed: ${escapeMarkdown(cause.text)}.`;
  const isTold = told.has(cause.text);
  told.add(cause.text);
  return [
    {
      text: isTold ? 'not computed' : `not computed: ${shortened(harmless(cause.text), LONGEST_CAUSE)}`,
      says,
      at: cause.at,
    },
  ];
}

/** Whether a climb starts at the height that is asked at the end of a leg which does not get there. */
function isAssumed(climb: ClimbEvaluation, task: TaskEvaluation): boolean {
  const leg = task.legs.findIndex((one) => one.climbs[0] === climb);
  const before = leg < 0 ? task.legs.at(-1) : task.legs[leg - 1];
  if (climb.afterM !== undefined || (leg < 0 && task.looseClimbs[0] !== climb) || !before?.result) return false;
  return before.result.problem !== null || before.result.reachesGroundAfterM !== null;
}

function climbParts(climb: ClimbEvaluation, task: TaskEvaluation, with_: Show): Part[] {
  const { fromAltitudeM: from, toAltitudeM: to, rateMps, timeS } = climb;
  if (climb.beyondLeg) return [{ text: 'beyond the end of the leg', says: 'The leg is shorter than that.' }];
  if (climb.goesDown)
    return [{ text: 'no gain', says: `The glider is there at ${with_.altitude(from ?? to, 'down')} already.` }];
  if (from === undefined) return [];
  const gain = with_.height(Math.max(0, to - from));
  const heights = `from ${with_.altitude(from, 'down')} to ${with_.altitude(to)}`;
  const assumed = isAssumed(climb, task);
  const why = assumed ? ' The lower one is the height asked there, since the leg before does not get there.' : '';
  const text = `+${gain}${assumed ? ' from the height asked' : ''}`;
  const parts: Part[] = [{ text, says: `**climb** of ${gain}, ${heights}.${why}` }];
  if (timeS === undefined || rateMps === undefined) return parts;
  const lift = climb.line.slots['rate'] ? undefined : task.weather;
  const source = lift ? `the lift of ${escapeMarkdown(lift.meaning.name)}` : 'as the line says';
  const line = lift?.meaning.lift?.line;
  parts.push({
    text: minutes(timeS, with_),
    says: `**time** to climb ${gain}, ${with_.duration(timeS)}, at ${with_.climb(rateMps)}, ${source}.`,
    at: lift && line && { ...lift.at, span: line.span },
  });
  return parts;
}

/** The parts of a `soar` line: what the legs flown by it come to. */
function soarParts(line: LineSyntax, task: TaskEvaluation, with_: Show): Part[] {
  const legs = task.legs.filter(({ soar }) => soar?.line === line);
  const whole = soaringOf({ ...task, legs });
  const says = soarSection(task, line, with_);
  if (!whole || !says) return [];
  const average = whole.averageMps === undefined ? '' : ` · average ${with_.speed(whole.averageMps)}`;
  return [{ text: `${climbCount(whole.climbs)}${average}`, says, at: task.weather?.at }];
}

/** The hints of the lines that a range touches. */
export function inlayHints(
  workspace: Workspace,
  understood: Understood,
  range: Range,
  options: HintOptions = DEFAULT_HINTS,
): InlayHint[] {
  const with_ = show(understood.units);
  const hints: InlayHint[] = [];
  const locationOf = (at: Place | undefined): Location | undefined => {
    const place = at && rangeOf(workspace, at);
    return place && { uri: place.uri, range: { start: place.start, end: place.end } };
  };
  const labelPart = ({ text, says, at }: Part): InlayHintLabelPart => {
    const location = locationOf(at);
    return {
      value: text,
      tooltip: { kind: MarkupKind.Markdown, value: says },
      ...(location ? { location } : {}),
    };
  };
  for (const task of understood.tasks) {
    const here = (span: Place['span']): Place => ({ uri: task.uri, entry: task.entry, span });
    const placed = placedEntry(workspace, here(task.entry.span));
    if (!placed || placed.line > range.end.line) continue;
    if (placed.line + placed.syntax.lineStarts.length <= range.start.line) continue;
    const add = (span: Place['span'], parts: readonly Part[]): void => {
      const position = positionAt(placed, span.end);
      if (parts.length === 0 || position.line < range.start.line || position.line > range.end.line) return;
      const label = parts.flatMap((part, i) => [...(i > 0 ? [{ value: ' · ' }] : []), labelPart(part)]);
      hints.push({ position, label, paddingLeft: true });
    };
    const addClimb = (climb: ClimbEvaluation): void => add(climb.line.span, climbParts(climb, task, with_));
    const told = new Set<string>();
    const soared = new Set<LineSyntax>();
    for (const leg of task.legs) {
      if (options.climb && leg.soar && !soared.has(leg.soar.line)) {
        soared.add(leg.soar.line);
        add(leg.soar.line.span, soarParts(leg.soar.line, task, with_));
      }
      if (options.climb) leg.climbs.forEach(addClimb);
      add(leg.line.span, legParts({ leg, task, with_, options, here }, told));
    }
    if (options.climb) task.looseClimbs.forEach(addClimb);
  }
  return hints;
}
