/**
 * The answers to what a pilot asks: at the answer the margin is nothing, a little further it is gone. What the reference
 * solver finds when the answer is written into the plan is in tests/reference.
 */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { answersSaid } from '../../server/features/what-if-words.ts';
import { evaluateLeg, windFrom } from '../../server/flight/index.ts';
import type { Units } from '../../server/plan/meaning.ts';
import { DEFAULT_UNITS, readerUnits, show } from '../../server/plan/show.ts';
import type { TaskEvaluation } from '../../server/plan/task.ts';
import { understand } from '../../server/plan/understand.ts';
import { whatIfLegs } from '../../server/plan/what-if.ts';
import {
  againstCourse,
  answersOf,
  fastestHome,
  headwindsOf,
  heightsOf,
  MOST_HEADWIND_MPS,
  makesItIn,
} from '../../server/plan/what-if-answers.ts';
import { sampleWorkspace } from '../features/marked.ts';
import { marginOf, taskOf } from './tasks-of.ts';

const with_ = show(DEFAULT_UNITS);

const POINTS = `field Larkfield at 47.2031 N 19.4410 E
  elevation 190 m
turnpoint Withy at 47.2530 N 19.5500 E
  elevation 140 m
turnpoint Corran at 47.1500 N 19.6000 E
  elevation 210 m
`;
/** The glider, and the day but for its wind. */
const FINCH = `aircraft Finch
  best glide 32:1 at 49 kt
  minimum sink 1.3 kt at 41 kt
  polar mass 300 kg
  empty mass 215 kg
  maximum mass 340 kg
  vs 36 kt
  vno 80 kt
  vne 120 kt
weather Day
  qnh 1018 hPa
  temperature 22 °C at 190 m MSL
`;

/** The glide gets to the second climb about as high as that leads: with another height, another speed is the best glide. */
const HARDLY_A_CLIMB = `${POINTS}${FINCH}  wind 400 m MSL from 329° at 2 kt
  wind 1600 m MSL from 174° at 13 kt
reserve Own
  arrive 300 m AGL
  turn 300 m AGL
  performance 66 %
  altimeter 30 m
task T
  aircraft Finch with pilot 82 kg
  weather Day
  reserve Own
  start Larkfield at 800 m MSL
  turn Withy
  climb to 2066 m MSL
  climb to 1900 m MSL after 3 km
  turn Corran
  finish Larkfield at 75 kt
`;

/** The climb on the way gains nothing, and with it another speed is the best glide than without. */
const NO_CLIMB = HARDLY_A_CLIMB.replace('329° at 2 kt', '0° at 0 kt')
  .replace('174° at 13 kt', '139° at 8 kt')
  .replace('66 %', '61 %')
  .replace('climb to 2066 m MSL', 'climb to 2196 m MSL')
  .replace('after 3 km', 'after 5 km')
  .replace(' at 75 kt', '');

/** Task text with what the answers depend on at random: heights, speeds and wind between known points. */
const anyTask = fc
  .record({
    start: fc.integer({ min: 800, max: 2600 }),
    tops: fc.array(fc.option(fc.integer({ min: 700, max: 2600 }), { nil: undefined }), { minLength: 3, maxLength: 3 }),
    speeds: fc.array(fc.constantFrom('', ' at best glide', ' at 60 kt', ' at 75 kt', ' at maccready 2 kt'), {
      minLength: 3,
      maxLength: 3,
    }),
    after: fc.option(fc.integer({ min: 1, max: 6 }), { nil: undefined }),
    winds: fc.array(fc.tuple(fc.integer({ min: 0, max: 359 }), fc.integer({ min: 0, max: 18 })), {
      minLength: 0,
      maxLength: 2,
    }),
    share: fc.integer({ min: 60, max: 100 }),
  })
  .map(({ start, tops, speeds, after, winds, share }) => {
    const climb = (i: number) => (tops[i] === undefined ? '' : `  climb to ${tops[i]} m MSL\n`);
    return `${POINTS}${FINCH}${winds.map(([from, speed], i) => `  wind ${400 + 1200 * i} m MSL from ${from}° at ${speed} kt\n`).join('')}reserve Own
  arrive 300 m AGL
  turn 300 m AGL
  performance ${share} %
  altimeter 30 m
task T
  aircraft Finch with pilot 82 kg
  weather Day
  reserve Own
  start Larkfield at ${start} m MSL
${climb(0)}  turn Withy${speeds[0]}
${climb(1)}${after === undefined ? '' : `  climb to 1900 m MSL after ${after} km\n`}  turn Corran${speeds[1]}
${climb(2)}  finish Larkfield${speeds[2]}
`;
  });

/** Units that a reader may have chosen. */
const anyUnits = fc
  .record({ speed: fc.constantFrom('kt', 'km/h', 'mph', 'm/s'), altitude: fc.constantFrom('ft', 'm') })
  .map((chosen) => readerUnits([{ chosen } as unknown as Units]));

const cases = { numRuns: 1000 };

