import { unit } from '../../grammar/units.ts';
import type { LegEvaluation } from '../plan/task.ts';
import { eastTask, heightsApart, legName, legPlace, windLines } from './leg-words.ts';
import type { Rule } from './rule.ts';

/** As far from a wind as it may still be taken to blow. Common practice, no source: forecasts give a wind every 2,000 to 3,000 ft. */
const FAR_M = 2000 * unit('ft').factor;

const LOW = (more: string) => `weather "Low winds"
  date        2026-06-13
  qnh         1018 hPa
  temperature 24 °C at 190 m MSL
  wind        surface from 230° at 8 kt
  wind        2000 ft MSL from 240° at 12 kt
${more}`;

function heightsOf({ result, input, departAssumed }: LegEvaluation): number[] {
  if (!result) return [];
  const climbs = result.climbs.flatMap((climb) => [climb.fromAltitudeM, climb.toAltitudeM]);
  const end = result.problem
    ? [Math.max(result.altitudeM, input?.destination.elevationM ?? -Infinity)]
    : [Math.max(result.arriveAltitudeM, result.askedAltitudeM)];
  return [...(departAssumed ? [] : [result.departAltitudeM]), ...climbs, ...end];
}

/** A leg flown far above or below every wind that is given. */
export const windExtrapolated: Rule = {
  code: 'wind-extrapolated',
  severity: 'warning',
  title: 'A leg is flown far from the nearest wind that is given',
  page: {
    means:
      'A leg is flown more than 2,000 ft above the highest wind line of the weather, or below the lowest. There the wind of that line is taken to blow unchanged.',
    why: 'As a rule the wind grows with height, and turns. A glide that starts in wind nobody looked up may face a headwind twice as strong as planned, just where the glider spends the most time.',
    bad: eastTask({ weather: '"Low winds"' }, LOW('')),
    good: eastTask({ weather: '"Low winds"' }, LOW('  wind        6000 ft MSL from 255° at 20 kt\n')),
    turnDown:
      'Add a `wind` line for that height from the forecast. `severity` in the settings can make it an info or a hint, or turn it off.',
  },
  *task(context) {
    const { evaluation, show } = context;
    const lines = windLines(evaluation).toSorted((one, other) => one.altitudeM - other.altitudeM);
    const lowest = lines[0];
    const highest = lines.at(-1);
    if (!lowest || !highest) return;
    let worst: { leg: LegEvaluation; altitudeM: number; above: boolean; farM: number } | undefined;
    for (const leg of evaluation.legs) {
      for (const altitudeM of heightsOf(leg)) {
        const aboveM = altitudeM - highest.altitudeM;
        const farM = Math.max(aboveM, lowest.altitudeM - altitudeM);
        if (farM > FAR_M + 0.01 && farM > (worst?.farM ?? 0)) worst = { leg, altitudeM, above: aboveM > 0, farM };
      }
    }
    if (!worst) return;
    const { leg, altitudeM, above } = worst;
    const layer = above ? highest : lowest;
    const { greater, less, by, excess } = above
      ? heightsApart(altitudeM, layer.altitudeM, show)
      : heightsApart(layer.altitudeM, altitudeM, show);
    const [flown, given] = above ? [greater, less] : [less, greater];
    yield {
      at: legPlace(leg, context),
      message: `${legName(leg)} is flown ${by} ${above ? 'above the highest' : 'below the lowest'} wind given: ${above ? 'up' : 'down'} to ${flown} MSL, and that wind lies at ${given} MSL. It is taken to blow unchanged. Add a \`wind\` line nearer to ${flown} MSL.`,
      meets: above ? 'above' : 'below',
      excess,
      related: [
        { at: layer.at, message: `the ${above ? 'highest' : 'lowest'} wind of ${evaluation.weather?.meaning.name}` },
      ],
    };
  },
};
