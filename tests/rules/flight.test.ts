/** The messages of the rules of the flight, one by one, as a pilot reads them. */
import { expect, test } from 'vitest';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { eastTask, exampleAircraft } from '../../server/rules/leg-words.ts';
import { checked, type Files, findingsOf } from './helper.ts';

const CLUB: Files = { 'club.taskplan': EXAMPLE_CLUB };

/** The findings of these codes, related places and all. */
function found(text: string, codes: string, files = CLUB): string {
  return `\n${findingsOf(text, files, new Set(codes.split(' ')))}\n`;
}

/** The messages of these codes alone. */
function said(text: string, codes: string, files = CLUB): string[] {
  const wanted = new Set(codes.split(' '));
  return checked(text, files)
    .findings.filter(({ code }) => wanted.has(code))
    .map(({ severity, message }) => `${severity}: ${message}`);
}

const METRIC = 'units\n  altitude m\n  distance km\n  speed km/h\n  climb m/s\n';
const LOW = 'below-reserve below-turn-height reaches-ground';

test('arriving too low', () => {
  expect(
    found(eastTask({ start: 'Larkfield at 5000 ft MSL', finish: 'Ashmoor at 75 kt' }), LOW),
  ).toMatchInlineSnapshot(`
    "
      finish   Ashmoor at 75 kt
      ^^^^^^^^^^^^^^^^ below-reserve leg 1 to Ashmoor arrives 647 ft below reserve: 503 ft above the field, 1,150 ft asked. Leave Larkfield at 5,599 ft MSL or fly 65 kt.
        club.taskplan:50 the height asked
        plan.taskplan:7 the height that the glide starts from
        club.taskplan:16 the aircraft, Finch
        club.taskplan:44 the wind of Breezy
    "
  `);
  expect(found(eastTask({ start: 'Larkfield at 3600 ft MSL', turn: '"Corran Dam"' }), LOW)).toMatchInlineSnapshot(`
    "
      turn     "Corran Dam"
      ^^^^^^^^^^^^^^^^^^^^^ below-turn-height leg 1 to Corran Dam arrives 609 ft below turn height: 1,041 ft above the ground there, 1,650 ft asked. Leave Larkfield at 4,177 ft MSL.
        club.taskplan:51 the height asked
        plan.taskplan:7 the height that the glide starts from
        club.taskplan:16 the aircraft, Finch
        club.taskplan:44 the wind of Breezy
      finish   Ashmoor
      ^^^^^^^^^^^^^^^^ below-reserve leg 2 to Ashmoor arrives 813 ft below reserve: 337 ft above the field, 1,150 ft asked. Leave Corran Dam at 2,512 ft MSL.
        club.taskplan:50 the height asked
        plan.taskplan:7 the height that the glide starts from
        club.taskplan:16 the aircraft, Finch
        club.taskplan:43 the wind of Breezy
    "
  `);
  expect(found(eastTask({ start: 'Larkfield at 2200 ft MSL' }), LOW)).toMatchInlineSnapshot(`
    "
      finish   Ashmoor
      ^^^^^^^^^^^^^^^^ reaches-ground leg 1 to Ashmoor reaches the ground 5.1 NM short: it is down to the height of Ashmoor, 525 ft MSL, after 7.4 NM. Leave Larkfield at 4,318 ft MSL.
        club.taskplan:50 the height asked
        plan.taskplan:7 the height that the glide starts from
        club.taskplan:16 the aircraft, Finch
        club.taskplan:43 the wind of Breezy
    "
  `);
  // In other units.
  expect(
    said(METRIC + eastTask({ start: 'Larkfield at 1500 m MSL', finish: 'Ashmoor at 140 km/h' }), LOW),
  ).toMatchInlineSnapshot(`
    [
      "error: leg 1 to Ashmoor arrives 238 m below reserve: 113 m above the field, 351 m asked. Leave Larkfield at 1,719 m MSL or fly 118 km/h.",
    ]
  `);
  expect(said(METRIC + eastTask({ start: 'Larkfield at 700 m MSL' }), LOW)).toMatchInlineSnapshot(`
    [
      "error: leg 1 to Ashmoor reaches the ground 8.5 km short: it is down to the height of Ashmoor, 160 m MSL, after 14.6 km. Leave Larkfield at 1,316 m MSL.",
    ]
  `);
  expect(
    said(`units\n  speed m/s\n${eastTask({ start: 'Larkfield at 5000 ft MSL', finish: 'Ashmoor at 75 kt' })}`, LOW),
  ).toMatchInlineSnapshot(`
    [
      "error: leg 1 to Ashmoor arrives 647 ft below reserve: 503 ft above the field, 1,150 ft asked. Leave Larkfield at 5,599 ft MSL or fly 33.7 m/s.",
    ]
  `);
  // Too slow is as bad as too fast.
  expect(said(eastTask({ start: 'Ashmoor at 6580 ft MSL', finish: 'Larkfield at 40 kt' }), LOW)).toMatchInlineSnapshot(
    `
    [
      "error: leg 1 to Larkfield arrives 683 ft below reserve: 467 ft above the field, 1,150 ft asked. Leave Ashmoor at 7,490 ft MSL (above the cloudbase, 6,200 ft MSL) or fly at best glide.",
    ]
  `,
  );
  // The way out lies above the working top, or above the clouds.
  expect(said(eastTask({ start: 'Larkfield at 5000 ft MSL', finish: 'Ashmoor at 80 kt' }), LOW)).toMatchInlineSnapshot(`
    [
      "error: leg 1 to Ashmoor arrives 1,040 ft below reserve: 110 ft above the field, 1,150 ft asked. Leave Larkfield at 5,959 ft MSL (above the working top, 5,800 ft MSL) or fly 65 kt.",
    ]
  `);
  expect(said(eastTask({ start: 'Larkfield at 5000 ft MSL', finish: 'Ashmoor at 90 kt' }), LOW)).toMatchInlineSnapshot(`
    [
      "error: leg 1 to Ashmoor reaches the ground 1.8 NM short: it is down to the height of Ashmoor, 525 ft MSL, after 10.7 NM. Leave Larkfield at 6,751 ft MSL (above the cloudbase, 6,200 ft MSL) or fly 65 kt.",
    ]
  `);
  // A climb on the way is what to change.
  expect(
    said(eastTask({ start: 'Larkfield at 3000 ft MSL', climb: 'to 2900 ft MSL after 4 NM' }), LOW),
  ).toMatchInlineSnapshot(`
    [
      "error: leg 1 to Ashmoor arrives 635 ft below reserve: 515 ft above the field, 1,150 ft asked. Climb to 3,492 ft MSL after 4.0 NM.",
    ]
  `);
  // The ground is met from the start, or where a climb ends.
  expect(said(eastTask({ start: 'Larkfield at 500 ft MSL' }), LOW)).toMatchInlineSnapshot(`
    [
      "error: leg 1 to Ashmoor starts 25 ft below the ground at Ashmoor, which lies at 525 ft MSL. Leave Larkfield at 4,318 ft MSL.",
    ]
  `);
  expect(
    said(eastTask({ start: 'Larkfield at 900 ft MSL', climb: 'to 400 ft MSL after 6 NM' }), LOW),
  ).toMatchInlineSnapshot(`
    [
      "error: the climb 6.0 NM along leg 1 to Ashmoor starts 1,018 ft below the ground: at −493 ft MSL, and both ends of the leg lie at 525 ft MSL or higher. Leave Larkfield higher, or climb sooner.",
      "error: leg 1 to Ashmoor climbs on the way, 6.0 NM on, to 125 ft below the ground at Ashmoor, which lies at 525 ft MSL. Climb to 3,073 ft MSL after 6.0 NM.",
    ]
  `);
});