describe('by trying the answers', () => {
  test('in the most headwind it makes it, in a little more not; in words it is rounded on the safe side', () => {
    fc.assert(
      fc.property(anyTask, anyUnits, (text, units) => {
        const task = taskOf(text);
        const answers = answersOf(task);
        const { headwinds } = answers;
        // Without more wind it is the flight that was evaluated.
        expect(makesItIn(task, null, 0)).toBe(task.legs.every((leg) => marginOf(leg) >= 0));
        const whole = headwinds.find(({ leg }) => leg === null);
        for (const { leg, moreMps, none } of headwinds) {
          if (moreMps === null) {
            if (none === 'no limit') expect(makesItIn(task, leg, MOST_HEADWIND_MPS)).toBe(true);
            if (none === 'short') expect(makesItIn(task, leg, 0)).toBe(false);
            continue;
          }
          // A margin of nothing may be a hair below: then no more wind is allowed, and that is the answer.
          if (moreMps > 0) expect(makesItIn(task, leg, moreMps)).toBe(true);
          expect(makesItIn(task, leg, moreMps + 0.001)).toBe(false);
        }
        // On all legs at once it is no more than on the worst alone, but for what a best glide with a climb on it gains.
        if (whole?.moreMps != null)
          for (const { leg, moreMps } of headwinds)
            if (leg !== null && moreMps !== null) expect(whole.moreMps).toBeLessThanOrEqual(moreMps + 0.02);
        if (whole?.none === 'short') expect(Math.min(...task.legs.map(marginOf))).toBeLessThan(0);

        const exact = new Map<string, number | null>();
        for (const { leg, moreMps } of headwinds) exact.set(`headwind ${leg}`, moreMps);
        for (const { leg, altitudeM } of answers.heights) exact.set(`height ${leg}`, altitudeM);
        for (const { kind, leg, value, text: words } of answersSaid(task, show(units), answers)) {
          const whole_ = exact.get(`${kind} ${leg}`) ?? Number.NaN;
          if (value === null) expect(words).toMatch(/^none/);
          else if (kind === 'headwind') {
            // Within a millionth of a unit a number is the whole one (`show.ts`).
            expect(value).toBeLessThanOrEqual(whole_ + 1e-6 * units.speed.factor);
            if (value > 0) expect(makesItIn(task, leg, Math.min(value, whole_))).toBe(true);
            expect(words).toContain(show(units).speed(value));
          } else if (kind === 'height') {
            expect(value).toBeGreaterThanOrEqual(whole_ - 1e-5);
            expect(words).toContain(show(units).altitude(value));
          } else {
            const last = task.legs[(leg as number) - 1];
            if (!last?.input) throw new Error('not computed');
            const result = evaluateLeg({ ...last.input, speed: { kind: 'indicated', indicatedMps: value } });
            expect(marginOf({ result })).toBeGreaterThanOrEqual(0);
            // The vno of the aircraft above.
            expect(value).toBeLessThanOrEqual(80 * (1852 / 3600) + 1e-9);
          }
        }
      }),
      cases,
    );
  }, 300_000);

  test('left at the lowest height, the legs up to the next climb make it, one of them with nothing left', () => {
    fc.assert(
      fc.property(anyTask, (text) => {
        const task = taskOf(text);
        for (const { leg, altitudeM, afterM, limit, none } of heightsOf(task)) {
          expect(none).toBeNull();
          const first = task.legs[leg - 1];
          if (altitudeM === null || !first?.input) continue;
          const last = first.result?.climbs.at(-1);
          const input =
            afterM === null || !last
              ? { ...first.input, climbs: [], departAltitudeM: altitudeM }
              : {
                  ...first.input,
                  climbs: first.input.climbs.map((climb) =>
                    climb.afterM === last.afterM && climb.toAltitudeM === last.toAltitudeM
                      ? { ...climb, toAltitudeM: altitudeM }
                      : climb,
                  ),
                };
          let result = evaluateLeg(input);
          let least = marginOf({ result });
          for (let i = leg; i < limit; i += 1) {
            const next = task.legs[i];
            if (!next?.input || result.problem) throw new Error('not computed');
            const climbs = next.result?.climbs ?? [];
            result = evaluateLeg({ ...next.input, climbs, departAltitudeM: result.arriveAltitudeM });
            least = Math.min(least, marginOf({ result }));
          }
          expect(least).toBeGreaterThan(-0.01);
          // Where the glide gets to a climb about as high as that leads, it may lead down, or another speed may be best.
          const climbed = afterM === null ? undefined : evaluateLeg(input).climbs.at(-1);
          if (afterM === null || (climbed && altitudeM - climbed.fromAltitudeM > 30)) expect(least).toBeLessThan(0.01);
        }
      }),
      { ...cases, examples: [[HARDLY_A_CLIMB], [NO_CLIMB]] },
    );
  }, 300_000);
});

/** The day and the points of a task; legs of about 9.9, 12.1 and 13.5 km. */
const DAY = `${POINTS}turnpoint Hollow at 47.1500 N 19.5870 E
  elevation 0 m
${FINCH}  wind 400 m MSL from 250° at 8 kt
  wind 1600 m MSL from 270° at 15 kt
  lift 3 kt to 2600 m MSL
reserve Own
  arrive 300 m AGL
  turn 250 m AGL
  performance 80 %
  altimeter 30 m
task T
  aircraft Finch with pilot 82 kg
  weather Day
  reserve Own
`;

