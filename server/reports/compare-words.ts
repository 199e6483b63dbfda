/** A comparison in words that text and Markdown share: whole units of the reader that add up as shown. */
import { fromSi } from '../../grammar/units.ts';
import { marginText, wholeHeights } from '../plan/budget-rows.ts';
import { type Figure, figuresOf, type LegChange, type LegFigures, type Reason } from '../plan/compare.ts';
import { duration, number, type Show, show, timeOfDay } from '../plan/show.ts';
import type { LegEvaluation, TaskEvaluation } from '../plan/task.ts';
import {
  type AlteredFinding,
  type Comparison,
  isStillUnsafe,
  type TaskDifference,
  WEIGHTS,
  type Weight,
  weightOfLeg,
} from './compare.ts';
import { count } from './plain.ts';

const ARROW = ' → ';
const DASH = '–';

export const NOTHING_CHANGES = 'nothing changes in the air';

const WEIGHT_WORDS: Readonly<Record<Weight, string>> = {
  unsafe: 'unsafe now',
  'less safe': 'less safe still',
  'to be looked at': 'to be looked at',
  'less margin': 'less margin',
  other: 'changed',
  'more margin': 'more margin',
  none: 'not changed',
};

const FATES: Readonly<Record<TaskDifference['fate'], string>> = {
  added: 'added',
  removed: 'removed',
  renamed: 'renamed',
  changed: '',
};

/** `unsafe now`, `added, unsafe now`, `removed`, `more margin, still unsafe`. */
export function verdictOf(task: TaskDifference): string {
  const { fate, weight } = task;
  const words = fate !== 'changed' && weight === 'other' ? '' : WEIGHT_WORDS[weight];
  return [FATES[fate], words, isStillUnsafe(task) ? 'still unsafe' : ''].filter((one) => one !== '').join(', ');
}

/** Whether a finding was graver before, and so is told among those that are gone. */
export const isLesser = ({ severity, severityBefore }: AlteredFinding): boolean => severity !== severityBefore;

/** How a finding on both sides is told: `still error below-reserve, but better`. */
export function stillWords(finding: AlteredFinding, code: string): string {
  const { severity, course } = finding;
  if (isLesser(finding)) return `only ${severity} ${code} now`;
  return `still ${severity} ${code}${course === 'worse' ? ', and worse' : course === 'better' ? ', but better' : ''}`;
}

/** What a finding was before, where that is of another kind: `reaches-ground: `. */
export function beforeWords({ codeBefore, code }: AlteredFinding, shown: string): string {
  return codeBefore === code ? '' : `${shown}: `;
}

/** `Late Home (plans/a.taskplan)`, with what it was called before. */
export function titleOf({ name, file, oldName, oldFile, fate }: TaskDifference): { name: string; about: string } {
  const was =
    fate !== 'renamed' ? [] : [oldName !== name ? oldName : undefined, oldFile !== file ? oldFile : undefined];
  const before = was.filter((one) => one !== undefined).join(' in ');
  return { name, about: before === '' ? file : `${file}, before: ${before}` };
}

/** `2 tasks change in the air: 1 unsafe now, 1 more margin`. */
export function headline(comparison: Comparison): string {
  const { tasks, files, entries } = comparison;
  if (tasks.length + files.length + entries.length === 0) return NOTHING_CHANGES;
  if (tasks.length === 0) return `${NOTHING_CHANGES} for any task`;
  const byWeight = WEIGHTS.flatMap((weight) => {
    const these = tasks.filter((task) => task.weight === weight && task.fate === 'changed');
    const unsafe = these.filter(isStillUnsafe).length;
    return these.length > 0
      ? [`${these.length} ${WEIGHT_WORDS[weight]}${unsafe > 0 ? ` (${unsafe} still unsafe)` : ''}`]
      : [];
  });
  const byFate = (['added', 'removed', 'renamed'] as const).flatMap((fate) => {
    const these = tasks.filter((task) => task.fate === fate);
    const unsafe = these.filter(({ weight }) => weight === 'unsafe').length;
    return these.length > 0 ? [`${these.length} ${fate}${unsafe > 0 ? ` (${unsafe} unsafe)` : ''}`] : [];
  });
  const verb = tasks.length === 1 ? 'differs' : 'differ';
  return `${count(tasks.length, 'task')} ${verb}: ${[...byWeight, ...byFate].join(', ')}`;
}

