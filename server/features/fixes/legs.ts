/** What the fixes of a flight share: the leg that a finding is on, heights and speeds as its lines write them. */
import type { LineSyntax, QuantityNode, ValueNode } from '../../../grammar/syntax.ts';
import type { Unit } from '../../../grammar/units.ts';
import { altitudeIn, type ClimbEvaluation, type LegEvaluation, type TaskEvaluation } from '../../plan/task.ts';
import { understand } from '../../plan/understand.ts';
import type { Finding } from '../../rules/rule.ts';
import { type Edit, replaceIn, type Spot, spotOf } from './edit.ts';
import { type FixContext, triedOut } from './fix.ts';
import { levelAt, quantityText } from './writing.ts';

/** A leg and where its task stands. */
export interface LegSpot {
  readonly task: TaskEvaluation;
  readonly leg: LegEvaluation;
  readonly spot: Spot;
}

const holdsSpan = (line: LineSyntax, { span }: Finding['at']) =>
  line.span.start <= span.start && span.end <= line.span.end;

/** The task that a finding is in. */
export function taskOf(finding: Finding, { understood }: FixContext): TaskEvaluation | undefined {
  return understood.tasks.find(({ entry }) => entry === finding.at.entry);
}

/** The leg that a finding is on: by its own line, or by that of a climb on it. */
export function legOf(finding: Finding, context: FixContext): LegSpot | undefined {
  const task = taskOf(finding, context);
  const spot = task && spotOf(context.workspace, task.uri, task.entry);
  const leg =
    task?.legs.find(({ line }) => holdsSpan(line, finding.at)) ??
    task?.legs.find(({ climbs }) => climbs.some(({ line }) => holdsSpan(line, finding.at)));
  return task && spot && leg && { task, leg, spot };
}

/** The same leg of the same task after edits; undefined when it is gone. */
export function legAfter(
  { task, leg }: LegSpot,
  context: FixContext,
  edits: readonly Edit[],
): LegEvaluation | undefined {
  const trial = triedOut(context, edits);
  const file = trial.files.get(task.uri);
  if (!file) return undefined;
  const again = understand(trial, file).tasks[context.understood.tasks.indexOf(task)];
  return again?.legs.find(({ number }) => number === leg.number);
}

/** Steps that read well: 10 ft, or 50 ft where the line is written so; 10 m; a hundredth of anything longer. */
function heightStep(unit: Unit, written: number): number {
  if (unit.text === 'ft') return written % 50 === 0 ? 50 : 10;
  return unit.text === 'm' ? 10 : 0.01;
}

/** An altitude written like another: in its unit, counted from what it is counted from. */
export function altitudeText(
  like: ValueNode | undefined,
  altitudeM: number,
  elevationM: number | undefined,
  { air }: TaskEvaluation,
  rounding: 'up' | 'down',
): string | undefined {
  if (like?.kind === 'flightLevel') {
    const level = levelAt(altitudeM, air, like.level % 5 === 0 ? 5 : 1, rounding);
    return level === undefined ? undefined : `FL${level}`;
  }
  if (like?.kind !== 'quantity' || !like.unit?.unit || !like.datum?.datum) return undefined;
  const { unit } = like.unit;
  const agl = like.datum.datum === 'AGL';
  if (agl && elevationM === undefined) return undefined;
  const step = heightStep(unit, like.number.value ?? 0);
  const heightM = agl ? altitudeM - (elevationM as number) : altitudeM;
  return `${quantityText(heightM, unit, step, rounding)} ${like.datum.datum}`;
}

/** A start or a climb, with what its altitude is counted from. */
export interface HeightLine {
  readonly line: LineSyntax;
  readonly altitudeM: number;
  readonly elevationM: number | undefined;
  readonly climb: ClimbEvaluation | undefined;
  /** The leg that the climb is before or on. */
  readonly leg: LegEvaluation | undefined;
}

/** The start or climb that stands on this line. */
export function heightLineOf(task: TaskEvaluation, line: LineSyntax | undefined): HeightLine | undefined {
  if (!line) return undefined;
  if (task.start?.line === line) {
    const { altitudeM, point } = task.start;
    if (altitudeM === undefined) return undefined;
    return { line, altitudeM, elevationM: point?.meaning.elevationM, climb: undefined, leg: undefined };
  }
  for (const leg of task.legs) {
    const climb = leg.climbs.find((one) => one.line === line);
    if (!climb) continue;
    const elevationM = climb.afterM === undefined ? leg.from?.meaning.elevationM : undefined;
    return { line, altitudeM: climb.toAltitudeM, elevationM, climb, leg };
  }
  return undefined;
}

/** What an altitude lies above on that day, for a title. */
export function aboveTheDay(task: TaskEvaluation, altitudeM: number): string {
  const { cloudbase, lift } = task.weather?.meaning ?? {};
  const base = cloudbase && altitudeIn(cloudbase.value, undefined, task.air);
  if (base !== undefined && altitudeM > base + 0.01) return ', above the cloudbase';
  const top = lift && altitudeIn(lift.top, undefined, task.air);
  return top !== undefined && altitudeM > top + 0.01 ? ', above the working top' : '';
}

/** Speeds are written whole, but for metres a second. */
export function speedStep(unit: Unit): number {
  return unit.text === 'm/s' ? 0.1 : 1;
}

/** The unit in which the speed of a leg is written; the reader's where it writes none. */
export function speedUnit({ leg }: LegSpot, { understood }: FixContext): Unit {
  const node = leg.line.slots['speed'] as QuantityNode | undefined;
  return node?.unit?.unit?.dimensions.includes('speed') ? node.unit.unit : understood.units.speed;
}

/** Has a leg flown in another way: `at 68 kt`, `at best glide`. */
export function speedEdit({ leg, spot }: LegSpot, speed: string): Edit | undefined {
  const point = leg.line.slots['point'];
  if (!point) return undefined;
  return replaceIn(spot, { start: point.span.end, end: leg.line.span.end }, ` at ${speed}`);
}