/** What the evaluation of a leg says of the legs flown one after the other in so much more wind: the least margin. */
function flownIn({ legs }: TaskEvaluation, which: number | null, moreMps: number): { marginM: number; leg: number } {
  const from = (which ?? 1) - 1;
  let least = { marginM: Number.POSITIVE_INFINITY, leg: 0 };
  let departAltitudeM = legs[from]?.input?.departAltitudeM ?? Number.NaN;
  for (const [i, { input, result, climbs, number }] of legs.entries()) {
    if (i < from) continue;
    if (!input || !result) throw new Error('not computed');
    if (i > from) {
      // A climb over the point that is written gives at least its height.
      for (const { afterM, toAltitudeM } of climbs)
        if (afterM === undefined) departAltitudeM = Math.max(departAltitudeM, toAltitudeM);
      // Nothing else differs from the plan behind here.
      if (which !== null && departAltitudeM === input.departAltitudeM) break;
    }
    const { setting } = input;
    const more = windFrom(result.courseDeg, which === null || i === from ? moreMps : 0);
    const bands = setting.wind.bands.map((band) => ({ ...band, u: band.u + more.u, v: band.v + more.v }));
    const flown = evaluateLeg({ ...input, departAltitudeM, setting: { ...setting, wind: { bands } } });
    const counts = which === null || i === from || marginOf({ result }) >= 0;
    const marginM = marginOf({ result: flown });
    if (counts && marginM < least.marginM) least = { marginM, leg: number };
    if (flown.problem) break;
    // Behind a leg that does not get there the next starts at the height asked.
    departAltitudeM =
      flown.arriveAltitudeM >= input.destination.elevationM ? flown.arriveAltitudeM : flown.askedAltitudeM;
  }
  return least;
}

const ITINERARIES = [
  ['best glides', '  start Larkfield at 2000 m MSL\n  turn Withy\n  turn Corran\n  finish Larkfield\n'],
  [
    'speeds that are written',
    '  start Larkfield at 2400 m MSL\n  turn Withy at 60 kt\n  turn Corran at 55 kt\n  finish Larkfield at 65 kt\n',
  ],
  [
    'speeds to fly for a climb',
    '  start Larkfield at 2400 m MSL\n  turn Withy at maccready 1 kt\n  turn Corran at maccready 2 kt\n  finish Larkfield at maccready 0 kt\n',
  ],
  [
    'climbs on the way, one of them beyond the leg',
    '  start Larkfield at 1200 m MSL\n  climb to 1300 m MSL after 6 km\n  climb to 1500 m MSL after 3 km\n  climb to 9000 m MSL after 30 km\n  turn Withy at 60 kt\n  climb to 1300 m MSL after 0 km\n  turn Corran at 60 kt\n  climb to 1500 m MSL after 7 km\n  finish Larkfield\n',
  ],
  [
    'climbs over the points',
    '  start Larkfield at 1100 m MSL\n  climb to 1300 m MSL\n  turn Withy\n  climb to 800 m MSL\n  turn Corran at 60 kt\n  climb to 1000 m MSL\n  climb to 1300 m MSL\n  climb to 1100 m MSL\n  climb to 1350 m MSL after 2 km\n  finish Larkfield\n',
  ],
  [
    'a climb on the way and none over the point',
    '  start Larkfield at 1500 m MSL\n  turn Withy at 60 kt\n  climb to 1900 m MSL after 2 km\n  turn Corran at 60 kt\n  finish Larkfield at 60 kt\n',
  ],
  [
    'a climb beyond a leg, which nobody makes',
    '  start Larkfield at 2000 m MSL\n  turn Withy\n  climb to 9000 m MSL after 30 km\n  turn Corran\n  finish Larkfield\n',
  ],
  [
    'a leg that comes to the ground, so that the next starts at the height asked',
    '  start Larkfield at 1300 m MSL\n  turn Withy at 60 kt\n  turn Corran at 60 kt\n  turn Hollow at 60 kt\n',
  ],
  [
    'a leg that is short as it is',
    '  start Larkfield at 1300 m MSL\n  turn Withy\n  turn Corran\n  climb to 1500 m MSL\n  finish Larkfield\n',
  ],
] as const;