function signed(whole: number, unit: string): string {
  return `${whole > 0 ? '+' : whole < 0 ? '−' : ''}${number(Math.abs(whole))} ${unit}`;
}

/** A margin, or why there is none. */
export function marginOf(leg: LegEvaluation, with_: Show): string {
  const { result, cause } = leg;
  if (!result) return `not computed${cause ? `, since ${cause.text}` : ''}`;
  return result.problem ? 'no headway' : marginText(leg, with_);
}

const FIGURE_TEXT: Readonly<Record<Exclude<Figure, 'marginM'>, (value: number, with_: Show) => string>> = {
  distanceM: (value, with_) => with_.distance(value),
  requiredAltitudeM: (value, with_) => with_.altitude(value, 'up'),
  arriveAltitudeM: (value, with_) => with_.altitude(value, 'down'),
  timeS: (value) => duration(value),
};

export const CHANGE_HEADS = ['leg', 'distance', 'height required', 'arrival', 'margin', 'time'] as const;

function beforeAndAfter(one: string | undefined, other: string | undefined): string {
  if (one === undefined || other === undefined || one === other) return one ?? other ?? DASH;
  return `${one}${ARROW}${other}`;
}

function figureText(
  figures: LegFigures | undefined,
  figure: Exclude<Figure, 'marginM'>,
  with_: Show,
): string | undefined {
  if (!figures) return undefined;
  const value = figures[figure];
  return value === null ? DASH : FIGURE_TEXT[figure](value, with_);
}

/** `4 Corran Dam → Larkfield`, with the number before where that differs. */
export function legTitle({ before, after }: Pick<LegChange, 'before' | 'after'>): string {
  const leg = (after ?? before) as LegEvaluation;
  const fate = !before ? ' (new)' : !after ? ' (gone)' : '';
  return `${leg.number} ${leg.fromName || '?'}${ARROW}${leg.toName || '?'}${fate}`;
}

/** A leg as cells under {@link CHANGE_HEADS}, before and after. */
export function changeCells(leg: LegChange, with_: Show): string[] {
  const figure = (of: Exclude<Figure, 'marginM'>) =>
    beforeAndAfter(figureText(leg.figuresBefore, of, with_), figureText(leg.figuresAfter, of, with_));
  const margin = (side: LegEvaluation | undefined) => side && marginOf(side, with_);
  return [
    legTitle(leg),
    figure('distanceM'),
    figure('requiredAltitudeM'),
    figure('arriveAltitudeM'),
    beforeAndAfter(margin(leg.before), margin(leg.after)),
    figure('timeS'),
  ];
}

/** `margin +120 ft → −320 ft (−440 ft)`; what changed instead where the margin did not. */
export function changeText(leg: LegChange, with_: Show): string {
  const { before, after } = leg;
  if (!before || !after) return `margin ${marginOf((after ?? before) as LegEvaluation, with_)}`;
  const [one, other] = [marginOf(before, with_), marginOf(after, with_)];
  const total = shownChange(leg, with_);
  if (one !== other)
    return `margin ${one}${ARROW}${other}${total === undefined ? '' : ` (${signed(total, with_.units.altitude.text)})`}`;
  const rest = (['requiredAltitudeM', 'distanceM', 'timeS', 'arriveAltitudeM'] as const).flatMap((figure, i) => {
    const texts = [leg.figuresBefore, leg.figuresAfter].map((figures) => figureText(figures, figure, with_));
    const words = ['height required', 'distance', 'time', 'arrival'][i];
    return texts[0] === texts[1] ? [] : [`${words} ${texts[0]}${ARROW}${texts[1]}`];
  });
  return rest.length > 0 ? rest.join(', ') : `margin ${one}`;
}