test('a leg after one that does not get there counts from the height asked, and says so', () => {
  expect(
    said(eastTask({ start: 'Larkfield at 1500 ft MSL', turn: '"Corran Dam"', finish: 'Ashmoor at 70 kt' }), LOW),
  ).toMatchInlineSnapshot(`
    [
      "error: leg 1 to Corran Dam reaches the ground 5.2 NM short: it is down to the height of Corran Dam, 689 ft MSL, after 3.5 NM. Leave Larkfield at 4,177 ft MSL.",
      "error: leg 2 to Ashmoor arrives 484 ft below reserve: 666 ft above the field, 1,150 ft asked, counted from the 2,339 ft MSL asked over Corran Dam, since leg 1 does not get there. Leave Corran Dam at 2,807 ft MSL.",
    ]
  `);
});

test('of several starts the first counts, as it is said', () => {
  const text = eastTask({ start: 'Larkfield at 1500 ft MSL', turn: '"Corran Dam"', finish: 'Ashmoor at 70 kt' });
  const twice = text.replace('  finish', '  start    Ashmoor at 6000 ft MSL\n  finish');
  expect(said(text, LOW)).toHaveLength(2);
  expect(said(twice, LOW)).toEqual(said(text, LOW));
  expect(said(twice, 'detail-repeated')).toEqual([
    'error: `start` stands here again, and only the first one counts: `start    Larkfield at 1500 ft MSL`. Take one of them out.',
  ]);
});

test('a height that no glider reaches is no way out', () => {
  const far = `turnpoint Far at 52.0000 N 19.4410 E
  elevation 100 m

`;
  expect(said(far + eastTask({ finish: 'Far', turn: '' }), LOW)).toMatchInlineSnapshot(`
    [
      "error: leg 1 to Far reaches the ground 268.7 NM short: it is down to the height of Far, 329 ft MSL, after 19.4 NM. No height that a glider reaches is enough at this speed.",
    ]
  `);
});

test('a wind that grows with height leaves no height to leave at', () => {
  const shear = `weather Shear
  date        2026-06-13
  qnh         1013.25 hPa
  temperature 15 °C at 0 m MSL
  wind        4000 ft MSL from 062° at 20 kt
  wind        6000 ft MSL from 062° at 90 kt

`;
  expect(
    said(shear + eastTask({ weather: 'Shear', start: 'Larkfield at 4000 ft MSL', finish: 'Ashmoor at 60 kt' }), LOW),
  ).toMatchInlineSnapshot(`
    [
      "error: leg 1 to Ashmoor reaches the ground 4.6 NM short: it is down to the height of Ashmoor, 525 ft MSL, after 7.9 NM. From as high as it would have to leave, it makes no headway against the wind.",
    ]
  `);
});

test('a margin that is thin', () => {
  expect(found(eastTask({ start: 'Larkfield at 4400 ft MSL' }), 'thin-margin')).toMatchInlineSnapshot(`
    "
      finish   Ashmoor
      ^^^^^^^^^^^^^^^^ thin-margin leg 1 to Ashmoor arrives 89 ft above the 1,150 ft asked: less than 200 ft to spare. Leave Larkfield at 4,504 ft MSL.
        club.taskplan:50 the height asked
        plan.taskplan:7 the height that the glide starts from
        club.taskplan:16 the aircraft, Finch
        club.taskplan:44 the wind of Breezy
    "
  `);
  expect(said(METRIC + eastTask({ start: 'Larkfield at 4400 ft MSL' }), 'thin-margin')).toMatchInlineSnapshot(`
    [
      "info: leg 1 to Ashmoor arrives 26 m above the 351 m asked: less than 61 m to spare. Leave Larkfield at 1,373 m MSL.",
    ]
  `);
  expect(said(eastTask(), 'thin-margin')).toEqual([]);
});

test('a climb below the ground is told beside the end that it does not reach', () => {
  const text = eastTask({ start: 'Larkfield at 1500 ft MSL', climb: 'to 1000 ft MSL after 8 NM' });
  expect(said(text, LOW)).toMatchInlineSnapshot(`
    [
      "error: the climb 8.0 NM along leg 1 to Ashmoor starts 868 ft below the ground: at −343 ft MSL, and both ends of the leg lie at 525 ft MSL or higher. Leave Larkfield higher, or climb sooner.",
      "error: leg 1 to Ashmoor reaches the ground 2.5 NM short: it is down to the height of Ashmoor, 525 ft MSL, after 10.0 NM. Climb to 2,649 ft MSL after 8.0 NM.",
    ]
  `);
});

test('a polar that ends below the least speed to fly gives none to fly', () => {
  const stalling = exampleAircraft(['best glide 20:1 at 38 kt', 'minimum sink 1.8 kt at 34 kt'])
    .replace('Finch', 'Sparrow')
    .replace(/vs .*/, 'vs           36 kt');
  const flown = (speed: string) =>
    said(
      eastTask({ aircraft: 'Sparrow', start: 'Larkfield at 9000 ft MSL', finish: `Ashmoor at ${speed}` }, stalling),
      'speed-outside-polar near-stall',
    );
  expect(flown('60 kt')[0]).toMatch(/than computed\. Give a point of the polar at that speed\.$/);
  // 1.1 times 36 kt.
  expect(flown('38 kt')).toHaveLength(1);
});

test('a thin margin of a leg that is soared without a climb is that of a glide', () => {
  const soared = (height: string, speed: string) =>
    eastTask({ start: `Larkfield at ${height}`, finish: `Ashmoor${speed}` }).replace(
      '  finish',
      '  soar     between 2500 ft MSL and 5500 ft MSL\n  finish',
    );
  const [text] = said(soared('4750 ft MSL', ' at 60 kt'), 'thin-margin');
  expect(text).toContain('less than 200 ft to spare. Leave Larkfield at 4,905 ft MSL or fly 56 kt.');
  expect(said(soared('4905 ft MSL', ' at 60 kt'), `thin-margin ${LOW}`)).toEqual([]);
  expect(said(soared('4750 ft MSL', ' at 56 kt'), `thin-margin ${LOW}`)).toEqual([]);
});

const gale = (from: number) => `weather Gale
  date        2026-06-13
  qnh         1002 hPa
  temperature 12 °C at 190 m MSL
  wind        surface from ${from}° at 60 kt
  wind        6000 ft MSL from ${from}° at 60 kt
  wind        9000 ft MSL from ${from}° at 140 kt

`;

test('no headway below the ground is a leg that reaches the ground, and no wind is asked for down there', () => {
  const rising = `weather Rising
  date        2026-06-13
  qnh         1002 hPa
  temperature 12 °C at 190 m MSL
  wind        100 ft MSL from 062° at 75 kt
  wind        1500 ft MSL from 062° at 30 kt

`;
  const text = rising + eastTask({ weather: 'Rising', start: 'Larkfield at 2000 ft MSL', finish: 'Ashmoor at 70 kt' });
  expect(said(text, 'no-headway')).toEqual([]);
  expect(said(text, 'reaches-ground')).toHaveLength(1);
});