describe('by flying every leg again', () => {
  test.each(ITINERARIES)('%s: what makes it, and which leg gives out first', (_, itinerary) => {
    const task = taskOf(DAY + itinerary);
    const headwinds = headwindsOf(task);
    expect(headwinds.map(({ leg }) => leg)).toEqual([null, 1, 2, 3]);
    for (const { leg, moreMps, limit, none } of headwinds) {
      for (let wind = 0; wind <= 28; wind += 2)
        expect([leg, wind, makesItIn(task, leg, wind)]).toEqual([leg, wind, flownIn(task, leg, wind).marginM >= 0]);
      if (none !== null) {
        expect([leg, none, moreMps]).toEqual([leg, 'short', null]);
        const own = leg === null ? task.legs : task.legs.filter(({ number }) => number === leg);
        expect(limit).toBe(own.find((one) => marginOf(one) < 0)?.number);
        continue;
      }
      if (moreMps === null) throw new Error('no answer');
      expect(flownIn(task, leg, moreMps).marginM).toBeGreaterThanOrEqual(0);
      const beyond = flownIn(task, leg, moreMps + 0.0003);
      expect(beyond.marginM).toBeLessThan(0);
      expect(limit).toBe(beyond.leg);
    }
  });

  test('a leg that loses its headway gives out, however much height it has', () => {
    // From the north, ahead on the first leg and behind on the second; to a field 500 m away, above or below the sea.
    for (const [elevation, speed] of [
      ['190 m', ''],
      ['190 m', ' at 119 kt'],
      ['-400 m', ' at 100 kt'],
    ]) {
      const task = taskOf(
        `field Near at 47.2076 N 19.4410 E\n  elevation ${elevation}\n${DAY.replace(/from 2[57]0° at \d+ kt/g, 'from 360° at 60 kt')}  start Larkfield at 3000 m MSL\n  turn Near${speed}\n  turn Larkfield\n`,
      );
      for (const leg of [null, 1])
        for (let wind = 0; wind <= MOST_HEADWIND_MPS; wind += 5)
          expect([wind, makesItIn(task, leg, wind)]).toEqual([wind, flownIn(task, leg, wind).marginM >= 0]);
      const [whole, first] = headwindsOf(task);
      for (const { leg, moreMps, limit, none } of [whole, first].flatMap((one) => one ?? [])) {
        expect([limit, none]).toEqual([1, null]);
        expect(flownIn(task, leg, moreMps ?? Number.NaN).marginM).toBeGreaterThan(1000);
        expect(flownIn(task, leg, (moreMps ?? Number.NaN) + 0.0003)).toEqual({
          marginM: Number.NEGATIVE_INFINITY,
          leg: 1,
        });
      }
    }
  });

  test('some legs give out on a later one, and some lose their headway first', () => {
    const limits = ITINERARIES.flatMap(([, itinerary]) =>
      headwindsOf(taskOf(DAY + itinerary)).filter(({ leg, limit }) => leg !== null && limit !== leg),
    );
    expect(limits.length).toBeGreaterThan(2);
  });

  test('more wind against a course comes from where the course leads, at every height', () => {
    const { input } = taskOf(DAY + ITINERARIES[0][1]).legs[0] ?? {};
    if (!input) throw new Error('not computed');
    const { wind } = input.setting;
    // From the east it blows to the west: u, counted to the east, is less; v, counted to the north, the same.
    const east = againstCourse(wind, 90, 10);
    expect(east.bands).toHaveLength(wind.bands.length);
    for (const [i, band] of east.bands.entries()) {
      expect(band.u - (wind.bands[i]?.u ?? 0)).toBeCloseTo(-10, 9);
      expect(band.v - (wind.bands[i]?.v ?? 0)).toBeCloseTo(0, 9);
      expect({ ...band, u: 0, v: 0 }).toEqual({ ...wind.bands[i], u: 0, v: 0 });
    }
    for (const [i, band] of againstCourse(wind, 0, 10).bands.entries())
      expect(band.v - (wind.bands[i]?.v ?? 0)).toBeCloseTo(-10, 9);
  });

  test('a task of one leg is asked once', () => {
    const task = taskOf(`${DAY}  start Larkfield at 1500 m MSL\n  finish Corran at 60 kt\n`);
    const [one, ...more] = headwindsOf(task);
    expect(more).toEqual([]);
    expect(one).toMatchObject({ leg: 1, limit: 1, none: null });
    expect(flownIn(task, 1, one?.moreMps ?? Number.NaN).marginM).toBeCloseTo(0, 1);
  });
});