/** The change of the margin in whole units, as the margins are shown. */
function shownChange({ before, after }: LegChange, with_: Show): number | undefined {
  const one = before && wholeHeights(before, with_);
  const other = after && wholeHeights(after, with_);
  return one && other ? other.margin - one.margin : undefined;
}

export interface ReasonText {
  /** `wind at 3000 ft MSL 245°/14 kt → 250°/22 kt`, or `together`. */
  readonly what: string;
  /** `−310 ft`; empty where one fact alone gives no number. */
  readonly much: string;
}

/** A fact with what it was and what it is. */
export function factText({ label, before, after }: Pick<Reason, 'label' | 'before' | 'after'>): string {
  return `${label} ${before ?? 'none'}${ARROW}${after ?? 'none'}`;
}

/** Why the figure of a leg changed: its reasons, and what they leave, in whole units that sum to the change as shown. */
function summed(leg: LegChange, figure: 'marginM' | 'requiredAltitudeM', total: number, with_: Show): ReasonText[] {
  const unit = with_.units.altitude;
  const known: { what: string; value: number; whole: number }[] = [];
  const alone: ReasonText[] = [];
  let exact = 0;
  let shown = 0;
  for (const reason of leg.reasons) {
    const value = reason.alone[figure];
    if (value === null) {
      alone.push({ what: factText(reason), much: 'not computed alone' });
      continue;
    }
    exact += fromSi(value, unit);
    const whole = Math.round(exact) - shown;
    shown += whole;
    known.push({ what: factText(reason), value: Math.abs(value), whole });
  }
  const rest = total - shown;
  const largest = known.reduce<(typeof known)[number] | undefined>(
    (most, one) => (most && most.value >= one.value ? most : one),
    undefined,
  );
  // What only rounding leaves, one unit at most, goes with the largest.
  const really = !largest || Math.abs(fromSi(leg.together?.[figure] ?? 0, unit)) >= 0.5;
  if (largest && !really) largest.whole += rest;
  return [
    ...known.filter(({ whole }) => whole !== 0).map(({ what, whole }) => ({ what, much: signed(whole, unit.text) })),
    ...alone,
    ...(really && rest !== 0 ? [{ what: 'together', much: signed(rest, unit.text) }] : []),
  ];
}

/** Why a leg changed. */
export function reasonTexts(leg: LegChange, with_: Show): { of: string; reasons: ReasonText[] } | undefined {
  if (!leg.changed || !leg.before || !leg.after || leg.reasons.length === 0) return undefined;
  const total = shownChange(leg, with_);
  if (total !== undefined && total !== 0) return { of: 'margin', reasons: summed(leg, 'marginM', total, with_) };
  if (total === undefined)
    return { of: '', reasons: leg.reasons.map((reason) => ({ what: factText(reason), much: '' })) };
  const up = (leg_: LegEvaluation): number | undefined => {
    const required = figuresOf(leg_).requiredAltitudeM;
    return required === null ? undefined : Math.ceil(fromSi(required, with_.units.altitude) - 1e-6);
  };
  const one = up(leg.before);
  const other = up(leg.after);
  if (one !== undefined && other !== undefined && one !== other)
    return { of: 'height required', reasons: summed(leg, 'requiredAltitudeM', other - one, with_) };
  const timed = leg.reasons.filter(({ alone }) => Math.abs(alone.timeS ?? 0) >= 0.5);
  const sign = (seconds: number) => `${seconds < 0 ? '−' : '+'}${duration(Math.abs(seconds))}`;
  if (timed.length === 0) return undefined;
  return {
    of: 'time',
    reasons: timed.map((reason) => ({ what: factText(reason), much: sign(reason.alone.timeS ?? 0) })),
  };
}

