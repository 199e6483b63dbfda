/** The numbers at a place of a flight: those of the budget, rounded on the safe side, and such that they add up. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { altitudeOn, groundAt, isEnd, type ReadoutItem, readout } from '../../client/view/readout.ts';
import { along, firstPlace, flownTo, lastPlace, legBeside, stepOf } from '../../client/view/steps.ts';
import { LEG_HEADS } from '../../server/plan/budget-rows.ts';
import { type Picture, pictureOf, reachAtPlace } from '../../server/plan/picture.ts';
import { understand } from '../../server/plan/understand.ts';
import { marked, sampleWorkspace } from '../features/marked.ts';
import { between } from '../flight/arbitraries.ts';

const { workspace } = sampleWorkspace();
const flights = [...workspace.files.values()].flatMap((file) => {
  const understood = understand(workspace, file);
  return understood.tasks.map((task) => ({ task, picture: pictureOf(workspace, understood, task) }));
});

const saidOf = (items: readonly ReadoutItem[], what: string): string | undefined =>
  items.find((item) => item.what === what)?.value;
const wholeOf = (text: string): number => Number(text.replace('−', '-').replace(/[+,]/g, '').split(' ')[0]);

/** Places of all samples: a leg, and how far along it. */
const anyPlace = fc
  .tuple(fc.nat({ max: flights.length - 1 }), fc.nat(20), between(0, 1))
  .map(([index, number, share]) => {
    const { task, picture } = flights[index] as (typeof flights)[number];
    const leg = picture.legs[number % Math.max(1, picture.legs.length)];
    return { task, picture, leg, xM: share * (leg?.distanceM ?? 0) };
  });

describe('the numbers at a place', () => {
  test('the margin is the difference of the heights shown, and no height is shown better than it is', () => {
    fc.assert(
      fc.property(anyPlace, ({ picture, leg, xM }) => {
        if (!leg || leg.notComputed || isEnd(leg, xM)) return;
        const items = readout(picture, { leg: leg.number, xM }, null);
        const margin = saidOf(items, 'margin here');
        if (margin === undefined) return;
        const planned = wholeOf(saidOf(items, 'planned') as string);
        const required = wholeOf(saidOf(items, 'required') as string);
        expect(wholeOf(margin)).toBe(planned - required);
        const feet = (metres: number | undefined) =>
          (metres as number) / (picture.units.altitude === 'ft' ? 0.3048 : 1);
        expect(planned).toBeLessThanOrEqual(feet(altitudeOn(leg.path, xM)) + 1e-5);
        expect(required).toBeGreaterThanOrEqual(feet(altitudeOn(leg.required, xM)) - 1e-5);
        expect(margin.includes('too low')).toBe(planned < required);
      }),
      { numRuns: 1000 },
    );
  });

  test("at a leg's end they are those of its row in the table", () => {
    for (const { picture } of flights) {
      for (const leg of picture.legs) {
        if (leg.distanceM === null || leg.marginM === null) continue;
        const items = readout(picture, { leg: leg.number, xM: leg.distanceM }, null);
        const cell = (head: (typeof LEG_HEADS)[number]) => leg.cells[LEG_HEADS.indexOf(head)];
        expect(saidOf(items, `over ${leg.to}`)).toBe(cell('over point'));
        expect(saidOf(items, 'asked there')).toBe(cell('asked'));
        expect(saidOf(items, 'margin')?.replace(', too low', '')).toBe(cell('margin'));
      }
    }
  });

  test('where the last glide of a leg begins, the height required is that of its row', () => {
    for (const { picture } of flights) {
      for (const leg of picture.legs) {
        const first = leg.required[0];
        if (!first || leg.notComputed) continue;
        const items = readout(picture, { leg: leg.number, xM: first.xM }, null);
        expect(saidOf(items, 'required')).toBe(`${leg.cells[LEG_HEADS.indexOf('required')]} MSL`);
      }
    }
  });

  test('a leg that is not computed says why, and shows no height', () => {
    const open = flights.flatMap(({ picture }) =>
      picture.legs.filter(({ notComputed }) => notComputed !== null).map((leg) => ({ picture, leg })),
    );
    expect(open.length).toBeGreaterThan(0);
    for (const { picture, leg } of open) {
      const items = readout(picture, { leg: leg.number, xM: 0 }, undefined);
      expect(items.map(({ what }) => what)).toEqual(['leg', 'to go', 'not computed']);
      expect(items.at(-1)?.isBad).toBe(true);
    }
  });

  test('the fields in reach are those of the plan', () => {
    const { task, picture } = flights.find((one) => one.picture.task === 'Three Bridges') as (typeof flights)[number];
    const reach = reachAtPlace(task, 1, 5000);
    const said = saidOf(readout(picture, { leg: 1, xM: 5000 }, reach), 'fields in reach');
    for (const { name } of reach?.fields.slice(0, 4) ?? []) expect(said).toContain(name);
    expect(saidOf(readout(picture, { leg: 1, xM: 5000 }, undefined), 'fields in reach')).toBe('…');
    expect(saidOf(readout(picture, { leg: 1, xM: 5000 }, null), 'fields in reach')).toBe('not known');
  });

  test('marks in a name that turn a line round are shown as such', () => {
    const name = 'Home\u202e';
    const { workspace: own, understood } = marked(
      `field "${name}"\n  position 52°00.0'N 1°00.0'W\n  elevation 100 m MSL\n\ntask T\n  start "${name}" at 1000 m MSL\n  finish "${name}"\n`,
    );
    const picture = pictureOf(own, understood, understood.tasks[0] as (typeof understood.tasks)[number]);
    const items = readout(picture, { leg: 1, xM: 0 }, null);
    expect(items.length).toBeGreaterThan(0);
    for (const { what, value } of items) expect(`${what} ${value}`).not.toMatch(/\u202e/);
  });

  test('the ground is the higher of the posts beside a place, and not known where one is not', () => {
    const { picture } = flights[0] as (typeof flights)[number];
    const leg = {
      ...(picture.legs[0] as Picture['legs'][number]),
      ground: [
        { xM: 0, highestM: 100 },
        { xM: 100, highestM: 300 },
        { xM: 200, highestM: null },
      ],
    };
    expect(groundAt(leg, 0)).toBe(100);
    expect(groundAt(leg, 40)).toBe(300);
    expect(groundAt(leg, 100)).toBe(300);
    expect(groundAt(leg, 150)).toBeNull();
    expect(groundAt(leg, 250)).toBeNull();
    expect(groundAt({ ...leg, ground: [] }, 0)).toBeNull();
  });
});