describe('the lowest height to leave each point', () => {
  const heights = (itinerary: string) => {
    const task = taskOf(DAY + itinerary);
    const results = task.legs.map(({ result }) => result);
    return { heights: heightsOf(task), results, legs: task.legs };
  };

  test('is what the leg needs for its own point, or for those behind it up to the next climb', () => {
    const { heights: found, results } = heights(ITINERARIES[1][1]);
    // The finish asks 300 m and the points 250 m: with 13.5 km to go the last leg asks the most of all before it.
    expect(found).toStrictEqual([
      {
        leg: 1,
        from: 'Larkfield',
        afterM: null,
        altitudeM: expect.any(Number),
        plannedM: 2400,
        limit: 3,
        none: null,
      },
      {
        leg: 2,
        from: 'Withy',
        afterM: null,
        altitudeM: expect.any(Number),
        plannedM: results[1]?.departAltitudeM,
        limit: 3,
        none: null,
      },
      {
        leg: 3,
        from: 'Corran',
        afterM: null,
        altitudeM: expect.closeTo(results[2]?.requiredDepartAltitudeM ?? Number.NaN, 1),
        plannedM: results[2]?.departAltitudeM,
        limit: 3,
        none: null,
      },
    ]);
    // Each is what is asked at the end of the leg before: with that much less, nothing is left at the finish.
    const { legs } = heights(ITINERARIES[1][1].replace('2400 m', `${found[0]?.altitudeM?.toFixed(6)} m`));
    for (const [i, { result }] of legs.entries()) {
      if (!result || result.problem) throw new Error('not flown');
      expect(result.departAltitudeM).toBeCloseTo(found[i]?.altitudeM ?? Number.NaN, 1);
      if (i === 2) expect(result.marginM).toBeCloseTo(0, 1);
      else expect(result.marginM).toBeGreaterThan(100);
    }
  });

  test('ends with a climb over the point that gives the height, and goes on where it gives too little', () => {
    const between = (climb: string, start = 2400) =>
      heights(
        `  start Larkfield at ${start} m MSL\n  turn Withy at 60 kt\n${climb}  turn Corran at 60 kt\n  finish Larkfield at 60 kt\n`,
      );
    const free = between('').heights;
    const need = free[1]?.altitudeM ?? Number.NaN;
    const own = between('  climb to 2000 m MSL\n');
    // The first leg needs its own height alone, and the climb is left at what the legs behind it need.
    expect(own.heights.map(({ limit }) => limit)).toEqual([1, 3, 3]);
    expect(own.heights[0]?.altitudeM).toBeCloseTo(own.results[0]?.requiredDepartAltitudeM ?? Number.NaN, 1);
    expect(own.heights[1]).toMatchObject({ afterM: null, altitudeM: need, plannedM: own.results[1]?.departAltitudeM });
    // As high as it arrives, a climb gives nothing: the height has to be brought.
    const low = between('  climb to 900 m MSL\n');
    expect(low.results[1]?.departAltitudeM).toBeGreaterThan(900);
    expect(low.heights.map(({ limit }) => limit)).toEqual([3, 3, 3]);
    expect(low.heights[0]?.altitudeM).toBe(free[0]?.altitudeM);
    // Higher than it arrives, and less than is needed: more cannot be brought, since the climb decides.
    const less = between(`  climb to ${(need - 50).toFixed(0)} m MSL\n`, 1300);
    expect(less.heights.map(({ limit }) => limit)).toEqual([1, 3, 3]);
    expect(less.heights[1]?.altitudeM).toBe(need);
    // Just as much as is needed, from below or from above.
    for (const start of [1300, 2400]) expect(between(`  climb to ${need} m MSL\n`, start).heights[0]?.limit).toBe(1);
  });

  test('is no less than the point at the end of the leg asks', () => {
    // Hollow lies a kilometre behind Corran, 210 m below it.
    const { heights: found, results } = heights(
      '  start Larkfield at 2000 m MSL\n  turn Corran at 60 kt\n  turn Hollow at 60 kt\n',
    );
    expect(found.map(({ limit }) => limit)).toEqual([1, 2]);
    for (const [i, { altitudeM }] of found.entries())
      expect(altitudeM).toBeCloseTo(results[i]?.requiredDepartAltitudeM ?? Number.NaN, 1);
    expect(found[1]?.altitudeM).toBeLessThan((results[0]?.askedAltitudeM ?? 0) - 100);
  });

  test('of a leg that makes no headway from where it starts may be one from which it does', () => {
    // 90 kt from ahead at 2,500 m, none below 1,000 m.
    const shear = DAY.replace('400 m MSL from 250° at 8 kt', '1000 m MSL from 060° at 0 kt').replace(
      '1600 m MSL from 270° at 15 kt',
      '2500 m MSL from 060° at 90 kt',
    );
    const limits = (climb: string) => {
      const task = taskOf(
        `${shear}  start Larkfield at 3000 m MSL\n  turn Withy at 60 kt\n${climb}  turn Corran at 60 kt\n`,
      );
      expect(task.legs[0]?.result?.problem).toBe('no-headway');
      return heightsOf(task).map(({ limit, none }) => [limit, none]);
    };
    // What the second leg needs is brought by the first, but where a climb decides.
    expect(limits('')).toEqual([
      [2, null],
      [2, null],
    ]);
    expect(limits('  climb to 600 m MSL\n')).toEqual([
      [1, null],
      [2, null],
    ]);
  });

  test('is that behind the last climb of a leg, which the leg before need not bring', () => {
    const { heights: found, results } = heights(
      '  start Larkfield at 1500 m MSL\n  turn Withy at 60 kt\n  climb to 1300 m MSL after 2 km\n  climb to 1900 m MSL after 4 km\n  turn Corran at 60 kt\n  finish Larkfield at 60 kt\n',
    );
    expect(found.map(({ afterM, limit, none }) => [afterM, limit, none])).toEqual([
      [null, 1, null],
      [4000, 3, null],
      [null, 3, null],
    ]);
    expect(found[1]?.plannedM).toBe(1900);
    expect(found[0]?.altitudeM).toBeCloseTo(results[0]?.requiredDepartAltitudeM ?? Number.NaN, 1);
    // A climb that would lead down is none.
    const down = heights(
      '  start Larkfield at 1500 m MSL\n  climb to 400 m MSL after 4 km\n  turn Withy at 60 kt\n  finish Larkfield at 60 kt\n',
    );
    expect(down.heights[0]).toMatchObject({ afterM: null, plannedM: 1500 });
    const without = heights('  start Larkfield at 1500 m MSL\n  turn Withy at 60 kt\n  finish Larkfield at 60 kt\n');
    const plain = (of: typeof down) => of.heights.map((one) => [one.afterM, one.limit, one.altitudeM?.toFixed(6)]);
    expect(plain(down)).toEqual(plain(without));
  });

  test('a leg behind one that lost its headway asks nothing of it', () => {
    const { heights: found, results } = heights(
      '  start Larkfield at 1500 m MSL\n  turn Withy\n  turn Corran\n  finish Larkfield\n'.replace(
        'turn Corran',
        'turn Nowhere',
      ),
    );
    expect(found.map(({ none, limit, altitudeM, afterM }) => [none, limit, altitudeM === null, afterM])).toEqual([
      [null, 1, false, null],
      ['not computed', 2, true, null],
      ['not computed', 3, true, null],
    ]);
    expect(found[0]?.altitudeM).toBeCloseTo(results[0]?.requiredDepartAltitudeM ?? Number.NaN, 1);
    expect(found[1]).toStrictEqual({
      leg: 2,
      from: 'Withy',
      afterM: null,
      altitudeM: null,
      plannedM: null,
      limit: 2,
      none: 'not computed',
    });
  });
});

