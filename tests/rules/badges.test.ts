/** What is said of the distances of the sporting code. */
import { expect, test } from 'vitest';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { checked } from './helper.ts';

interface Turn {
  readonly at: string;
  readonly line?: string;
}

function said(turns: readonly Turn[], finish: string, start = '3000 ft MSL', head = ''): string[] {
  const points = turns.map(({ at }, i) => `field P${i} at ${at}\n  elevation 100 m\n`).join('\n');
  const legs = turns.map(({ line = '' }, i) => `  turn P${i}\n${line}`).join('');
  const text = `${head}use "club.taskplan"\n\n${points}\ntask Badge
  aircraft Finch with pilot 82 kg
  weather  Calm
  reserve  Training
  start    Larkfield at ${start}
${legs}  finish ${finish}
`;
  return checked(text, { 'club.taskplan': EXAMPLE_CLUB }).findings.flatMap(({ code, severity, message }) =>
    code === 'badge-distance' ? [`${severity}: ${message}`] : [],
  );
}

const straight = (lon: string, start?: string, head?: string) =>
  said([{ at: `47.2031 N ${lon} E` }], 'P0', start, head);

test('Silver: too near, just right, and too high', () => {
  expect(straight('20.0000')).toEqual([]);
  expect(straight('20.0800')).toMatchInlineSnapshot(`
    [
      "info: P0 lies 48.4 km (26.1 NM) from Larkfield: 1.6 km short of the 50 km of the Silver distance (Sporting Code 3, 2018, 2.2.1a). Choose a point further out, if it is flown for that. Check the rule in force.",
    ]
  `);
  expect(straight('20.1100')).toMatchInlineSnapshot(`
    [
      "info: P0 lies 50.6 km (27.4 NM) from Larkfield, enough for the 50 km of the Silver distance (Sporting Code 3, 2018, 2.2.1a); how much height it loses, of 1,662 ft at most (1 percent of the distance, 2.4.4b), is not known. Check the rule in force.",
    ]
  `);
  expect(straight('20.1100', '12000 ft MSL')).toMatchInlineSnapshot(`
    [
      "info: P0 lies 50.6 km (27.4 NM) from Larkfield, enough for the 50 km of the Silver distance (Sporting Code 3, 2018, 2.2.1a), but loses 5,758 ft too much height: 7,420 ft, and 1,662 ft at most (1 percent of the distance, 2.4.4b). Start lower or arrive higher, if it is flown for that. Check the rule in force.",
    ]
  `);
  expect(straight('20.1100', '12000 ft MSL', 'units\n  altitude m\n  distance km\n\n')).toMatchInlineSnapshot(`
    [
      "info: P0 lies 50.6 km from Larkfield, enough for the 50 km of the Silver distance (Sporting Code 3, 2018, 2.2.1a), but loses 1,756 m too much height: 2,262 m, and 506 m at most (1 percent of the distance, 2.4.4b). Start lower or arrive higher, if it is flown for that. Check the rule in force.",
    ]
  `);
});

test('Gold and Diamonds: by the shape of the course and its length', () => {
  expect(said([{ at: '47.2031 N 21.4000 E' }], 'Larkfield')).toMatchInlineSnapshot(`
    [
      "info: the out-and-return counts 296.8 km (160.3 NM): 3.2 km short of the 300 km of the Gold distance and the Diamond goal (FAI page of badges; Sporting Code 3, 1999). Check the rule in force.",
    ]
  `);
  expect(said([{ at: '47.2031 N 21.3000 E' }], 'Larkfield')).toMatchInlineSnapshot(`
    [
      "info: the out-and-return counts 281.6 km (152.1 NM): 18.4 km short of the 300 km of the Gold distance and the Diamond goal (FAI page of badges; Sporting Code 3, 1999). Check the rule in force.",
    ]
  `);
  expect(said([{ at: '47.2031 N 20.9000 E' }, { at: '48.1000 N 20.2000 E' }], 'Larkfield')).toMatchInlineSnapshot(`
    [
      "info: the triangle counts 338.1 km (182.6 NM): enough for the 300 km of the Gold distance and the Diamond goal (FAI page of badges; Sporting Code 3, 1999); its shortest leg is 32.6 % of it, 28 % asked of a record's (Sporting Code 3, 1999, 1.4.3d). Check the rule in force.",
    ]
  `);
  expect(said([{ at: '47.2031 N 22.8000 E' }], 'Larkfield')).toMatchInlineSnapshot(`
    [
      "info: the out-and-return counts 508.9 km (274.8 NM): enough for the 500 km of the Diamond distance, and the Diamond goal (FAI page of badges; Sporting Code 3, 1999). Check the rule in force.",
    ]
  `);
  expect(said([{ at: '47.2031 N 24.0000 E' }, { at: '49.9000 N 21.5000 E' }], 'Larkfield')).toMatchInlineSnapshot(`
    [
      "info: the triangle counts 1,033.6 km (558.1 NM): enough for the 1,000 km of the badge for it (FAI page of badges; Sporting Code 3, 1999); its legs are 32.5 % to 34.1 % of it, 25 to 45 % asked of a record's (Sporting Code 3, 1999, 1.4.3d). Check the rule in force.",
    ]
  `);
});

test('a triangle that narrowly misses the shape', () => {
  expect(said([{ at: '47.2031 N 20.0000 E' }, { at: '47.4500 N 19.8000 E' }], 'Larkfield')).toMatchInlineSnapshot(`
    [
      "info: the triangle is 112.2 km (60.6 NM) long: its shortest leg is 27.9 % of it, 28 % asked of a record's (Sporting Code 3, 1999, 1.4.3d). Check the rule in force.",
    ]
  `);
});

test('turn points that are too many or too near', () => {
  const four = ['47.2031 N 20.5000 E', '47.9000 N 20.5000 E', '47.9000 N 19.4410 E', '48.3000 N 19.4410 E'];
  expect(
    said(
      four.map((at) => ({ at })),
      'Larkfield',
    ),
  ).toMatchInlineSnapshot(`
    [
      "info: the closed course counts 403.3 km (217.8 NM): enough for the 300 km of the Gold distance, but has 4 turn points, 3 at most (1.4.3c) (FAI page of badges; Sporting Code 3, 1999). Check the rule in force.",
    ]
  `);
});

test('not without positions', () => {
  expect(said([], 'Nowhere')).toEqual([]);
});
