/** The wind on the runways of a field. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { hover } from '../../server/features/hover.ts';
import { magneticVariation } from '../../server/flight/index.ts';
import { bestRunway, fieldWind, longEnough } from '../../server/plan/landing.ts';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile } from '../../server/plan/workspace.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { eastTask } from '../../server/rules/leg-words.ts';
import { checked } from '../rules/helper.ts';

const KT = 1852 / 3600;

const weather = (surface: string, date = '  date        2026-06-13\n') => `weather Windy
${date}  qnh         1018 hPa
  temperature 24 °C at 190 m MSL
  wind        surface from ${surface}
`;

const field = (...runways: string[]) => `field There at 47.3105 N 19.7020 E
  elevation 190 m
${runways.map((runway) => `  runway    ${runway}\n`).join('')}`;

function planned(entries: string, more: Readonly<Record<string, string>> = {}) {
  const workspace = createWorkspace(['file:///plans']);
  setFile(workspace, 'file:///plans/club.taskplan', EXAMPLE_CLUB);
  const text = eastTask({ weather: 'Windy', start: 'Larkfield at 6500 ft MSL', finish: 'There', ...more }, entries);
  const understood = understand(workspace, setFile(workspace, 'file:///plans/plan.taskplan', text));
  const [task] = understood.tasks;
  const there = task?.legs.at(-1)?.to?.meaning;
  if (!task || there?.kind !== 'field') throw new Error('no task');
  return { task, there, understood, text, wind: fieldWind(there, task) };
}

describe('the wind on a runway', () => {
  test('a wind along it is all head or all tail, one across it from the right or the left', () => {
    // Without a date the runway is taken as it is written.
    const { wind } = planned(`${weather('090° at 10 kt', '')}\n${field('09/27 800 m', '18/36 900 m')}`);
    expect(wind?.variationDeg).toBeUndefined();
    const of = (end: string) => wind?.runways.find((one) => one.end === end);
    expect(of('09')?.headMps).toBeCloseTo(10 * KT, 9);
    expect(of('09')?.crossMps).toBeCloseTo(0, 9);
    expect(of('27')?.headMps).toBeCloseTo(-10 * KT, 9);
    expect(of('36')?.crossMps).toBeCloseTo(10 * KT, 9);
    expect(of('18')?.crossMps).toBeCloseTo(-10 * KT, 9);
  });

  test('runways are magnetic: with a date the variation turns them', () => {
    const { wind, there } = planned(`${weather('090° at 10 kt')}\n${field('09/27 800 m')}`);
    const east = magneticVariation(there.position as never, 190, { year: 2026, month: 6, day: 13 });
    if (east.outside) throw new Error('outside');
    expect(east.declinationDeg).toBeGreaterThan(4);
    expect(wind?.variationDeg).toBeCloseTo(east.declinationDeg, 9);
    // Magnetic course = true course - variation, so 09 points further east of north.
    expect(wind?.runways[0]?.courseDeg).toBeCloseTo(90 + east.declinationDeg, 9);
    expect(wind?.runways[0]?.crossMps).toBeLessThan(0);
  });

  test('at the elevation of the field, by the profile of the winds', () => {
    const aloft = `${weather('090° at 10 kt', '')}  wind        390 m MSL from 090° at 30 kt\n`;
    const high = field('09/27 800 m').replace('190 m', '290 m');
    expect(planned(`${aloft}\n${high}`).wind?.runways[0]?.headMps).toBeCloseTo(20 * KT, 9);
  });

  test('across the wind rather than with it, where nothing leads into it', () => {
    // One end alone may be used, and that lies with the wind.
    const { wind } = planned(`${weather('360° at 10 kt', '')}\n${field('18 900 m', '09/27 800 m')}`);
    expect(wind?.runways.map(({ end }) => end)).toEqual(['18', '09', '27']);
    expect(['09', '27']).toContain(bestRunway(wind?.runways ?? [])?.end);
  });

  test('not known without a wind', () => {
    expect(
      planned(`${weather('090° at 10 kt').replace(/ {2}wind.*\n/, '')}\n${field('09/27 800 m')}`).wind,
    ).toBeUndefined();
  });

  test('not known without an elevation of the field', () => {
    const { there, task } = planned(`${weather('090° at 10 kt')}\n${field('09/27 800 m')}`);
    expect(fieldWind({ ...there, elevationM: undefined }, task)).toBeUndefined();
    expect(fieldWind(there, task)?.runways).toHaveLength(2);
  });

  test('the two ends of a runway have opposite winds, and together they are the wind', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 18 }), fc.nat(359), fc.nat(60), (end, from, speed) => {
        const ends = `${String(end).padStart(2, '0')}/${end + 18}`;
        const { wind } = planned(`${weather(`${from}° at ${speed} kt`)}\n${field(`${ends} 800 m`)}`);
        const [one, other] = wind?.runways ?? [];
        if (!one || !other) throw new Error('no runways');
        expect(one.headMps).toBeCloseTo(-other.headMps, 6);
        expect(one.crossMps).toBeCloseTo(-other.crossMps, 6);
        expect(Math.hypot(one.headMps, one.crossMps)).toBeCloseTo(speed * KT, 6);
      }),
      { numRuns: 200 },
    );
  });
});

describe('the best runway', () => {
  const best = (surface: string, needed: number | undefined, ...runways: string[]) => {
    const { wind } = planned(`${weather(surface, '')}\n${field(...runways)}`);
    return bestRunway(wind?.runways ?? [], needed)?.end;
  };

  test('has the least crosswind, and of its ends the one into the wind', () => {
    expect(best('180° at 10 kt', undefined, '09/27 900 m', '18/36 500 m')).toBe('18');
    expect(best('350° at 10 kt', undefined, '09/27 900 m', '18/36 500 m')).toBe('36');
    expect(best('360° at 0 kt', undefined, '09/27 900 m')).toBe('09');
  });

  test('is long enough, where one is', () => {
    expect(best('180° at 10 kt', 600, '09/27 900 m', '18/36 500 m')).toMatch(/09|27/);
    expect(best('180° at 10 kt', 950, '09/27 900 m', '18/36 500 m')).toBe('18');
  });

  test('is not one with the wind behind, where it is landed on one way only', () => {
    expect(best('180° at 10 kt', undefined, '36 900 m', '15/33 500 m')).toBe('15');
    expect(best('180° at 10 kt', undefined, '36 900 m')).toBe('36');
  });

  test('where every one has the wind behind is still the one with the least crosswind', () => {
    expect(best('180° at 10 kt', undefined, '34 900 m', '36 500 m')).toBe('36');
    expect(best('180° at 10 kt', undefined, '36 900 m', '34 500 m')).toBe('36');
  });

  test('with as much crosswind as another is the one with more headwind; of none it is none', () => {
    const { wind } = planned(`${weather('180° at 10 kt', '')}\n${field('18/36 900 m')}`);
    const [runway] = wind?.runways ?? [];
    if (!runway) throw new Error('no runway');
    const more = { ...runway, end: '19', crossMps: -2, headMps: 4 };
    const less = { ...runway, end: '17', crossMps: 2, headMps: 3 };
    expect(bestRunway([less, more])?.end).toBe('19');
    expect(bestRunway([more, less])?.end).toBe('19');
    expect(bestRunway([])).toBeUndefined();
  });

  test('a length that is not written may be enough', () => {
    const { there } = planned(`${weather('180° at 10 kt', '')}\n${field('18/36 900 m')}`);
    const [runway] = there.runways;
    if (!runway) throw new Error('no runway');
    expect([longEnough(runway, 900), longEnough(runway, 901), longEnough(runway, undefined)]).toEqual([
      true,
      false,
      true,
    ]);
    expect(longEnough({ ...runway, lengthM: undefined }, 901)).toBe(true);
  });
});

describe('what is said', () => {
  const codes = (entries: string, more: Readonly<Record<string, string>> = {}) =>
    checked(eastTask({ weather: 'Windy', start: 'Larkfield at 6500 ft MSL', finish: 'There', ...more }, entries), {
      'club.taskplan': EXAMPLE_CLUB,
    }).findings.flatMap(({ code, message }) => (/crosswind|runway/.test(code) ? [`${code}: ${message}`] : []));
  const needs = (length: string) => `aircraft Lark
  best glide   32:1 at 49 kt
  minimum sink 1.3 kt at 41 kt
  polar mass   310 kg
  empty mass   225 kg
  maximum mass 340 kg
  vs           34 kt
  vne          115 kt
  crosswind    12 kt
  landing      ${length}
`;

  test('a crosswind that another runway avoids is none; a shorter one does not help', () => {
    const south = weather('185° at 20 kt');
    expect(codes(`${south}\n${field('09/27 900 m')}`)).toMatchInlineSnapshot(`
      [
        "crosswind: the crosswind at There is 8 kt more than was demonstrated with Finch: 20 kt on 09, its best runway, 12 kt demonstrated. Finish at another field, or wait for less wind.",
      ]
    `);
    expect(codes(`${south}\n${field('09/27 900 m', '18/36 400 m')}`)).toEqual([]);
    const lark = `${south}\n${field('09/27 900 m', '18/36 400 m')}\n${needs('450 m')}`;
    expect(codes(lark, { aircraft: 'Lark with pilot 80 kg' })).toHaveLength(1);
  });

  test('runways that are all too short', () => {
    const calm = weather('185° at 2 kt');
    const lark = (length: string, ...runways: string[]) =>
      codes(`${calm}\n${field(...runways)}\n${needs(length)}`, { aircraft: 'Lark with pilot 80 kg' });
    expect(lark('450 m', '09/27 440 m')).toMatchInlineSnapshot(`
      [
        "runway-length: runway 09/27 of There is 10 m shorter than Lark needs to land: 440 m, 450 m asked. Finish at a field with a longer one.",
      ]
    `);
    expect(lark('1500 ft', '09/27 440 m', '18/36 450 m')).toMatchInlineSnapshot(`
      [
        "runway-length: every runway of There is 8 m shorter than Lark needs to land: 450 m for 18/36, the longest, 458 m asked. Finish at a field with a longer one.",
      ]
    `);
    expect(lark('450 m', '09/27 440 m', '18/36 450 m')).toEqual([]);
    expect(lark('450 m')).toEqual([]);
  });

  test('on hover', () => {
    const { understood, text } = planned(
      `${weather('185° at 9 kt')}\n${field('18/36 900 m surface grass circuit left')}`,
    );
    const line = text.split('\n').findIndex((one) => one.includes('finish'));
    const contents = hover(understood, { line, character: 4 })?.contents as { value: string };
    expect(contents.value.split('\n').find((one) => one.includes('runway'))).toMatchInlineSnapshot(
      `"| runway with the least crosswind | 18: headwind 8 kt, crosswind 1 kt from the left (900 m, grass, circuit left) |"`,
    );
  });
});