/** A task of which something is known otherwise, to meet a bound exactly. */
describe('at a bound itself', () => {
  const [, itinerary] = ITINERARIES[1];
  const made = taskOf(DAY + itinerary);
  const flown = made.legs.map(({ result }) => {
    if (!result || result.problem) throw new Error('not flown');
    return result;
  });
  /** The legs with other heights asked, m above the sea. */
  const asking = (...asked: number[]): TaskEvaluation => ({
    ...made,
    legs: made.legs.map((leg, i) => ({
      ...leg,
      result: { ...(flown[i] as (typeof flown)[number]), askedAltitudeM: asked[i] ?? 0, marginM: 0 },
    })),
  });
  const arrived = flown.map(({ arriveAltitudeM }) => arriveAltitudeM);

  test('a margin of nothing makes it', () => {
    const task = asking(...arrived);
    for (const leg of [null, 1, 2, 3]) expect(makesItIn(task, leg, 0)).toBe(true);
    for (const leg of [null, 1, 2, 3]) expect(makesItIn(task, leg, 0.01)).toBe(false);
    for (const { moreMps, none } of headwindsOf(task)) {
      expect(none).toBeNull();
      expect(moreMps).toBeCloseTo(0, 3);
    }
  });

  test('a margin of nothing in the most wind that is flown in is no limit', () => {
    const task = taskOf(
      `field Near at 47.2076 N 19.4410 E\n  elevation 190 m\n${DAY}  start Larkfield at 3000 m MSL\n  turn Near at 119 kt\n`,
    );
    const { input, result } = task.legs[0] ?? {};
    if (!input || !result) throw new Error('not computed');
    const wind = againstCourse(input.setting.wind, result.courseDeg, MOST_HEADWIND_MPS);
    const most = evaluateLeg({ ...input, setting: { ...input.setting, wind } });
    if (most.problem) throw new Error('no headway');
    const asked = (askedAltitudeM: number) =>
      headwindsOf({
        ...task,
        legs: task.legs.map((leg) => ({ ...leg, result: { ...result, askedAltitudeM } as typeof result })),
      })[0];
    expect(asked(most.arriveAltitudeM)).toMatchObject({ none: 'no limit' });
    expect(asked(most.arriveAltitudeM + 0.1)).toMatchObject({ none: null });
  });

  test('a climb at the very end of a leg is not on it', () => {
    const task = asking(...arrived);
    const at = (more: number): TaskEvaluation => ({
      ...task,
      legs: task.legs.map((leg) => ({
        ...leg,
        input: leg.input && {
          ...leg.input,
          climbs: [{ afterM: leg.input.setting.track.distanceM + more, toAltitudeM: 9000 }],
        },
      })),
    });
    for (const leg of [null, 1, 2, 3]) {
      expect(makesItIn(at(0), leg, 0.01)).toBe(false);
      expect(makesItIn(at(-1), leg, 0.01)).toBe(true);
    }
  });

  test('at the height of the point itself a leg is there, and the next starts from it', () => {
    const [first = 0, second = 0, third = 0] = arrived;
    const task = asking(first - 200, second - 1, third - 1);
    const standing = (elevationM: number): TaskEvaluation => ({
      ...task,
      legs: task.legs.map((leg, i) => ({
        ...leg,
        input:
          leg.input && i === 0 ? { ...leg.input, destination: { ...leg.input.destination, elevationM } } : leg.input,
      })),
    });
    expect(makesItIn(standing(first), null, 0)).toBe(true);
    // A little below it, it starts at the height asked, which is less here.
    expect(makesItIn(standing(first + 0.001), null, 0)).toBe(false);
  });

  test('a point that asks just what the leg behind it needs decides itself', () => {
    const need = heightsOf(made)[1]?.altitudeM ?? Number.NaN;
    const limits = (asked: number) =>
      heightsOf(asking(asked, flown[1]?.askedAltitudeM ?? 0, flown[2]?.askedAltitudeM ?? 0)).map(({ limit }) => limit);
    expect(limits(need)).toEqual([1, 3, 3]);
    expect(limits(need - 0.001)).toEqual([3, 3, 3]);
  });
});