test('a climb that ends below the ground, after a leg that does not get there', () => {
  const text = eastTask({ start: 'Larkfield at 1000 ft MSL' }).replace(
    /^ {2}finish.*\n/m,
    '  turn     Ashmoor\n  climb    to 300 ft MSL\n  finish   Larkfield\n',
  );
  expect(said(text, 'value-out-of-sense')).toEqual([
    expect.stringMatching(
      /^error: a climb to 300 ft MSL ends below Ashmoor, which is at \d+ ft MSL\. Write a greater height\.$/,
    ),
  ]);
  expect(said(text.replace('to 300 ft', 'to 3000 ft'), 'value-out-of-sense')).toEqual([]);
});

test('no headway at best glide, and at a faster speed the leg is flown', () => {
  const turning = `weather Turning
  date        2026-06-13
  qnh         1002 hPa
  temperature 12 °C at 190 m MSL
  wind        surface from 242° at 40 kt
  wind        3000 ft MSL from 242° at 50 kt
  wind        8000 ft MSL from 332° at 70 kt

`;
  const [message = ''] = said(
    turning + eastTask({ weather: 'Turning', start: 'Larkfield at 8000 ft MSL' }),
    'no-headway',
  );
  expect(message).toContain('its best glide over the ground');
  const speed = / Fly (\d+ kt), which gets there\.$/.exec(message)?.[1];
  const flown = eastTask({ weather: 'Turning', start: 'Larkfield at 8000 ft MSL', finish: `Ashmoor at ${speed}` });
  expect(said(turning + flown, 'no-headway')).toEqual([]);
  expect(said(turning + flown, 'below-reserve')).toEqual([]);
});

test('no headway', () => {
  expect(
    found(gale(62) + eastTask({ weather: 'Gale', finish: 'Ashmoor at 50 kt' }), 'no-headway'),
  ).toMatchInlineSnapshot(`
    "
      finish   Ashmoor at 50 kt
                          ^^^^^ no-headway leg 1 to Ashmoor makes no headway from its start, at 5,200 ft MSL: the headwind of 60 kt, with 3 kt across the leg, leaves nothing of its speed over the ground (54 kt true airspeed, 50 kt indicated). Fly at best glide, 108 kt, which gets on, in smooth air only: it is above vno.
                            plan.taskplan:6 the wind of Gale
                            club.taskplan:16 the aircraft, Finch
    "
  `);
  expect(
    said(gale(330) + eastTask({ weather: 'Gale', finish: 'Ashmoor at 50 kt' }), 'no-headway'),
  ).toMatchInlineSnapshot(`
    [
      "error: leg 1 to Ashmoor makes no headway from its start, at 5,200 ft MSL: the glider flies no faster than the 60 kt of wind across the leg (54 kt true airspeed, 50 kt indicated). Fly at best glide, 79 kt, which gets on.",
    ]
  `);
  expect(
    said(gale(40) + eastTask({ weather: 'Gale', finish: 'Ashmoor at maccready 1 kt' }), 'no-headway'),
  ).toMatchInlineSnapshot(`
    [
      "error: leg 1 to Ashmoor makes no headway from its start, at 5,200 ft MSL: the headwind of 57 kt, with 19 kt across the leg, leaves nothing of its speed over the ground (57 kt true airspeed, 53 kt indicated, the speed to fly for a climb of 1.0 kt). Fly at best glide, 107 kt, which gets on, in smooth air only: it is above vno.",
    ]
  `);
  expect(
    said(gale(62) + eastTask({ weather: 'Gale', start: 'Larkfield at 9500 ft MSL' }), 'no-headway'),
  ).toMatchInlineSnapshot(`
    [
      "error: leg 1 to Ashmoor makes no headway from its start, at 9,500 ft MSL: the headwind of 140 kt, with 8 kt across the leg, leaves nothing of its speed over the ground (54 kt true airspeed, 47 kt indicated, its best glide over the ground). No speed from 34 kt to 115 kt gets on: wait for less wind, or go another way.",
    ]
  `);
  // From calm into the gale, on the way down.
  const below = gale(62)
    .replace('surface from 62° at 60 kt', 'surface from 62° at 80 kt')
    .replace('at 140 kt', 'at 0 kt');
  expect(
    said(
      below + eastTask({ weather: 'Gale', start: 'Larkfield at 9000 ft MSL', finish: 'Ashmoor at 50 kt' }),
      'no-headway',
    ),
  ).toMatchInlineSnapshot(`
    [
      "error: leg 1 to Ashmoor makes no headway 5.1 NM on, at 6,247 ft MSL: the headwind of 55 kt, with 3 kt across the leg, leaves nothing of its speed over the ground (55 kt true airspeed, 50 kt indicated). Wait for less wind, or go another way.",
    ]
  `);
});

const SPEEDS = 'above-vne above-vno near-stall speed-outside-polar';

test('speeds', () => {
  const at = (speed: string) => eastTask({ start: 'Larkfield at 6100 ft MSL', finish: `Ashmoor at ${speed}` });
  expect(found(at('120 kt'), SPEEDS)).toMatchInlineSnapshot(`
    "
      finish   Ashmoor at 120 kt
                          ^^^^^^ above-vne leg 1 to Ashmoor is flown 5 kt above vne: at 120 kt, and 115 kt is never to be exceeded. Fly 115 kt at most, and less high up as the flight manual says.
                            club.taskplan:28 \`vne\` of Finch
    "
  `);
  expect(found(at('90 kt'), SPEEDS)).toMatchInlineSnapshot(`
    "
      finish   Ashmoor at 90 kt
                          ^^^^^ above-vno leg 1 to Ashmoor is flown 10 kt above vno: at 90 kt, in smooth air only and without abrupt control movements. Fly 80 kt at most where the air may be rough.
                            club.taskplan:27 \`vno\` of Finch
                          ^^^^^ speed-outside-polar leg 1 to Ashmoor is flown 11 kt faster than the polar is known: at 90 kt, and the last of the points lies at 79 kt with the 307 kg flown. The sink there may be more or less than computed. Fly 79 kt at most, or give a point of the polar at that speed.
                            club.taskplan:17 \`polar\` of Finch
    "
  `);
  expect(found(at('36 kt'), SPEEDS)).toMatchInlineSnapshot(`
    "
      finish   Ashmoor at 36 kt
                          ^^^^^ near-stall leg 1 to Ashmoor is flown 2 kt below the least speed: at 36 kt, and 1.1 × vs is 38 kt. Fly 38 kt at least.
                            club.taskplan:25 \`vs\` of Finch
    "
  `);
  expect(found(at('39 kt'), SPEEDS)).toMatchInlineSnapshot(`
    "
      finish   Ashmoor at 39 kt
                          ^^^^^ speed-outside-polar leg 1 to Ashmoor is flown 3 kt slower than the polar is known: at 39 kt, and the first of the points lies at 42 kt with the 307 kg flown. The sink there may be more or less than computed. Fly 42 kt at least, or give a point of the polar at that speed.
                            club.taskplan:17 \`polar\` of Finch
    "
  `);
  expect(found(at('maccready 14 kt'), SPEEDS)).toMatchInlineSnapshot(`
    "
      finish   Ashmoor at maccready 14 kt
                          ^^^^^^^^^^^^^^^ above-vno leg 1 to Ashmoor is flown 24 kt above vno: at 104 kt, the speed to fly for a climb of 14.0 kt, in smooth air only and without abrupt control movements. Fly 80 kt at most where the air may be rough.
                            club.taskplan:27 \`vno\` of Finch
                          ^^^^^^^^^^^^^^^ speed-outside-polar leg 1 to Ashmoor is flown 25 kt faster than the polar is known: at 104 kt, the speed to fly for a climb of 14.0 kt, and the last of the points lies at 79 kt with the 307 kg flown. The sink there may be more or less than computed. Fly 79 kt at most, or give a point of the polar at that speed.
                            club.taskplan:17 \`polar\` of Finch
    "
  `);
  expect(said(METRIC + at('230 km/h'), SPEEDS)).toMatchInlineSnapshot(`
    [
      "error: leg 1 to Ashmoor is flown 18 km/h above vne: at 230 km/h, and 212 km/h is never to be exceeded. Fly 212 km/h at most, and less high up as the flight manual says.",
    ]
  `);
  expect(said(METRIC + at('65 km/h'), SPEEDS)).toMatchInlineSnapshot(`
    [
      "error: leg 1 to Ashmoor is flown 5 km/h below the least speed: at 65 km/h, and 1.1 × vs is 70 km/h. Fly 70 km/h at least.",
    ]
  `);
  expect(said(METRIC + at('115.4 kt'), SPEEDS)).toMatchInlineSnapshot(`
    [
      "error: leg 1 to Ashmoor is flown 2 km/h above vne: at 214 km/h, and 212 km/h is never to be exceeded. Fly 212 km/h at most, and less high up as the flight manual says.",
    ]
  `);
  // At the limit, in whatever unit, is within it.
  expect(said(at('80 kt'), 'above-vno')).toEqual([]);
  expect(said(at('148.16 km/h'), 'above-vno')).toEqual([]);
  expect(said(at('115 kt'), 'above-vne')).toEqual([]);
  expect(said(at('37.4 kt'), 'near-stall')).toEqual([]);
  // What is advised is allowed.
  for (const [speed, codes] of [
    ['230 km/h', 'above-vne'],
    ['170 km/h', 'above-vno'],
    ['66 km/h', 'near-stall'],
  ] as const) {
    for (const units of ['', METRIC]) {
      const [message] = said(units + at(speed), codes);
      const advised = /Fly (\S+ \S+) at/.exec(message ?? '')?.[1];
      expect(advised, speed).toBeDefined();
      expect(said(units + at(advised as string), codes)).toEqual([]);
    }
  }
  // Though no height is computed.
  expect(said(at('120 kt').replace('Breezy', 'Unheard'), SPEEDS)).toMatchInlineSnapshot(`
    [
      "error: leg 1 to Ashmoor is flown 5 kt above vne: at 120 kt, and 115 kt is never to be exceeded. Fly 115 kt at most, and less high up as the flight manual says.",
    ]
  `);
});

