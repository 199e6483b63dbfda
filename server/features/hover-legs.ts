/** What hover says of an itinerary line: the heights first, then the speeds, then where the height goes. */
import type { LineSyntax } from '../../grammar/syntax.ts';
import { budgetTerms, courseText, marginText } from '../plan/budget-rows.ts';
import { CAUTION, madeWith } from '../plan/caution.ts';
import { clockOf } from '../plan/clock.ts';
import { eveningOf } from '../plan/day.ts';
import { type Show, timeOfDay } from '../plan/show.ts';
import type { ClimbEvaluation, LegEvaluation, TaskEvaluation } from '../plan/task.ts';
import { escapeMarkdown } from '../plan/text.ts';
import { landingRows } from './hover-landing.ts';
import { homeSection, reachSection } from './hover-reach.ts';
import { soarRows } from './hover-soar.ts';

function speedKind(leg: LegEvaluation, with_: Show): string {
  const speed = leg.input?.speed;
  if (speed?.kind === 'bestGlide') return 'best glide over the ground';
  if (speed?.kind === 'maccready') return `the speed to fly for a climb of ${with_.climb(speed.climbMps)}`;
  return 'as written';
}

function table(rows: readonly (readonly [string, string])[]): string {
  return ['| | |', '|---|---:|', ...rows.map(([what, value]) => `| ${what} | ${value} |`)].join('\n');
}

function timeRow(task: TaskEvaluation, leg: LegEvaluation, with_: Show, timeS: number): string {
  const { takeoff } = task.task;
  const elapsed = clockOf(task).legs.get(leg);
  const clock =
    takeoff && elapsed !== undefined
      ? `, over ${escapeMarkdown(leg.toName)} at ${timeOfDay(takeoff.utcS + elapsed, takeoff.zoneMinutes)}`
      : '';
  return `${with_.duration(timeS)}${clock}`;
}

/** `19:38Z, civil twilight to 20:14Z`; undefined without a take-off and a date, or where the Sun does not set. */
function sunText(task: TaskEvaluation): string | undefined {
  const { takeoff } = task.task;
  const evening = eveningOf(task);
  if (!takeoff || !evening || evening.sunsetS === null) return undefined;
  // Rounded down, so that nobody counts on a minute that is not there.
  const time = (seconds: number) => timeOfDay(Math.floor(seconds / 60) * 60, takeoff.zoneMinutes);
  const dusk = evening.civilDuskS === null ? '' : `, civil twilight to ${time(evening.civilDuskS)}`;
  return `${time(evening.sunsetS)}${dusk}`;
}

/** A leg. */
export function legSection(leg: LegEvaluation, task: TaskEvaluation, with_: Show): string {
  const title = `**leg ${leg.number}: ${escapeMarkdown(leg.fromName)} to ${escapeMarkdown(leg.toName)}**`;
  const { result, input } = leg;
  if (!result || !input) return `${title}\n\nNot computed${leg.cause ? `: ${escapeMarkdown(leg.cause.text)}` : ''}.`;
  const lines = [`${title} · ${with_.distance(result.distanceM)}, course ${courseText(leg, with_)}`];
  const flown = result.problem === null ? result : undefined;
  const last = result.climbs.at(-1);
  const from = last ? `after the climb at ${with_.distance(last.afterM)}` : `leaving ${escapeMarkdown(leg.fromName)}`;
  const required =
    result.requiredDepartAltitudeM === null
      ? 'no height is enough'
      : with_.altitude(result.requiredDepartAltitudeM, 'up');
  const planned = last ? last.toAltitudeM : result.departAltitudeM;
  const rows: [string, string][] = [
    [`height required ${from}`, `**${required}**`],
    [
      leg.departAssumed ? 'height assumed (the leg before does not get there)' : 'height planned',
      with_.altitude(planned, 'down'),
    ],
  ];
  if (flown) {
    const over = leg.to?.meaning.kind === 'field' ? 'arrival over the field' : 'arrival over the point';
    const asked = input.destination.reserveM + input.destination.altimeterM;
    rows.push([
      over,
      `${with_.height(flown.arriveHeightM, 'down')} (${with_.altitude(flown.arriveAltitudeM, 'down')})`,
    ]);
    rows.push(['asked there', `${with_.height(asked, 'up')} (${with_.altitude(result.askedAltitudeM, 'up')})`]);
    rows.push(['margin', `**${marginText(leg, with_)}**`]);
    rows.push(['time', timeRow(task, leg, with_, flown.timeS)]);
    const sun = leg.kind === 'finish' ? sunText(task) : undefined;
    if (sun) rows.push(['sunset there', sun]);
    rows.push(...soarRows(leg, with_));
    rows.push(...landingRows(leg, task, with_));
    const head = flown.meanHeadwindMps;
    rows.push([
      'ground speed',
      `${with_.speed(flown.meanGroundSpeedMps)} (${head >= 0 ? 'headwind' : 'tailwind'} ${with_.speed(Math.abs(head))})`,
    ]);
    if (flown.glideRatioOverGround !== null)
      rows.push(['glide over the ground', with_.ratio(flown.glideRatioOverGround)]);
  } else {
    rows.push(['headway', `none at ${with_.speed(result.indicatedMps)}`]);
  }
  rows.push([`speed (indicated), ${speedKind(leg, with_)}`, with_.speed(result.indicatedMps)]);
  rows.push([
    'best glide over the ground',
    result.bestGlideIndicatedMps === null ? 'none makes headway' : with_.speed(result.bestGlideIndicatedMps),
  ]);
  const { fastestIndicatedMps: fastest, fastestUpToVneMps: upToVne } = result;
  const vno = input.limits.vnoMps;
  const beyond =
    upToVne !== null && fastest !== null && upToVne > fastest + 0.05
      ? ` (${with_.speed(upToVne, 'down')} up to vne, in smooth air only)`
      : '';
  const limit = fastest !== null && vno !== null && fastest >= vno ? ', which is vno' : '';
  rows.push([
    'fastest that still makes it',
    fastest === null ? 'no speed makes it' : `${with_.speed(fastest, 'down')}${limit}${beyond}`,
  ]);
  lines.push(table(rows));
  const terms = budgetTerms(leg, with_);
  if (terms) {
    const sum = (parts: [string, string][]) => parts.map(([what, value]) => `${what} ${value}`).join(' + ');
    lines.push(
      `Loses ${terms.lost} = ${sum(terms.spent)}.`,
      `Arrives ${terms.over} over the point = ${sum(terms.left)}.`,
    );
  }
  const reach = reachSection(leg, task, with_);
  if (reach) lines.push(reach);
  lines.push(`*${escapeMarkdown(madeWith(task, with_).join('; '))}.*`, `*${CAUTION}*`);
  return lines.join('\n\n');
}