describe('no answer', () => {
  const STORM = DAY.replace('from 250° at 8 kt', 'from 250° at 95 kt').replace(
    'from 270° at 15 kt',
    'from 250° at 95 kt',
  );
  const stormy = () => taskOf(`${STORM}  start Larkfield at 2000 m MSL\n  turn Withy\n  finish Larkfield at 60 kt\n`);

  test('where a leg makes no headway', () => {
    const task = stormy();
    expect(task.legs.map(({ result }) => result?.problem)).toEqual([null, 'no-headway']);
    const [whole, first, second, ...more] = headwindsOf(task);
    expect(more).toEqual([]);
    expect(whole).toStrictEqual({ leg: null, moreMps: null, limit: 2, none: 'no headway' });
    // 97 kt more against the 95 kt from behind are all but calm.
    expect(first).toStrictEqual({ leg: 1, moreMps: null, limit: null, none: 'no limit' });
    expect(second).toStrictEqual({ leg: 2, moreMps: null, limit: 2, none: 'no headway' });
    expect(heightsOf(task)[1]).toStrictEqual({
      leg: 2,
      from: 'Withy',
      afterM: null,
      altitudeM: null,
      plannedM: task.legs[1]?.result?.departAltitudeM,
      limit: 2,
      none: 'no headway',
    });
    expect(heightsOf(task)[0]).toMatchObject({ leg: 1, limit: 1, none: null });
    expect(fastestHome(task)).toStrictEqual({
      leg: 2,
      to: 'Larkfield',
      indicatedMps: null,
      capped: null,
      marginM: null,
      none: 'no headway',
    });
    expect([makesItIn(task, null, 0), makesItIn(task, 2, 0), makesItIn(task, 1, 0)]).toEqual([false, false, true]);
  });

  test('where a leg is not computed, on all legs at once, on it and on what it needs', () => {
    const task = taskOf(`${DAY}  start Larkfield at 2000 m MSL\n  turn Withy\n  turn Nowhere\n  finish Larkfield\n`);
    const [whole, first, second, third] = headwindsOf(task);
    expect(whole).toStrictEqual({ leg: null, moreMps: null, limit: 2, none: 'not computed' });
    expect(first).toMatchObject({ leg: 1, limit: 1, none: null });
    expect(second).toStrictEqual({ leg: 2, moreMps: null, limit: 2, none: 'not computed' });
    expect(third).toStrictEqual({ leg: 3, moreMps: null, limit: 3, none: 'not computed' });
    expect(fastestHome(task)).toMatchObject({ leg: 3, to: 'Larkfield', indicatedMps: null, none: 'not computed' });
    expect([null, 1, 2, 3, 4].map((leg) => makesItIn(task, leg, 0))).toEqual([false, true, false, false, false]);
  });

  test('where a leg is soared', () => {
    const task = taskOf(
      `${DAY}  start Larkfield at 1500 m MSL\n  turn Withy at 60 kt\n  climb to 1500 m MSL\n  soar between 1200 m MSL and 1600 m MSL\n  turn Corran\n  finish Larkfield\n`,
    );
    expect(task.legs.map(({ soar }) => soar !== undefined)).toEqual([false, true, true]);
    const [whole, first, second] = headwindsOf(task);
    expect(whole).toStrictEqual({ leg: null, moreMps: null, limit: 2, none: 'soared' });
    expect(first).toMatchObject({ none: null, limit: 1 });
    expect(second).toStrictEqual({ leg: 2, moreMps: null, limit: 2, none: 'soared' });
    expect(heightsOf(task).map(({ none, limit }) => [none, limit])).toEqual([
      [null, 1],
      ['soared', 2],
      ['soared', 3],
    ]);
    expect(fastestHome(task)).toMatchObject({ leg: 3, none: 'soared' });
    expect([null, 1, 2].map((leg) => makesItIn(task, leg, 0))).toEqual([false, true, false]);
  });

  test('where a leg arrives too low as it is, by more than the glide is computed closely', () => {
    const task = taskOf(`${DAY}  start Larkfield at 1500 m MSL\n  turn Withy\n  finish Larkfield at 60 kt\n`);
    const [first] = task.legs;
    const { result } = first ?? {};
    if (!first || !result || result.problem) throw new Error('not flown');
    const low = (marginM: number) => ({ ...task, legs: [{ ...first, result: { ...result, marginM } }] });
    expect([-1, -0.0011, -0.001, 0].map((marginM) => headwindsOf(low(marginM))[0]?.none)).toEqual([
      'short',
      'short',
      null,
      null,
    ]);
    expect(headwindsOf(low(-1))[0]).toStrictEqual({ leg: 1, moreMps: null, limit: 1, none: 'short' });
    const home = taskOf(`${DAY}  start Larkfield at 500 m MSL\n  finish Corran\n`);
    expect(fastestHome(home)).toStrictEqual({
      leg: 1,
      to: 'Corran',
      indicatedMps: null,
      capped: null,
      marginM: null,
      none: 'short',
    });
  });

  test('where no wind that is flown in stops a leg', () => {
    // 115 kt against 97 kt more: half a kilometre from 3,000 m.
    const task = taskOf(
      `field Near at 47.2076 N 19.4410 E\n  elevation 190 m\n${DAY}  start Larkfield at 3000 m MSL\n  turn Near at 119 kt\n  turn Larkfield at 119 kt\n`,
    );
    expect(flownIn(task, 1, MOST_HEADWIND_MPS).marginM).toBeGreaterThan(0);
    expect(headwindsOf(task)).toStrictEqual([
      { leg: null, moreMps: null, limit: null, none: 'no limit' },
      { leg: 1, moreMps: null, limit: null, none: 'no limit' },
      { leg: 2, moreMps: null, limit: null, none: 'no limit' },
    ]);
    // One leg without a limit does not stand in the way of the others.
    const two = taskOf(
      `field Near at 47.2076 N 19.4410 E\n  elevation 190 m\n${DAY}  start Larkfield at 3000 m MSL\n  turn Near at 119 kt\n  climb to 1600 m MSL\n  finish Corran at 60 kt\n`,
    );
    const [whole, first, second] = headwindsOf(two);
    expect(first).toMatchObject({ none: 'no limit' });
    expect(second).toMatchObject({ none: null, limit: 2 });
    expect(whole).toMatchObject({ none: null, limit: 2 });
  });

  test('for a task without legs', () => {
    const task = taskOf(`${DAY}  start Larkfield at 3000 m MSL\n`);
    expect(answersOf(task)).toStrictEqual({ headwinds: [], heights: [], fastest: null });
    expect(makesItIn(task, 1, 0)).toBe(false);
    expect(makesItIn(task, null, 0)).toBe(true);
  });
});