describe('going along a flight', () => {
  test('steps stop at both ends of every leg, and come to the finish and back', () => {
    for (const { picture } of flights) {
      if (picture.legs.length === 0 || picture.legs.some(({ distanceM }) => distanceM === null)) continue;
      const step = stepOf(picture);
      const seen = new Set<string>();
      let place = firstPlace(picture) as NonNullable<ReturnType<typeof firstPlace>>;
      for (let i = 0; i < 400; i++) {
        seen.add(`${place.leg} ${place.xM}`);
        place = along(picture, place, step);
      }
      expect(place).toEqual(lastPlace(picture));
      for (const { number, distanceM } of picture.legs) {
        expect(seen).toContain(`${number} 0`);
        expect(`${number} ${distanceM}`).toSatisfy(
          (end: string) => seen.has(end) || end === `${place.leg} ${place.xM}`,
        );
      }
      for (let i = 0; i < 400; i++) place = along(picture, place, -step);
      expect(place).toEqual(firstPlace(picture));
    }
  });

  test('a step is round in the units of the reader, and there are 30 to 150 along a task', () => {
    for (const { picture } of flights) {
      const whole = picture.legs.reduce((sum, { distanceM }) => sum + (distanceM ?? 0), 0);
      if (whole === 0) continue;
      const step = stepOf(picture);
      expect(whole / step).toBeGreaterThan(20);
      expect(whole / step).toBeLessThanOrEqual(60.001);
      // The nautical mile is 1852 m by definition (ISO 80000-3).
      const inUnits = step / (picture.units.distance === 'NM' ? 1852 : 1000);
      const digits = inUnits / 10 ** Math.floor(Math.log10(inUnits) + 1e-9);
      expect([1, 2, 5, 10].some((round) => Math.abs(round - digits) < 1e-6)).toBe(true);
    }
  });

  test('leg by leg; a place inside a leg goes back to its start first', () => {
    const { picture } = flights.find((one) => one.picture.legs.length === 3) as (typeof flights)[number];
    expect(legBeside(picture, { leg: 2, xM: 50 }, -1)).toEqual({ leg: 2, xM: 0 });
    expect(legBeside(picture, { leg: 2, xM: 0 }, -1)).toEqual({ leg: 1, xM: 0 });
    expect(legBeside(picture, { leg: 1, xM: 0 }, -1)).toEqual({ leg: 1, xM: 0 });
    expect(legBeside(picture, { leg: 3, xM: 9 }, 1)).toEqual({ leg: 3, xM: 9 });
    expect(flownTo(picture, { leg: 2, xM: 10 })).toBeCloseTo((picture.legs[0]?.distanceM ?? 0) + 10, 6);
  });
});
