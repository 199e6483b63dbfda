import {
  badgesOf,
  type Course,
  DIAMOND_M,
  FURTHER_M,
  FURTHER_STEP_M,
  GOLD_M,
  isNear,
  LEAST_LEG,
  LEAST_LEG_LONG,
  MOST_LEG_LONG,
  SILVER_M,
  type Silver,
} from '../plan/badges.ts';
import { number, type Show } from '../plan/show.ts';
import { eastTask, heightsApart, taskPlace } from './leg-words.ts';
import type { Rule } from './rule.ts';

const FAR = (place: string) => `field Faraway at ${place}\n  elevation 120 m\n`;

/** In km, in which the code is written; in the reader's unit beside it. */
function lengthText(metres: number, { units, distance }: Show): string {
  const km = `${number(metres / 1000, 1, 'down')} km`;
  return units.distance.text === 'km' ? km : `${km} (${distance(metres)})`;
}

const shortBy = (metres: number, wanted: number) =>
  `${number(wanted / 1000 - Math.floor(metres / 100 + 1e-6) / 10, 1)} km short of`;

const CHECK = 'Check the rule in force.';

function silverText({ toName, distanceM, lossM, mostLossM }: Silver, startName: string, show: Show): string {
  const lies = `${toName} lies ${lengthText(distanceM, show)} from ${startName}`;
  if (distanceM < SILVER_M)
    return `${lies}: ${shortBy(distanceM, SILVER_M)} the 50 km of the Silver distance (Sporting Code 3, 2018, 2.2.1a). Choose a point further out, if it is flown for that. ${CHECK}`;
  const meets = `${lies}, enough for the 50 km of the Silver distance (Sporting Code 3, 2018, 2.2.1a)`;
  const rule = '1 percent of the distance, 2.4.4b';
  if (lossM === undefined)
    return `${meets}; how much height it loses, of ${show.height(mostLossM, 'down')} at most (${rule}), is not known. ${CHECK}`;
  if (lossM <= mostLossM)
    return `${meets}, and loses ${show.height(lossM, 'up')} of height, ${show.height(mostLossM, 'down')} at most (${rule}). ${CHECK}`;
  const { greater, less, by } = heightsApart(lossM, mostLossM, show);
  return `${meets}, but loses ${by} too much height: ${greater}, and ${less} at most (${rule}). Start lower or arrive higher, if it is flown for that. ${CHECK}`;
}

const COURSES: Readonly<Record<Course['kind'], string>> = {
  straight: 'the straight course',
  'out-and-return': 'the out-and-return',
  triangle: 'the triangle',
  round: 'the closed course',
  free: 'the course',
};

function shapeText({ shape, lengthM }: Course): string {
  if (!shape) return '';
  const percent = (share: number, rounding: 'up' | 'down') => `${number(share * 100, 1, rounding)} %`;
  const long = lengthM >= FURTHER_M;
  const asked = long
    ? `${number(LEAST_LEG_LONG * 100)} to ${number(MOST_LEG_LONG * 100)} % asked of a record's`
    : `${number(LEAST_LEG * 100)} % asked of a record's`;
  const legs = long
    ? `its legs are ${percent(shape.least, 'down')} to ${percent(shape.most, 'up')} of it`
    : `its shortest leg is ${percent(shape.least, 'down')} of it`;
  return `${legs}, ${asked} (Sporting Code 3, 1999, 1.4.3d)`;
}

function courseText(course: Course, show: Show): string | undefined {
  const { kind, countedM, withZonesM, lengthM, turns, tooMany, tooNear } = course;
  const goal = kind === 'out-and-return' || kind === 'triangle';
  const badges: [number, string][] = [
    [GOLD_M, goal ? 'Gold distance and the Diamond goal' : 'Gold distance'],
    [DIAMOND_M, goal ? 'Diamond distance, and the Diamond goal' : 'Diamond distance'],
  ];
  for (let m = FURTHER_M; isNear(countedM, m); m += FURTHER_STEP_M) badges.push([m, 'badge for it']);
  const met = badges.findLast(([m]) => countedM >= m);
  const missed = badges.find(([m]) => countedM < m && isNear(countedM, m));
  const shape = shapeText(course);
  const name = COURSES[kind];
  if (!met && !missed)
    return shape === '' ? undefined : `${name} is ${lengthText(lengthM, show)} long: ${shape}. ${CHECK}`;
  const off: string[] = [];
  if (lengthM - withZonesM > 1)
    off.push(`${number((lengthM - withZonesM) / 1000, 1, 'up')} km less for its zones, 1.2.11`);
  if (withZonesM - countedM > 1)
    off.push(
      `${number((withZonesM - countedM) / 1000, 1, 'up')} km less for the height it loses beyond 1,000 m, 4.4.2a`,
    );
  const counts = `${name} counts ${lengthText(countedM, show)}${off.length > 0 ? ` (${off.join('; ')})` : ''}`;
  const source = 'FAI page of badges; Sporting Code 3, 1999';
  const parts: string[] = [];
  if (met) {
    const spoilt = tooMany
      ? `, but has ${turns} turn points, 3 at most (1.4.3c)`
      : tooNear
        ? `, but ${tooNear[0]} and ${tooNear[1]} lie less than 10 km apart (1.4.3c)`
        : '';
    parts.push(`enough for the ${number(met[0] / 1000)} km of the ${met[1]}${spoilt}`);
  }
  if (missed) parts.push(`${shortBy(countedM, missed[0])} the ${number(missed[0] / 1000)} km of the ${missed[1]}`);
  return `${counts}: ${parts.join('; ')} (${source})${shape === '' ? '' : `; ${shape}`}. ${CHECK}`;
}

/** A badge distance that a task meets or narrowly misses. */
export const badgeDistance: Rule = {
  code: 'badge-distance',
  severity: 'info',
  title: 'The task meets or narrowly misses a distance of the sporting code',
  page: {
    means:
      "A point of the task lies about 50 km and more from its start (Silver distance), or its course is about 300 km long and more (Gold distance, Diamond goal and distance, and the further badges), or its triangle narrowly misses the shape asked of a record's. From 90 % of a distance on it is told. Cylinders of turnpoints are taken off the course where it crosses them, and from 100 km on a loss of height beyond 1,000 m counts a hundredfold; below 100 km no more than 1 % of the distance may be lost, with a recorder of GPS height only 100 m less. The rules were read in the FAI's page of badges and in editions of 1999 and 2018 of the Sporting Code, Section 3; figures and paragraphs change, and the one in force is to be checked.",
    why: 'A flight for a badge is often lost on the ground: a turnpoint chosen 1 km too near, or a tow released 200 m too high. Both are seen in the plan.',
    bad: eastTask({ finish: 'Faraway', start: 'Larkfield at 9500 ft MSL' }, FAR('47.3105 N 20.1000 E')),
    good: eastTask({ finish: 'Faraway', start: 'Larkfield at 9500 ft MSL' }, FAR('47.3105 N 19.9000 E')),
    turnDown: '`severity` in the settings can make it a hint, or turn it off.',
  },
  *task(context) {
    const { evaluation, show } = context;
    const { course, silver } = badgesOf(evaluation);
    const text =
      (course && courseText(course, show)) ??
      (silver && silverText(silver, evaluation.start?.point?.meaning.name ?? 'the start', show));
    if (text) yield { at: taskPlace(context), message: text };
  },
};