/** The legs that changed, the gravest first. */
export function changedLegs({ change }: TaskDifference): LegChange[] {
  const rank = (leg: LegChange) => WEIGHTS.indexOf(weightOfLeg(leg));
  return (change?.legs ?? []).filter(({ changed }) => changed).sort((a, b) => rank(a) - rank(b));
}

/** Whether a task only moves by so little that its legs need not be told one by one: 5 ft, 10 s. */
function isSlight(task: TaskDifference): boolean {
  if (!task.change || task.fate !== 'changed' || task.appeared.length + task.gone.length > 0) return false;
  if (task.weight === 'unsafe' || task.weight === 'less safe') return false;
  if (task.altered.some(({ course }) => course !== 'same')) return false;
  const { timesBefore: was, timesAfter: is } = task.change;
  if (was.takeoffUtcS !== is.takeoffUtcS || (was.climbTimeS === null) !== (is.climbTimeS === null)) return false;
  if (Math.abs((is.climbTimeS ?? 0) - (was.climbTimeS ?? 0)) >= 10) return false;
  return task.change.legs.every(({ change, changed }) => {
    if (!changed) return true;
    if (!change) return false;
    const { marginM, requiredAltitudeM, distanceM, timeS } = change;
    if (marginM === null || requiredAltitudeM === null || distanceM === null || timeS === null) return false;
    return (
      Math.abs(marginM) < 1.5 && Math.abs(requiredAltitudeM) < 1.5 && Math.abs(distanceM) < 50 && Math.abs(timeS) < 10
    );
  });
}

/** The tasks that are told one by one, and those that moved by next to nothing. */
export function apart({ tasks }: Comparison): { readonly told: TaskDifference[]; readonly slight: TaskDifference[] } {
  return { told: tasks.filter((task) => !isSlight(task)), slight: tasks.filter(isSlight) };
}

/** The facts that changed and that no leg is told to change by: what they change are times, limits and findings. */
export function otherFacts(task: TaskDifference): { readonly head: string; readonly facts: readonly string[] } {
  const with_ = showOf(task);
  const told = new Set(
    changedLegs(task).flatMap((leg) => reasonTexts(leg, with_)?.reasons.map(({ what }) => what) ?? []),
  );
  const facts = (task.change?.facts ?? []).map(factText).filter((fact) => !told.has(fact));
  return { head: told.size > 0 ? 'what else changed' : 'what changed', facts };
}

/** Times of the whole task that changed: `climbing 24 min → 1 h 12 min`, `take-off 11:30Z → 12:00Z`. */
export function timeTexts({ change }: TaskDifference): string[] {
  if (!change?.timesChanged) return [];
  const { before, after, timesBefore: was, timesAfter: is } = change;
  const clock = ({ task: { takeoff } }: TaskEvaluation) =>
    takeoff ? timeOfDay(takeoff.utcS, takeoff.zoneMinutes) : 'none';
  const long = (seconds: number | null) => (seconds === null ? 'not known' : duration(seconds));
  const pairs: (readonly [string, string, string])[] = [
    ['take-off', clock(before), clock(after)],
    ['climbing', long(was.climbTimeS), long(is.climbTimeS)],
    ['in all', long(was.timeS), long(is.timeS)],
  ];
  const told = pairs.flatMap(([what, one, other]) => (one === other ? [] : [`${what} ${one}${ARROW}${other}`]));
  const more = (is.climbTimeS ?? 0) - (was.climbTimeS ?? 0);
  // Long times are told to the minute, and less than one may have changed.
  return told.length > 0 ? told : [`climbing ${more < 0 ? '−' : '+'}${duration(Math.abs(more))}`];
}

export const SLIGHT = 'moved by less than 5 ft and 10 s';

/** A task that is on one side only, leg by leg. */
export function onlyLegs(task: TaskDifference): LegEvaluation[] {
  return task.change ? [] : [...((task.after ?? task.before)?.legs ?? [])];
}

export function showOf(task: TaskDifference): Show {
  return show(task.units);
}