test('a best glide that comes out near the stall, or outside the polar', () => {
  const owl = `aircraft Owl
  best glide   30:1 at 40 kt
  minimum sink 1.10 kt at 36 kt
  polar mass   300 kg
  empty mass   220 kg
  maximum mass 400 kg
  vs           35 kt
  vne          110 kt

`;
  const tail = gale(245).replaceAll('60 kt', '30 kt').replace('140 kt', '40 kt');
  const text = owl + tail + eastTask({ aircraft: 'Owl with pilot 70 kg', weather: 'Gale' });
  expect(said(text, SPEEDS)).toMatchInlineSnapshot(`
    [
      "error: leg 1 to Ashmoor is flown 4 kt below the least speed: at 35 kt, its best glide over the ground, and 1.1 × vs is 39 kt. Fly 39 kt at least.",
    ]
  `);
  const head = owl + gale(62).replaceAll('60 kt', '20 kt').replace('140 kt', '30 kt');
  expect(said(head + eastTask({ aircraft: 'Owl with pilot 90 kg', weather: 'Gale' }), SPEEDS)).toMatchInlineSnapshot(
    `[]`,
  );
  expect(
    said(owl + eastTask({ aircraft: 'Owl with pilot 90 kg', finish: 'Ashmoor at 60 kt' }), SPEEDS),
  ).toMatchInlineSnapshot(`
    [
      "info: leg 1 to Ashmoor is flown 20 kt faster than the polar is known: at 60 kt, and \`best glide\` lies at 40 kt with the 310 kg flown. The sink there may be more or less than computed. Fly 40 kt at most, or give a point of the polar at that speed.",
    ]
  `);
  expect(
    said(`${owl}\n${eastTask({ aircraft: 'Owl with pilot 150 kg', finish: 'Ashmoor at 39 kt' })}`, SPEEDS),
  ).toMatchInlineSnapshot(`[]`);
});

const MASSES = 'overweight pilot-weight too-much-ballast mass-assumed';

test('masses', () => {
  const wren = `${exampleAircraft([
    'polar 48 kt sink 1.30 kt',
    'polar 60 kt sink 1.55 kt',
    'polar 90 kt sink 3.20 kt',
    'ballast up to 100 kg',
  ]).replace('aircraft Finch', 'aircraft Wren')}\n`;
  const on = (aircraft: string) => found(wren + eastTask({ aircraft }), MASSES);
  expect(on('Finch with pilot 118 kg')).toMatchInlineSnapshot(`
    "
      aircraft Finch with pilot 118 kg
                                ^^^^^^ overweight Finch is 3 kg overweight: 225 kg empty + 118 kg pilot make 343 kg, and 340 kg is the maximum. The pilot may weigh 115 kg at most: take another aircraft.
                                  club.taskplan:23 \`maximum mass\` of Finch
                                ^^^^^^ pilot-weight the pilot is 8 kg too heavy for Finch: 118 kg, and 110 kg is the most. Take another aircraft.
                                  club.taskplan:24 \`pilot\` of Finch
    "
  `);
  expect(on('Finch with pilot 50 kg')).toMatchInlineSnapshot(`
    "
      aircraft Finch with pilot 50 kg
                                ^^^^^ pilot-weight the pilot is 5 kg too light for Finch: 50 kg, and 55 kg is the least. Fix ballast in the seat as the flight manual says and count it with the pilot, or take another aircraft.
                                  club.taskplan:24 \`pilot\` of Finch
    "
  `);
  expect(on('Finch with pilot 82 kg and ballast 40 kg')).toMatchInlineSnapshot(`
    "
      aircraft Finch with pilot 82 kg and ballast 40 kg
                                ^^^^^^^^^^^^^^^^^^^^^^^ overweight Finch is 7 kg overweight: 225 kg empty + 82 kg pilot + 40 kg ballast make 347 kg, and 340 kg is the maximum. Take 7 kg less ballast.
                                  club.taskplan:23 \`maximum mass\` of Finch
                                                  ^^^^^ too-much-ballast 40 kg of ballast is taken in Finch, which states none. Leave it out, or write \`ballast up to\` in the aircraft as its flight manual says.
                                                    club.taskplan:16 the aircraft, Finch
    "
  `);
  expect(on('Wren with pilot 70 kg and ballast 120 kg')).toMatchInlineSnapshot(`
    "
      aircraft Wren with pilot 70 kg and ballast 120 kg
                               ^^^^^^^^^^^^^^^^^^^^^^^^ overweight Wren is 75 kg overweight: 225 kg empty + 70 kg pilot + 120 kg ballast make 415 kg, and 340 kg is the maximum. Take 75 kg less ballast.
                                 plan.taskplan:8 \`maximum mass\` of Wren
                                                 ^^^^^^ too-much-ballast the ballast is 20 kg too much: 120 kg, and Wren takes up to 100 kg. Take 100 kg at most.
                                                   plan.taskplan:5 \`ballast up to\` of Wren
    "
  `);
  expect(on('Wren with pilot 120 kg and ballast 2 kg')).toMatchInlineSnapshot(`
    "
      aircraft Wren with pilot 120 kg and ballast 2 kg
                               ^^^^^^^^^^^^^^^^^^^^^^^ overweight Wren is 7 kg overweight: 225 kg empty + 120 kg pilot + 2 kg ballast make 347 kg, and 340 kg is the maximum. Even without ballast, the pilot may weigh 115 kg at most: take another aircraft.
                                 plan.taskplan:8 \`maximum mass\` of Wren
    "
  `);
  expect(on('Wren')).toMatchInlineSnapshot(`
    "
      aircraft Wren
               ^^^^ mass-assumed 310 kg is assumed, the mass of the polar, since the task names no pilot. Write \`with pilot\` and the mass of the pilot behind the aircraft.
                 plan.taskplan:6 \`polar mass\` of Wren
    "
  `);
  expect(on('Wren with ballast 40 kg')).toMatchInlineSnapshot(`
    "
      aircraft Wren with ballast 40 kg
               ^^^^ mass-assumed 350 kg is assumed: 310 kg, the mass of the polar, + 40 kg ballast, since the task names no pilot. Write \`with pilot\` and the mass of the pilot behind the aircraft.
                 plan.taskplan:6 \`polar mass\` of Wren
                                 ^^^^^ overweight Wren is 10 kg overweight: 310 kg of the polar + 40 kg ballast make 350 kg, and 340 kg is the maximum. Take 10 kg less ballast.
                                   plan.taskplan:8 \`maximum mass\` of Wren
    "
  `);
  expect(
    said(`units\n  mass lb\n${wren}${eastTask({ aircraft: 'Wren with pilot 180 lb and ballast 90 lb' })}`, MASSES),
  ).toMatchInlineSnapshot(`
    [
      "error: Wren is 16.6 lb overweight: 496.1 lb empty + 180.0 lb pilot + 90.0 lb ballast make 766.1 lb, and 749.5 lb is the maximum. Take 16.6 lb less ballast.",
    ]
  `);
  // What is allowed to the last kilogram.
  expect(said(eastTask({ aircraft: 'Finch with pilot 110 kg' }), MASSES)).toEqual([]);
  expect(said(`${wren}\n${eastTask({ aircraft: 'Wren with pilot 75 kg and ballast 40 kg' })}`, MASSES)).toEqual([]);
  expect(said(eastTask({ aircraft: 'Finch with pilot 82 kg and ballast 0 kg' }), MASSES)).toEqual([]);
});