/** The leg for which a height is the one to leave at. */
function legLeaving(task: TaskEvaluation, line: LineSyntax): LegEvaluation | undefined {
  return task.legs.find((leg) => leg.heightLine === line || leg.climbs.some((climb) => climb.line === line));
}

function requiredFor(leg: LegEvaluation | undefined, with_: Show): string | undefined {
  const required = leg?.result?.requiredDepartAltitudeM;
  if (!leg || required === null || required === undefined) return undefined;
  const margin = leg.result?.problem === null ? ` (margin ${marginText(leg, with_)})` : '';
  return `leg ${leg.number} to ${escapeMarkdown(leg.toName)} asks **${with_.altitude(required, 'up')}** here${margin}`;
}

/** The start line. */
export function startSection(task: TaskEvaluation, with_: Show): string | undefined {
  const { start } = task;
  if (!start || start.altitudeM === undefined) return undefined;
  const elevation = start.point?.meaning.elevationM;
  const above =
    elevation === undefined
      ? ''
      : `, ${with_.height(start.altitudeM - elevation, 'down')} above ${escapeMarkdown(start.point?.meaning.name ?? '')}`;
  const required = requiredFor(
    task.legs.find((leg) => leg.heightLine === start.line),
    with_,
  );
  return [`start at ${with_.altitude(start.altitudeM, 'down')}${above}`, ...(required ? [required] : [])].join('\n\n');
}

function climbOf(task: TaskEvaluation, line: LineSyntax): ClimbEvaluation | undefined {
  for (const leg of task.legs) {
    const found = leg.climbs.find((climb) => climb.line === line);
    if (found) return found;
  }
  return undefined;
}

/** A climb line. */
export function climbSection(task: TaskEvaluation, line: LineSyntax, with_: Show): string | undefined {
  const climb = climbOf(task, line);
  if (!climb) return undefined;
  const { fromAltitudeM: from, toAltitudeM: to } = climb;
  const gain =
    from === undefined
      ? `climb to ${with_.altitude(to)}`
      : `climb of ${with_.height(Math.max(0, to - from))}, from ${with_.altitude(from, 'down')} to ${with_.altitude(to)}`;
  const rate = climb.rateMps === undefined ? ', at a rate that is not written' : ` at ${with_.climb(climb.rateMps)}`;
  const time = climb.timeS === undefined ? '' : `, ${with_.duration(climb.timeS)}`;
  const leg = legLeaving(task, line);
  const required = leg?.heightLine === line ? requiredFor(leg, with_) : undefined;
  const home = leg && homeSection(climb, leg, task, with_);
  return [`${gain}${rate}${time}`, ...(required ? [required] : []), ...(home ? [home] : [])].join('\n\n');
}
