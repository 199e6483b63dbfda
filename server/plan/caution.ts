/** What every output that leaves the editor says: what it is made with, and what it does not replace. */
import { fromSi, unit } from '../../grammar/units.ts';
import { bestGlideRatio } from '../flight/index.ts';
import { number, type Show } from './show.ts';
import type { TaskEvaluation } from './task.ts';

/** In our own words, after the cautions that gliding handbooks give. */
export const CAUTION =
  'A planning aid: computed heights are a prediction, and sink, lift or wind off the forecast can spoil them. The flight manual, the instructor, local rules, the checks of airspace and notices, and eyes outside come first.';

/** How speeds and heights are to be read. */
export const READING =
  'Heights are altimeter heights on the QNH given. Speeds are indicated; position error and compressibility are left out.';

/** Where the polar comes from: `polar through 4 measured points (at most 0.05 kt off), for 310 kg`. */
export function polarSource(task: TaskEvaluation, with_: Show): string | undefined {
  const polar = task.aircraft?.meaning.polar;
  if (polar?.kind !== 'polar') return undefined;
  const best = with_.ratio(bestGlideRatio(polar.polar));
  const mass = with_.mass(polar.polar.massKg);
  if (polar.source === 'figures')
    return `polar from the handbook's best glide and minimum sink, for ${mass}, best ${best}`;
  const count = task.aircraft?.meaning.points.length ?? 0;
  const decimals = with_.units.climb.text === 'ft/min' ? 1 : with_.units.climb.text === 'm/s' ? 3 : 2;
  const off = number(fromSi(polar.residuals?.maxMps ?? 0, with_.units.climb), decimals);
  return `polar through ${count} measured points (at most ${off} ${with_.units.climb.text} off), for ${mass}, best ${best}`;
}

/** What a task is computed with, as short phrases: aircraft and mass, polar, share, QNH and temperature, wind. */
export function madeWith(task: TaskEvaluation, with_: Show): string[] {
  const phrases: string[] = [];
  const mass =
    task.massKg === undefined
      ? ''
      : ` at ${with_.mass(task.massKg)}${task.massAssumed ? " (the polar's own mass)" : ''}`;
  if (task.aircraft) phrases.push(`${task.aircraft.meaning.name}${mass}`);
  const cause = task.causes[0];
  if (cause) return [...phrases, `not computed, since ${cause.text}`];
  const polar = polarSource(task, with_);
  if (polar) phrases.push(polar);
  if (task.share !== undefined) phrases.push(`${number(task.share * 100)} % of the polar's glide ratio`);
  const deviation = task.air.deltaTK;
  const warmer =
    Math.abs(deviation) < 0.05
      ? 'standard temperature'
      : `${number(Math.abs(deviation), 1)} °C ${deviation > 0 ? 'warmer' : 'colder'} than standard`;
  phrases.push(`QNH ${fromSi(task.air.qnhPa, unit('hPa')).toFixed(0)} hPa, ${warmer}`);
  phrases.push(task.weather ? `the wind of ${task.weather.meaning.name}` : 'no wind');
  const sink = task.weather?.meaning.sinkMps?.value ?? 0;
  if (sink > 0) phrases.push(`air sinking at ${with_.climb(sink)}`);
  if (task.reserve) phrases.push(`reserve ${task.reserve.meaning.name}`);
  return phrases;
}