test('a line that cannot be read is no line that is missing', () => {
  const torn = `${exampleAircraft(['polar 42 kt sink 1.35 kt', 'polar 60 kt sink 2.05 kt', 'polar 80 kt sink 3.70 kt'])}  ballast up to 100\n`;
  const text = torn.replace('Finch', 'Wren') + eastTask({ aircraft: 'Wren with pilot 60 kg and ballast 20 kg' });
  expect(said(text, MASSES)).toEqual([]);
  const weather = 'weather Torn\n  qnh 1018\n  temperature 20\n  wind surface from 230° at 8\n  lift 3\n';
  expect(
    said(weather + eastTask({ weather: 'Torn', climb: 'to 5000 ft MSL' }), 'standard-assumed climb-rate-unknown'),
  ).toEqual([]);
  expect(said(eastTask().replace('  weather  Breezy', '  weather'), 'standard-assumed')).toEqual([]);
  expect(
    said(`reserve Torn\n  arrive 900 ft AGL\n  performance 70\n${eastTask({ reserve: 'Torn' })}`, 'full-performance'),
  ).toEqual([]);
  expect(said('weather Torn\n  date 2026\n  wind surface from 230°M at 8 kt\n', 'variation-unknown')).toEqual([]);
});

const POLARS = 'polar-refused polar-poor-fit polar-given-twice';

test('polars', () => {
  const polar = (...lines: string[]) => said(exampleAircraft(lines), POLARS, {});
  const [slow, middle, fast] = [
    'polar 42 kt sink 1.35 kt',
    'polar 60 kt sink 2.05 kt',
    'polar 80 kt sink 3.70 kt',
  ] as const;
  expect(polar(slow, middle, fast)).toEqual([]);
  expect(polar(slow, middle)).toEqual([]);
  expect(polar(slow, slow, 'polar 42 kt sink 1.36 kt')).toMatchInlineSnapshot(`
    [
      "error: the polar of Finch is refused: it is given at 1 speed, and a curve needs 3. Add points at other speeds, or give \`best glide\` and \`minimum sink\` instead.",
    ]
  `);
  expect(polar(slow, middle, 'polar 60 kt sink 2.06 kt')).toMatchInlineSnapshot(`
    [
      "error: the polar of Finch is refused: it is given at 2 different speeds, and a curve needs 3. Add points at other speeds, or give \`best glide\` and \`minimum sink\` instead.",
    ]
  `);
  expect(polar(slow, middle, 'polar 80 kt sink 0.37 kt')).toMatchInlineSnapshot(`
    [
      "error: the polar of Finch is refused: the curve through its points bends down, so that the faster the glider flies, the less its sink grows. Check the points and their units for a slip.",
    ]
  `);
  expect(polar(slow, middle, 'polar 80 kt sink 37.0 kt')).toMatchInlineSnapshot(`
    [
      "error: the polar of Finch is refused: at 51 kt its curve climbs at 1.95 kt, and a glider in still air sinks at every speed. Check the points and their units for a slip.",
    ]
  `);
  expect(polar('polar 10 kt sink 1.0 kt', 'polar 20 kt sink 1.5 kt', 'polar 60 kt sink 6.0 kt')).toMatchInlineSnapshot(`
    [
      "error: the polar of Finch is refused: its best glide lies at 24 kt, below the stall at 34 kt. Check the points and their units for a slip.",
    ]
  `);
  expect(
    polar('polar 42 kt sink 2.0 kt', 'polar 60 kt sink 6.0 kt', 'polar 80 kt sink 11.0 kt'),
  ).toMatchInlineSnapshot(`
    [
      "error: the polar of Finch is refused: its curve has no best glide at any speed. Check the points and their units for a slip.",
    ]
  `);
  expect(polar('best glide 32:1 at 120 kt', 'minimum sink 3.6 kt at 110 kt')).toMatchInlineSnapshot(`
    [
      "error: the polar of Finch is refused: its best glide lies at 120 kt, above the 115 kt never to exceed. Check the figures and their units for a slip.",
    ]
  `);
  expect(polar('best glide 90:1 at 49 kt', 'minimum sink 0.5 kt at 45 kt')).toMatchInlineSnapshot(`
    [
      "error: the polar of Finch is refused: its best glide is 90:1, and no glider is better than 80:1. Check the figures and their units for a slip.",
    ]
  `);
  expect(polar('best glide 32:1 at 49 kt', 'minimum sink 1.6 kt at 41 kt')).toMatchInlineSnapshot(`
    [
      "error: the polar of Finch is refused: its minimum sink of 1.60 kt is not below the sink at best glide, 1.53 kt (the speed divided by the ratio). Check these figures and their units.",
    ]
  `);
  expect(polar('best glide 32:1 at 49 kt', 'minimum sink 0.1 kt at 41 kt')).toMatchInlineSnapshot(`
    [
      "error: the polar of Finch is refused: its minimum sink of 0.10 kt is no more than half of the sink at best glide, 1.53 kt (the speed divided by the ratio), and no curve has both. Check these figures and their units.",
    ]
  `);
  expect(polar('best glide 32:1 at 49 kt', 'minimum sink 1.3 kt at 41 kt')).toMatchInlineSnapshot(`[]`);
  expect(polar('best glide 32:1 at 49 kt', 'minimum sink 1.35 kt at 38 kt')).toEqual([]);
  expect(polar(slow, 'polar 49 kt sink 1.53 kt', middle, 'polar 70 kt sink 2.20 kt', fast)).toMatchInlineSnapshot(`
    [
      "warning: the point at 70 kt lies 15 % off the curve through the points: 2.20 kt as written, 2.53 kt on the curve, which is what is flown. Check this point and its neighbours, or leave out speeds that no task flies.",
    ]
  `);
  expect(polar(slow, middle, fast, 'best glide 32:1 at 49 kt')).toMatchInlineSnapshot(`
    [
      "warning: the polar of Finch is given twice: the 3 points count, and \`best glide\` does nothing. Leave one of the two out.",
    ]
  `);
  expect(
    found(
      exampleAircraft([slow, middle, fast, 'minimum sink 1.3 kt at 41 kt', 'best glide 32:1 at 49 kt']),
      POLARS,
      {},
    ),
  ).toMatchInlineSnapshot(`
    "
      minimum sink 1.3 kt at 41 kt
      ^^^^^^^^^^^^^^^^^^^^^^^^^^^^ polar-given-twice the polar of Finch is given twice: the 3 points count, and \`best glide\` and \`minimum sink\` do nothing. Leave one of the two out.
        plan.taskplan:2 the points that count
    "
  `);
  expect(
    said(
      `${METRIC}${exampleAircraft([slow, 'polar 49 kt sink 1.53 kt', middle, 'polar 70 kt sink 2.20 kt', fast])}`,
      POLARS,
      {},
    ),
  ).toMatchInlineSnapshot(`
    [
      "warning: the point at 130 km/h lies 15 % off the curve through the points: 1.13 m/s as written, 1.30 m/s on the curve, which is what is flown. Check this point and its neighbours, or leave out speeds that no task flies.",
    ]
  `);
});

