/** What hover says of soaring: the climbs, the average speed, and where the last glide begins. */
import type { LineSyntax } from '../../grammar/syntax.ts';
import type { Show } from '../plan/show.ts';
import { soaringOf } from '../plan/soaring.ts';
import type { LegEvaluation, TaskEvaluation } from '../plan/task.ts';
import { escapeMarkdown } from '../plan/text.ts';

export const climbCount = (climbs: number) =>
  climbs === 0 ? 'no climb' : climbs === 1 ? '1 climb' : `${climbs} climbs`;

function lastGlideText(leg: LegEvaluation, afterM: number, altitudeM: number, with_: Show): string {
  const where =
    afterM < 1 ? `over ${escapeMarkdown(leg.fromName)}` : `${with_.distance(afterM)} along leg ${leg.number}`;
  return `${where}, at ${with_.altitude(altitudeM, 'up')}`;
}

/** The rows that hover adds for a leg that is soared. */
export function soarRows(leg: LegEvaluation, with_: Show): [string, string][] {
  const { soar } = leg;
  if (!soar) return [];
  const rows: [string, string][] = [
    [
      'soaring',
      `${climbCount(soar.climbs.length)} between ${with_.altitude(soar.lowerM)} and ${with_.altitude(soar.upperM)}`,
    ],
  ];
  if (soar.averageMps !== undefined)
    rows.push(['average over the ground, climbs included', with_.speed(soar.averageMps)]);
  if (soar.lastGlide)
    rows.push(['the last glide begins', lastGlideText(leg, soar.lastGlide.afterM, soar.lastGlide.altitudeM, with_)]);
  return rows;
}

/** A `soar` line. */
export function soarSection(task: TaskEvaluation, line: LineSyntax, with_: Show): string | undefined {
  const legs = task.legs.filter(({ soar }) => soar?.line === line);
  const [first] = legs;
  if (!first?.soar) return undefined;
  const { lowerM, upperM, rateMps } = first.soar;
  const climbs = legs.reduce((sum, { soar }) => sum + (soar?.climbs.length ?? 0), 0);
  const lines = [
    `soaring between ${with_.altitude(lowerM)} and ${with_.altitude(upperM)} in lift of ${with_.climb(rateMps)}: ${climbCount(climbs)}`,
  ];
  const whole = soaringOf({ ...task, legs });
  if (whole?.averageMps !== undefined)
    lines.push(`average over the ground ${with_.speed(whole.averageMps)}, climbs included`);
  if (whole?.lastGlide)
    lines.push(
      `the last glide begins ${lastGlideText(whole.lastGlide.leg, whole.lastGlide.afterM, whole.lastGlide.altitudeM, with_)}`,
    );
  return lines.join('\n\n');
}