describe('the fastest home', () => {
  const fastest = (start: string, limits = '', rest = '  finish Corran\n') =>
    fastestHome(
      taskOf(
        `${DAY.replace(/ {2}vno 80 kt\n {2}vne 120 kt\n/, limits || '  vno 80 kt\n  vne 120 kt\n')}  start Larkfield at ${start}\n${rest}`,
      ),
    );
  const KT = 1852 / 3600;

  test('is the limit of the aircraft, with a margin left, or the speed at which none is', () => {
    expect(fastest('3000 m MSL')).toStrictEqual({
      leg: 1,
      to: 'Corran',
      indicatedMps: 80 * KT,
      capped: 'vno',
      marginM: expect.any(Number),
      none: null,
    });
    expect(fastest('3000 m MSL')?.marginM).toBeGreaterThan(500);
    expect(fastest('3000 m MSL', '  vne 90 kt\n')).toMatchObject({ indicatedMps: 90 * KT, capped: 'vne' });
    expect(fastest('3000 m MSL', '  vno 90 kt\n  vne 90 kt\n')).toMatchObject({ indicatedMps: 90 * KT, capped: 'vno' });
    expect(fastest('3000 m MSL', '  vno 100 kt\n  vne 90 kt\n')).toMatchObject({ capped: 'vne' });
    const free = fastest('1100 m MSL');
    expect(free).toMatchObject({ leg: 1, capped: null, none: null, marginM: expect.closeTo(0, 1) });
    expect(free?.indicatedMps).toBeLessThan(80 * KT);
    const limited = fastest('1100 m MSL', '  vne 120 kt\n');
    expect(limited).toMatchObject({ capped: null, indicatedMps: expect.closeTo(free?.indicatedMps ?? 0, 2) });
  });

  test('is that of the finish, or of the last leg where there is none', () => {
    const { indicatedMps: _, ...finish } =
      fastest('3000 m MSL', '', '  turn Withy\n  finish Corran\n  turn Larkfield\n') ?? {};
    expect(finish).toMatchObject({ leg: 2, to: 'Corran' });
    expect(fastest('3000 m MSL', '', '  turn Withy\n  turn Larkfield\n  turn Corran\n')).toMatchObject({
      leg: 3,
      to: 'Corran',
    });
  });
});

describe('none, in words', () => {
  const samples = sampleWorkspace().workspace;
  const sample = (file: string) => {
    const found = [...samples.files.values()].find(({ uri }) => uri.endsWith(`/${file}.taskplan`));
    if (!found) throw new Error(`no ${file}`);
    return understand(samples, found).tasks;
  };

  test('a leg that is short as it is, one that is soared, one that is not computed', () => {
    const short = answersSaid(sample('leg-home')[0] as TaskEvaluation, with_);
    expect(short.find(({ kind, leg }) => kind === 'headwind' && leg === null)?.text).toBe(
      'none: leg 4 to Larkfield arrives too low as it is (margin −320 ft)',
    );
    const soared = sample('soaring').flatMap((task) => answersSaid(task, with_));
    expect(
      soared.some(({ text }) => /^none: leg \d+ to .* is soared, so it climbs as often as it must$/.test(text)),
    ).toBe(true);
    const broken = answersSaid(taskOf('task T\n  start A at 3000 ft MSL\n  finish B\n'), with_);
    expect(broken.map(({ text }) => text)).toEqual(
      Array(3).fill('none: leg 1 to B is not computed, since the task names no aircraft'),
    );
    expect(answersSaid(taskOf('task T\n'), with_)).toEqual([]);
  });

  test('every sample is answered', () => {
    for (const file of samples.files.values()) {
      for (const task of understand(samples, file).tasks) {
        for (const { question, text } of answersSaid(task, with_)) {
          expect(question).not.toBe('');
          expect(text).not.toMatch(/NaN|undefined|Infinity/);
        }
        for (const leg of whatIfLegs(task.legs, task.legs, with_)) expect(leg.change).toBe('no change');
      }
    }
  });
});