test('the day', () => {
  const evening = (more: string) => `weather Evening\n  date 2026-06-13\n${more}\n`;
  const full = '  qnh 1018 hPa\n  temperature 24 °C at 190 m MSL\n';
  const on = (more: string, codes: string, changed = {}) =>
    found(evening(more) + eastTask({ weather: 'Evening', ...changed }), codes);
  expect(found(eastTask({ weather: '' }), 'standard-assumed')).toMatchInlineSnapshot(`
    "
    task Eastward
         ^^^^^^^^ standard-assumed no \`weather\`: calm air, 1013.25 hPa and 15 °C at sea level are assumed. Name the weather that the task is planned for.
    "
  `);
  expect(on('', 'standard-assumed')).toMatchInlineSnapshot(`
    "
      weather  Evening
               ^^^^^^^ standard-assumed Evening has no \`wind\`, no \`qnh\` and no \`temperature\`: calm air, 1013.25 hPa and 15 °C at sea level are assumed. Write them from the forecast.
                 plan.taskplan:1 the weather, Evening
    "
  `);
  expect(on(full, 'standard-assumed')).toMatchInlineSnapshot(`
    "
      weather  Evening
               ^^^^^^^ standard-assumed Evening has no \`wind\`: calm air is assumed. Write it from the forecast.
                 plan.taskplan:1 the weather, Evening
    "
  `);
  expect(
    on('  temperature 24 °C at 190 m MSL\n  wind surface from 230° at 8 kt\n', 'standard-assumed'),
  ).toMatchInlineSnapshot(`
    "
      weather  Evening
               ^^^^^^^ standard-assumed Evening has no \`qnh\`: 1013.25 hPa is assumed. Write it from the forecast.
                 plan.taskplan:1 the weather, Evening
    "
  `);
  expect(on('  wind surface from 230° at 8 kt\n', 'standard-assumed')).toMatchInlineSnapshot(`
    "
      weather  Evening
               ^^^^^^^ standard-assumed Evening has no \`qnh\` and no \`temperature\`: 1013.25 hPa and 15 °C at sea level are assumed. Write them from the forecast.
                 plan.taskplan:1 the weather, Evening
    "
  `);

  const wind = (...lines: string[]) => full + lines.map((line) => `  wind ${line}\n`).join('');
  expect(
    on(wind('surface from 230° at 8 kt', '2000 ft MSL from 240° at 12 kt'), 'wind-extrapolated'),
  ).toMatchInlineSnapshot(`
    "
      finish   Ashmoor
      ^^^^^^^^^^^^^^^^ wind-extrapolated leg 1 to Ashmoor is flown 3,200 ft above the highest wind given: up to 5,200 ft MSL, and that wind lies at 2,000 ft MSL. It is taken to blow unchanged. Add a \`wind\` line nearer to 5,200 ft MSL.
        plan.taskplan:6 the highest wind of Evening
    "
  `);
  expect(on(wind('5000 ft MSL from 240° at 12 kt'), 'wind-extrapolated')).toMatchInlineSnapshot(`
    "
      finish   Ashmoor
      ^^^^^^^^^^^^^^^^ wind-extrapolated leg 1 to Ashmoor is flown 2,521 ft below the lowest wind given: down to 2,479 ft MSL, and that wind lies at 5,000 ft MSL. It is taken to blow unchanged. Add a \`wind\` line nearer to 2,479 ft MSL.
        plan.taskplan:5 the lowest wind of Evening
    "
  `);
  expect(on(wind('3200 ft MSL from 240° at 12 kt'), 'wind-extrapolated')).toBe('\n\n');
  expect(
    said(
      METRIC +
        evening(wind('300 m MSL from 240° at 20 km/h')) +
        eastTask({ weather: 'Evening', start: 'Larkfield at 1200 m MSL', climb: 'to 1500 m MSL after 3 km' }),
      'wind-extrapolated',
    ),
  ).toMatchInlineSnapshot(`
    [
      "warning: leg 1 to Ashmoor is flown 1,200 m above the highest wind given: up to 1,500 m MSL, and that wind lies at 300 m MSL. It is taken to blow unchanged. Add a \`wind\` line nearer to 1,500 m MSL.",
    ]
  `);

  const ceilings = 'above-cloudbase above-working-top';
  expect(
    found(eastTask({ start: 'Larkfield at 6500 ft MSL', climb: 'to 7000 ft MSL' }), ceilings),
  ).toMatchInlineSnapshot(`
    "
      start    Larkfield at 6500 ft MSL
                            ^^^^^^^^^^^ above-cloudbase the start lies 300 ft above the cloudbase: at 6,500 ft MSL, and the clouds begin at 6,200 ft MSL. Plan 6,200 ft MSL at most, less the distance from cloud that the rules of the air ask.
                              club.taskplan:47 the cloudbase
      climb    to 7000 ft MSL
                  ^^^^^^^^^^^ above-cloudbase the climb ends 800 ft above the cloudbase: at 7,000 ft MSL, and the clouds begin at 6,200 ft MSL. Plan 6,200 ft MSL at most, less the distance from cloud that the rules of the air ask.
                    club.taskplan:47 the cloudbase
    "
  `);
  expect(
    found(eastTask({ start: 'Larkfield at 6000 ft MSL', climb: 'to 6000 ft MSL after 2 NM' }), ceilings),
  ).toMatchInlineSnapshot(`
    "
      climb    to 6000 ft MSL after 2 NM
                  ^^^^^^^^^^^ above-working-top the climb ends 200 ft above the working top: at 6,000 ft MSL, and lift is expected to 5,800 ft MSL. Climb to 5,800 ft MSL at most.
                    club.taskplan:46 the lift of the day
    "
  `);
  expect(said(METRIC + eastTask({ climb: 'to 1900 m MSL' }), ceilings)).toMatchInlineSnapshot(`
    [
      "warning: the climb ends 11 m above the cloudbase: at 1,900 m MSL, and the clouds begin at 1,889 m MSL. Plan 1,889 m MSL at most, less the distance from cloud that the rules of the air ask.",
    ]
  `);
  expect(said(eastTask({ start: 'Larkfield at 6200 ft MSL', climb: 'to 5800 ft MSL' }), ceilings)).toEqual([]);

  expect(
    on(wind('5000 ft MSL from 240° at 12 kt'), 'climb-rate-unknown', { climb: 'to 5600 ft MSL' }),
  ).toMatchInlineSnapshot(`
    "
      climb    to 5600 ft MSL
      ^^^^^^^^^^^^^^^^^^^^^^^ climb-rate-unknown the climb to 5,600 ft MSL has no rate, and Evening no \`lift\` to take one from: the times leave it out. Write a rate, such as \`at 3 kt\`.
        plan.taskplan:1 the weather, Evening
    "
  `);
  const climbs = (count: number) =>
    eastTask({ weather: 'Evening', turn: '"Corran Dam"', climb: 'to 5600 ft MSL' }).replace(
      '  finish',
      `${['  climb    to 5000 ft MSL\n', '  climb    to 5700 ft MSL after 2 NM\n'].slice(0, count).join('')}  finish`,
    );
  expect(said(evening(full) + climbs(1), 'climb-rate-unknown')).toMatchInlineSnapshot(`
    [
      "info: the climb to 5,600 ft MSL and another one have no rate, and Evening no \`lift\` to take one from: the times leave them out. Write a rate, such as \`at 3 kt\`.",
    ]
  `);
  expect(said(evening(full) + climbs(2), 'climb-rate-unknown')).toMatchInlineSnapshot(`
    [
      "info: the climb to 5,600 ft MSL and 2 others have no rate, and Evening no \`lift\` to take one from: the times leave them out. Write a rate, such as \`at 3 kt\`.",
    ]
  `);
  expect(said(eastTask({ weather: '', climb: 'to 5600 ft MSL' }), 'climb-rate-unknown')).toMatchInlineSnapshot(`
    [
      "info: the climb to 5,600 ft MSL has no rate, and there is no \`lift\` to take one from: the times leave it out. Write a rate, such as \`at 3 kt\`.",
    ]
  `);
  expect(on(full, 'climb-rate-unknown', { climb: 'to 5600 ft MSL at 2 kt' })).toBe('\n\n');
});

test('a wind in degrees magnetic', () => {
  const weather = (date: string) =>
    found(
      `weather Day\n${date}  wind surface from 225°M at 8 kt\n  wind 3000 ft MSL from 240°M at 14 kt\n`,
      'variation-unknown',
      {},
    );
  expect(weather('')).toMatchInlineSnapshot(`
    "
      wind surface from 225°M at 8 kt
                        ^^^^^ variation-unknown 225°M cannot be turned into a true direction: Day has no \`date\`, and the magnetic variation drifts. Add the date, or write the direction true.
                          plan.taskplan:3 this wind is magnetic too
    "
  `);
  expect(weather('  date 2024-12-31\n')).toMatchInlineSnapshot(`
    "
      wind surface from 225°M at 8 kt
                        ^^^^^ variation-unknown 225°M cannot be turned into a true direction: the magnetic model covers 2025 to 2029, and Day is of 2024. Correct the date, or write the direction true.
                          plan.taskplan:2 the date
                          plan.taskplan:4 this wind is magnetic too
    "
  `);
  expect(weather('  date 2030-01-01\n')).toMatchInlineSnapshot(`
    "
      wind surface from 225°M at 8 kt
                        ^^^^^ variation-unknown 225°M cannot be turned into a true direction: the magnetic model covers 2025 to 2029, and Day is of 2030. Correct the date, or write the direction true.
                          plan.taskplan:2 the date
                          plan.taskplan:4 this wind is magnetic too
    "
  `);
  expect(weather('  date 2025-01-01\n')).toBe('\n\n');
  expect(weather('  date 2029-12-31\n')).toBe('\n\n');
});

test('the polar that is planned on', () => {
  const reserve = (performance: string) => `reserve Own\n  arrive 900 ft AGL\n${performance}\n`;
  const codes = 'full-performance performance-above-polar';
  const on = (performance: string) => found(reserve(performance) + eastTask({ reserve: 'Own' }), codes);
  expect(on('')).toMatchInlineSnapshot(`
    "
      reserve  Own
               ^^^ full-performance the whole polar is planned on: Own has no \`performance\`. Plan on clearly less than the best glide, as is common practice, such as \`performance 70 %\`.
                 plan.taskplan:1 the reserve, Own
    "
  `);
  expect(on('  performance 100 %\n')).toMatchInlineSnapshot(`
    "
      reserve  Own
               ^^^ full-performance the whole polar is planned on: Own asks for all of it. Plan on clearly less than the best glide, as is common practice, such as \`performance 70 %\`.
                 plan.taskplan:3 how much of the polar is planned on
    "
  `);
  expect(on('  performance 40:1\n')).toMatchInlineSnapshot(`
    "
      performance 40:1
                  ^^^^ performance-above-polar 40:1 is asked of Finch in task Eastward, and its polar has 32.0:1 at best. Plan on clearly less than that, or write a share such as \`performance 70 %\`.
                    club.taskplan:17 \`polar\` of Finch
    "
  `);
  expect(on('  performance 99 %\n')).toBe('\n\n');
  expect(on('  performance 20:1\n')).toBe('\n\n');
  const elsewhere = { 'club.taskplan': EXAMPLE_CLUB + reserve('  performance 32.5:1\n') };
  expect(found(eastTask({ reserve: 'Own' }), codes, elsewhere)).toMatchInlineSnapshot(`
    "
      reserve  Own
               ^^^ performance-above-polar 32.5:1 is asked of Finch in task Eastward, and its polar has 32.0:1 at best. Plan on clearly less than that, or write a share such as \`performance 70 %\`.
                 club.taskplan:57 the glide ratio that is planned on
                 club.taskplan:17 \`polar\` of Finch
    "
  `);
});

test('a finish on which one may not land', () => {
  expect(found(eastTask({ finish: '"Corran Dam"' }), 'finish-not-landable')).toMatchInlineSnapshot(`
    "
      finish   "Corran Dam"
               ^^^^^^^^^^^^ finish-not-landable the finish Corran Dam is a turnpoint, where one may not land: nothing after it is checked. Finish at a field.
                 club.taskplan:13 the turnpoint Corran Dam
    "
  `);
});

test('legs that are not computed', () => {
  const mill = 'turnpoint Mill at 47.2500 N 19.5200 E\n\n';
  const codes = 'not-computed';
  expect(found(mill + eastTask({ turn: 'Mill' }), codes)).toMatchInlineSnapshot(`
    "
      turn     Mill
      ^^^^^^^^^^^^^ not-computed leg 1 to Mill and the leg after it are not computed: Mill has no \`elevation\`.
        plan.taskplan:1 Mill has no \`elevation\`
    "
  `);
  // Its own line says it: no second word for that leg.
  expect(found(eastTask({ turn: 'Nowhere' }), codes)).toMatchInlineSnapshot(`
    "
      finish   Ashmoor
      ^^^^^^^^^^^^^^^^ not-computed leg 2 to Ashmoor is not computed: no field or turnpoint \`Nowhere\` is known.
        plan.taskplan:8 no field or turnpoint \`Nowhere\` is known
    "
  `);
  expect(
    found(eastTask({ turn: 'Mill at 60' }), codes, { 'club.taskplan': EXAMPLE_CLUB + mill }),
  ).toMatchInlineSnapshot(`
    "
      turn     Mill at 60
      ^^^^^^^^^^^^^ not-computed leg 1 to Mill and the leg after it are not computed: Mill has no \`elevation\`.
        club.taskplan:55 Mill has no \`elevation\`
    "
  `);
  expect(found(eastTask({ finish: 'Nowhere' }), codes)).toBe('\n\n');
  // Something of the whole task: one finding, with all that keeps it.
  const many = eastTask({ aircraft: 'Kite with pilot 80 kg', weather: 'Windy', turn: '"Corran Dam"' }).replace(
    '  finish',
    '  turn     "Withy Bridge"\n  turn     Larkfield\n  finish',
  );
  expect(found(many, codes)).toMatchInlineSnapshot(`
    "
      turn     "Corran Dam"
      ^^^^^^^^^^^^^^^^^^^^^ not-computed leg 1 to Corran Dam and the 3 legs after it are not computed: no aircraft \`Kite\` is known.
        plan.taskplan:4 no aircraft \`Kite\` is known
        plan.taskplan:5 no weather \`Windy\` is known
    "
  `);
  // In another file it is an error.
  const broken = { 'club.taskplan': EXAMPLE_CLUB.replace('  elevation 210 m\n', '') };
  expect(said(eastTask({ turn: '"Corran Dam"' }), codes, broken)).toMatchInlineSnapshot(`
    [
      "error: leg 1 to Corran Dam and the leg after it are not computed: Corran Dam has no \`elevation\`.",
    ]
  `);
  expect(said(eastTask(), codes, { 'club.taskplan': EXAMPLE_CLUB.replace('310 kg', '310') })).toMatchInlineSnapshot(`
    [
      "error: leg 1 to Ashmoor is not computed: the line \`polar mass\` of Finch cannot be read.",
    ]
  `);
  // A climb makes a height known again, and not a place.
  const mended = eastTask({ turn: 'Nowhere' }).replace('  finish', '  climb    to 5600 ft MSL\n  finish');
  expect(said(mended, codes)).toMatchInlineSnapshot(`
    [
      "warning: leg 2 to Ashmoor is not computed: no field or turnpoint \`Nowhere\` is known.",
    ]
  `);
  const again = eastTask({ turn: '"Corran Dam"' })
    .replace('  turn ', '  turn     Nowhere\n  turn ')
    .replace('  finish', '  climb    to 5000 ft\n  turn     Larkfield\n  finish');
  expect(said(again, codes)).toMatchInlineSnapshot(`
    [
      "warning: leg 2 to Corran Dam is not computed: no field or turnpoint \`Nowhere\` is known.",
      "warning: leg 3 to Larkfield and the leg after it are not computed: the line \`climb to\` cannot be read.",
    ]
  `);
  // A start that is not known, and a wind at its elevation: nothing is computed, and it is said.
  const lost = eastTask({ start: 'Nowhere at 5000 ft MSL', turn: '"Corran Dam"' }).replace(
    '  finish',
    '  climb    to 5600 ft MSL\n  finish',
  );
  expect(said(lost, codes)).toMatchInlineSnapshot(`
    [
      "warning: leg 1 to Corran Dam is not computed: no field or turnpoint \`Nowhere\` is known.",
      "error: leg 2 to Ashmoor is not computed: the elevation of the start, where the surface wind lies, is not known.",
    ]
  `);
  // No leg at all.
  expect(found(eastTask({ aircraft: 'Kite', finish: '' }), codes)).toMatchInlineSnapshot(`
    "
    task Eastward
         ^^^^^^^^ not-computed the task is not computed: no aircraft \`Kite\` is known.
           plan.taskplan:4 no aircraft \`Kite\` is known
    "
  `);
  // No start, which has its own error; the legs wait for it.
  expect(said(eastTask({ start: '' }), codes)).toMatchInlineSnapshot(`
    [
      "warning: leg 1 to Ashmoor is not computed: the task has no \`start\`.",
    ]
  `);
  // A leg whose point is not written.
  expect(said(eastTask({ aircraft: 'Kite' }).replace('  finish   Ashmoor', '  finish'), codes)).toMatchInlineSnapshot(`
    [
      "warning: leg 1 is not computed: no aircraft \`Kite\` is known.",
    ]
  `);
});

test('a sound plan has nothing said of it', () => {
  const codes = checked(eastTask({ start: 'Larkfield at 5000 ft MSL' }), CLUB).findings.map(({ code }) => code);
  expect(codes).toEqual([]);
});

test('a climb on the way that begins below the ground', () => {
  const text = eastTask({ start: 'Larkfield at 1500 ft MSL' }).replace(
    /( +finish)/,
    '  climb    to 5800 ft MSL after 6 NM\n$1',
  );
  expect(said(text, LOW)).toMatchInlineSnapshot(`
    [
      "error: the climb 6.0 NM along leg 1 to Ashmoor starts 404 ft below the ground: at 121 ft MSL, and both ends of the leg lie at 525 ft MSL or higher. Leave Larkfield higher, or climb sooner.",
    ]
  `);
});

test('two winds at one altitude that only the task brings together', () => {
  const of = (...winds: readonly string[]) =>
    said(
      eastTask({ start: 'Larkfield at 5000 ft MSL', weather: 'Two' }).concat(
        `\nweather Two\n  qnh 1013.25 hPa\n${winds.map((wind) => `  wind ${wind}\n`).join('')}`,
      ),
      'value-out-of-sense',
    );
  expect(of('surface from 240° at 10 kt', '190 m MSL from 060° at 10 kt')).toMatchInlineSnapshot(`
    [
      "error: for this task two winds are given at 623 ft MSL: the air there can only move in one way. Take one of the lines out of Two.",
    ]
  `);
  expect(of('190 m MSL from 060° at 10 kt', 'surface from 240° at 10 kt')).toHaveLength(1);
  expect(of('FL30 from 240° at 10 kt', '3000 ft MSL from 240° at 12 kt')).toHaveLength(1);
  // The same wind twice changes nothing, and winds a little apart are two layers.
  expect(of('surface from 240° at 10 kt', '190 m MSL from 240° at 10 kt')).toEqual([]);
  expect(of('surface from 240° at 10 kt', '191 m MSL from 060° at 10 kt')).toEqual([]);
});

test('a start below the field', () => {
  expect(said(eastTask({ start: 'Larkfield at 600 ft MSL' }), 'value-out-of-sense')).toMatchInlineSnapshot(`
    [
      "error: a start at 600 ft MSL lies below Larkfield, which is at 624 ft MSL. Write a greater height.",
    ]
  `);
});
