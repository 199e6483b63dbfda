/**
 * Plans to check the program's numbers with: written by hand, each leaning on one thing, and drawn at random from a seed.
 * Every place, aircraft and person is invented.
 */

export interface WrittenPlan {
  /** What the plan leans on. */
  readonly about: string;
  readonly text: string;
}

const FINCH = `
aircraft Finch
  polar        45 kt sink 1.25 kt
  polar        60 kt sink 1.95 kt
  polar        80 kt sink 3.9 kt
  polar mass   300 kg
  empty mass   205 kg
  maximum mass 420 kg
  ballast      up to 100 kg
  pilot        55 kg to 110 kg
  vs           33 kt
  va           80 kt
  vno          90 kt
  vne          120 kt
`;

const HERON = `
aircraft Heron
  best glide   44:1 at 105 km/h
  minimum sink 0.55 m/s at 80 km/h
  polar mass   360 kg
  empty mass   265 kg
  maximum mass 600 kg
  ballast      up to 180 kg
  pilot        60 kg to 115 kg
  vs           68 km/h
  va           170 km/h
  vno          190 km/h
  vne          270 km/h
`;

const LARKFIELD = `
field Larkfield at 47.2031 N 19.4410 E
  elevation 190 m
`;

const TRAINING = `
reserve Training
  arrive      1000 ft AGL
  turn        1500 ft AGL
  performance 70 %
  altimeter   150 ft
`;

const CALM = `
weather Calm
  qnh         1013.25 hPa
  temperature 15 °C at 0 m MSL
  lift        2 m/s to 3000 m MSL
`;

export const WRITTEN_PLANS: readonly WrittenPlan[] = [
  {
    about: 'an everyday triangle in knots and feet',
    text: `# Practice triangle.
${LARKFIELD}
turnpoint "Withy Bridge" at 47°12.19'N 019°36.46'E
  elevation 480 ft
  radius 500 m

turnpoint "Corran Dam" at 47°05'02"N 19°31'40"E
  elevation 640 ft
${FINCH}
weather Saturday
  date        2026-06-13
  qnh         1018 hPa
  temperature 24 °C at 190 m MSL
  wind        surface from 230° at 8 kt
  wind        3000 ft MSL from 245° at 14 kt
  wind        6000 ft MSL from 255° at 20 kt
  lift        3 kt to 5800 ft MSL
${TRAINING}
task "Three Bridges"
  aircraft  Finch with pilot 82 kg
  weather   Saturday
  reserve   Training
  start     Larkfield at 3200 ft MSL
  climb     to 4800 ft MSL
  turn      "Withy Bridge"
  climb     to 5200 ft MSL
  turn      "Corran Dam" at 60 kt
  climb     to 5400 ft MSL
  finish    Larkfield at 75 kt
`,
  },
  {
    about: 'a leg of 160 km to the east, along which the course turns, in a wind across it',
    text: `
${LARKFIELD}
field "Far Meadow" at 47.6000 N 21.5200 E
  elevation 110 m
${HERON}
weather Breeze
  qnh         1009 hPa
  temperature 18 °C at 190 m MSL
  wind        surface from 350° at 15 km/h
  wind        1500 m MSL from 355° at 30 km/h
  wind        4000 m MSL from 20° at 55 km/h
  lift        2.5 m/s to 4500 m MSL
  sink        0.1 m/s
${TRAINING}
task Long
  aircraft Heron with pilot 90 kg
  weather  Breeze
  reserve  Training
  start    Larkfield at 4500 m MSL
  climb    to 6400 m MSL
  finish   "Far Meadow" at 120 km/h
`,
  },
  {
    about: 'a long leg in high latitudes, where the course turns by degrees',
    text: `
field Northwell at 68.1000 N 19.4410 E
  elevation 420 m

field Eastwell at 68.2500 N 023.1000 E
  elevation 95 m
${HERON}
weather Arctic
  qnh         29.41 inHg
  temperature -12 °C at 420 m MSL
  wind        500 m MSL from 290° at 20 kt
  wind        3000 m MSL from 310° at 35 kt
${TRAINING}
task North
  aircraft Heron with pilot 75 kg and ballast 60 kg
  weather  Arctic
  reserve  Training
  start    Northwell at 5600 m MSL
  finish   Eastwell at 75 kt
`,
  },
  {
    about: 'a strong shear that turns from head to tail wind, in layers written in any order',
    text: `
${LARKFIELD}
turnpoint Kiln at 47.2900 N 19.7600 E
  elevation 300 m
${FINCH}
weather Shear
  qnh         1021 hPa
  temperature 70 °F at 600 ft MSL
  wind        2000 m MSL from 260° at 45 km/h
  wind        surface from 90° at 20 km/h
  wind        1000 m MSL from 160° at 10 km/h
  wind        1400 m MSL from 230° at 25 km/h
  lift        2 m/s to 2500 m MSL
${TRAINING}
task Turning
  aircraft Finch with pilot 80 kg
  weather  Shear
  reserve  Training
  start    Larkfield at 2300 m MSL
  turn     Kiln
  climb    to 2500 m MSL
  finish   Larkfield
`,
  },
  {
    about: 'above 3000 m in thin and warm air, at the speed to fly',
    text: `
field Highmoor at 46.5100 N 9.8800 E
  elevation 1707 m
  arrive    250 m AGL

turnpoint "Glass Horn" at 46.7500 N 9.6200 E
  elevation 3050 m
${HERON}
weather Alpine
  qnh         1025 hPa
  temperature 19 °C at 1707 m MSL
  wind        surface from 200° at 3 m/s
  wind        3500 m MSL from 225° at 9 m/s
  wind        5000 m MSL from 240° at 15 m/s
  lift        3 m/s to 5000 m MSL
  sink        0.4 m/s
reserve Mountain
  arrive      200 m AGL
  turn        300 m AGL
  performance 75 %
  altimeter   50 m
task High
  aircraft Heron with pilot 85 kg
  weather  Alpine
  reserve  Mountain
  start    Highmoor at 4200 m MSL
  turn     "Glass Horn" at maccready 1.5 m/s
  climb    to 4900 m MSL at 2.2 m/s
  finish   Highmoor at maccready 3 kt
`,
  },
  {
    about: 'full ballast, and every unit of mass',
    text: `
${LARKFIELD}
turnpoint Ferry at 47.5500 N 19.7000 E
  elevation 340 ft
${HERON.replace('265 kg', '584.2 lb')}
${CALM}
${TRAINING}
task Heavy
  aircraft Heron with pilot 187.4 lb and ballast 180 kg
  weather  Calm
  reserve  Training
  start    Larkfield at 2500 m MSL
  turn     Ferry at 150 km/h
  climb    to 2700 m MSL
  finish   Larkfield at maccready 2 m/s
`,
  },
  {
    about: 'a start at a flight level with a low QNH, and a climb to one',
    text: `
${LARKFIELD}
turnpoint Ferry at 47.4100 N 19.7000 E
  elevation 340 ft
${FINCH}
weather Low
  qnh         978 hPa
  temperature 9 °C at 190 m MSL
  wind        FL30 from 120° at 12 kt
  wind        FL70 from 160° at 22 kt
  lift        2 kt to FL90
${TRAINING}
task Level
  aircraft Finch with pilot 70 kg
  weather  Low
  reserve  Training
  start    Larkfield at FL85
  turn     Ferry
  climb    to FL75
  finish   Larkfield at 65 mph
`,
  },
  {
    about: 'a cold day with a high QNH',
    text: `
${LARKFIELD}
field Reedham at 47.0200 N 19.3000 E
  elevation 131 m
${FINCH}
weather Frost
  qnh         1044 hPa
  temperature -18 °C at 190 m MSL
  wind        surface from 030° at 4 kt
  wind        1500 m MSL from 050° at 18 kt
  lift        1 kt to 1500 m MSL
${TRAINING}
task Cold
  aircraft Finch with pilot 95 kg
  weather  Frost
  reserve  Training
  start    Larkfield at FL55
  turn     Reedham at 100 km/h
  climb    to 1900 m MSL
  finish   Larkfield
`,
  },
  {
    about: 'a hot day with sinking air, and a glide ratio to plan on',
    text: `
${LARKFIELD}
field Reedham at 47.0200 N 19.3000 E
  elevation 131 m
${FINCH}
weather Heat
  qnh         1006 hPa
  temperature 104 °F at 190 m MSL
  wind        1000 m MSL from 110° at 5 mph
  lift        900 ft/min to 3500 m MSL
  sink        120 ft/min
reserve Careful
  arrive      300 m AGL
  turn        400 m AGL
  performance 20:1
  altimeter   40 m
task Hot
  aircraft Finch with pilot 95 kg and ballast 40 kg
  weather  Heat
  reserve  Careful
  start    Larkfield at 3300 m MSL
  turn     Reedham
  climb    to 3400 m MSL at 400 ft/min
  finish   Larkfield at 62 mph
`,
  },
  {
    about: 'a head wind that leaves little headway aloft',
    text: `
${LARKFIELD}
field Reedham at 47.2200 N 19.3200 E
  elevation 131 m
${FINCH}
weather Gale
  qnh         1001 hPa
  temperature 11 °C at 190 m MSL
  wind        surface from 280° at 25 kt
  wind        1500 m MSL from 282° at 46 kt
  lift        2 kt to 2000 m MSL
${TRAINING}
task Against
  aircraft Finch with pilot 82 kg
  weather  Gale
  reserve  Training
  start    Larkfield at 1900 m MSL
  turn     Reedham at 52 kt
  climb    to 2000 m MSL
  finish   Larkfield
`,
  },
  {
    about: 'legs that end below the ground, one with a climb after it and one without',
    text: `
${LARKFIELD}
turnpoint Kiln at 47.4900 N 19.7600 E
  elevation 380 m

turnpoint Ferry at 47.6100 N 20.1000 E
  elevation 90 m
${FINCH}
${CALM}
${TRAINING}
task Short
  aircraft Finch with pilot 82 kg
  weather  Calm
  reserve  Training
  start    Larkfield at 1400 m MSL
  turn     Kiln at 80 kt
  turn     Ferry
  climb    to 2400 m MSL
  turn     Kiln at 50 kt
  finish   Larkfield at 55 kt
`,
  },
  {
    about: 'two climbs along one leg and one overhead, with rates of their own',
    text: `
${LARKFIELD}
turnpoint Kiln at 47.5800 N 19.9600 E
  elevation 300 m
${FINCH}
weather Streets
  qnh         1016 hPa
  temperature 21 °C at 190 m MSL
  wind        surface from 330° at 6 kt
  wind        2000 m MSL from 345° at 19 kt
  lift        4 kt to 2400 m MSL
  sink        0.4 kt
${TRAINING}
task Streets
  aircraft Finch with pilot 82 kg
  weather  Streets
  reserve  Training
  start    Larkfield at 900 m MSL
  climb    to 2000 m MSL
  climb    to 2100 m MSL at 2 m/s after 14 km
  climb    to 2300 m MSL after 17 NM
  turn     Kiln
  climb    to 2200 m MSL at 250 ft/min
  climb    to 2400 m MSL at 3 kt after 20 mi
  finish   Larkfield at maccready 2 kt
`,
  },
  {
    about: 'speeds in four units, on legs of a kilometre and of metres',
    text: `
${LARKFIELD}
turnpoint Gate at 47.2121 N 19.4410 E
  elevation 192 m

turnpoint Stile at 47.2119 N 19.4465 E
  elevation 628 ft
${HERON}
weather Light
  qnh         30.12 inHg
  temperature 61 °F at 620 ft MSL
  wind        surface from 300° at 4 mph
  wind        600 m MSL from 310° at 5 m/s
${TRAINING}
task Near
  aircraft Heron with pilot 88 kg
  weather  Light
  reserve  Training
  start    Larkfield at 900 m MSL
  turn     Gate at 30 m/s
  turn     Stile at 65 mph
  turn     Gate at 56 kt
  turn     Stile at 110 km/h
  finish   Larkfield
`,
  },
  {
    about: 'the southern hemisphere, over the antimeridian and back',
    text: `
field Southdown at 38°41.5'S 179°48.20'E
  elevation 12 m

turnpoint Dateline at 38°48'00"S 179°52'30"W
  elevation 0 m
${HERON}
weather Ocean
  qnh         1013 hPa
  temperature 17 °C at 12 m MSL
  wind        surface from 250° at 9 kt
  wind        5000 ft MSL from 270° at 24 kt
  lift        2 kt to 6000 ft MSL
${TRAINING}
task Over
  aircraft Heron with pilot 70 kg
  weather  Ocean
  reserve  Training
  start    Southdown at 4800 ft MSL
  turn     Dateline
  climb    to 5600 ft MSL
  finish   Southdown at 70 kt
`,
  },
  {
    about: 'the western hemisphere and the equator',
    text: `
field Line at 0°05.000'N 50°02.0'W
  elevation 8 m

turnpoint Delta at 0.2100 S 50.2300 W
  elevation 3 m
${FINCH}
weather Trade
  qnh         1011 hPa
  temperature 31 °C at 8 m MSL
  wind        surface from 085° at 10 kt
  lift        3 kt to 5000 ft MSL
${TRAINING}
task Equator
  aircraft Finch with pilot 70 kg
  weather  Trade
  reserve  Training
  start    Line at 6000 ft AGL
  turn     Delta
  climb    to 5800 ft AGL
  finish   Line
`,
  },
  {
    about: 'a turn over a field that asks for more than the reserve, and one that asks for less',
    text: `
${LARKFIELD}
field Reedham at 47.0200 N 19.3000 E
  elevation 131 m
  runway 12/30 700 m surface grass circuit left
  arrive 1900 ft AGL

field Hollow at 47.1200 N 19.1500 E
  elevation 210 m
  arrive 500 ft AGL
${FINCH}
weather Fair
  qnh         1015 hPa
  temperature 20 °C at 190 m MSL
  wind        surface from 180° at 7 kt
  wind        5000 ft MSL from 200° at 15 kt
  lift        3 kt to 6000 ft MSL
${TRAINING}
task Fields
  aircraft Finch with pilot 78 kg
  weather  Fair
  reserve  Training
  start    Larkfield at 5200 ft MSL
  turn     Reedham
  climb    to 5000 ft MSL
  turn     Hollow at best glide
  climb    to 5400 ft MSL
  finish   Larkfield at 58 kt
`,
  },
  {
    about: 'a polar of seven points that no parabola meets, and a start over ground given in kilometres',
    text: `
${LARKFIELD}
turnpoint Ferry at 47.4100 N 19.7000 E
  elevation 0.1 km MSL
aircraft Wren
  polar        70 km/h sink 0.78 m/s
  polar        80 km/h sink 0.69 m/s
  polar        90 km/h sink 0.74 m/s
  polar        105 km/h sink 0.93 m/s
  polar        125 km/h sink 1.41 m/s
  polar        145 km/h sink 2.02 m/s
  polar        170 km/h sink 3.18 m/s
  polar mass   700 lb
  empty mass   230 kg
  maximum mass 900 lb
  vs           62 km/h
  va           150 km/h
  vno          160 km/h
  vne          210 km/h
weather Fair
  qnh         1015 hPa
  temperature 20 °C at 190 m MSL
  wind        4000 ft MSL from 310° at 17 kt
  lift        3 kt to 6000 ft MSL
reserve Plain
  arrive      0.3 km AGL
  turn        0.25 mi AGL
  performance 85 %
task Points
  aircraft Wren with pilot 70 kg
  weather  Fair
  reserve  Plain
  start    Larkfield at 5200 ft MSL
  turn     Ferry
  climb    to 5000 ft MSL
  finish   Larkfield at maccready 1 m/s
`,
  },
];

// ── Plans at random ──────────────────────────────────────────────────────────────────────────────────────────────────

/** A seeded source of numbers in [0, 1): Mulberry32 (T. Ettinger, public domain). */
function mulberry(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32;
  };
}

const LENGTHS = [
  ['m', 1],
  ['km', 1000],
  ['ft', 0.3048],
  ['NM', 1852],
  ['mi', 1609.344],
] as const;
const HEIGHTS = [LENGTHS[0], LENGTHS[0], LENGTHS[2], LENGTHS[2], LENGTHS[1]] as const;
const SPEEDS = [
  ['kt', 1852 / 3600],
  ['km/h', 1 / 3.6],
  ['mph', 0.44704],
  ['m/s', 1],
] as const;
const SINKS = [
  ['kt', 1852 / 3600],
  ['m/s', 1],
  ['ft/min', 0.00508],
] as const;
const MASSES = [
  ['kg', 1],
  ['lb', 0.45359237],
] as const;

/**
 * A plan that can be computed in full, drawn at random. The seed is part of every name, so that plans of several seeds
 * can stand in one file.
 */
export function randomPlan(seed: number): string {
  const random = mulberry(seed);
  const between = (low: number, high: number) => low + (high - low) * random();
  const pick = <T>(choices: readonly T[]): T => choices[Math.floor(random() * choices.length)] as T;
  const chance = (share: number) => random() < share;
  const write = (value: number, units: readonly (readonly [string, number])[], digits: number) => {
    const [unit, size] = pick(units);
    return `${(value / size).toFixed(digits + Math.max(0, Math.round(Math.log10(size))))} ${unit}`;
  };
  const lengthOf = (metres: number) => write(metres, LENGTHS, 0);
  const heightOf = (metres: number) => write(metres, HEIGHTS, 0);
  const speedOf = (speed: number) => write(speed, SPEEDS, 2);
  const sinkOf = (sink: number) => write(sink, SINKS, 3);
  const massOf = (mass: number) => write(mass, MASSES, 1);

  const lines: string[] = [];
  const name = (word: string) => (chance(0.3) ? `"${word} ${seed}"` : `${word}-${seed}`);
  const latitude = between(-62, 66);
  const longitude = chance(0.15) ? between(179, 181) : between(-179, 179);
  const ground = between(20, 900);
  const points: { name: string; latitude: number; longitude: number; elevation: number }[] = [];
  const count = 1 + Math.floor(between(1, 4));
  for (let i = 0; i < count; i++) {
    const far =
      i === 0 ? 0 : chance(0.1) ? between(300, 2000) : chance(0.12) ? between(90_000, 150_000) : between(5000, 60_000);
    const way = between(0, 2 * Math.PI);
    const point = {
      name: name(pick(['Oakholt', 'Ashby', 'Moorend', 'Stonely', 'Merle'])).replace(/(\d+"?)$/, `${i}-$1`),
      latitude: latitude + (far * Math.cos(way)) / 111_200,
      longitude: longitude + (far * Math.sin(way)) / (111_200 * Math.cos((latitude * Math.PI) / 180)),
      elevation: ground + between(-20, 200),
    };
    points.push(point);
    const field = i === 0 || chance(0.4);
    lines.push(
      `${field ? 'field' : 'turnpoint'} ${point.name} at ${coordinates(point, pick(['degrees', 'minutes', 'seconds']))}`,
      `  elevation ${heightOf(point.elevation)}${chance(0.2) ? ' MSL' : ''}`,
    );
    if (field && chance(0.3)) lines.push(`  arrive ${heightOf(between(100, 500))} AGL`);
  }

  // A polar by its shape: the least sink lies a share q below the speed of best glide U.
  const ratio = between(26, 52);
  const U = between(23, 31);
  const q = between(0.1, 0.2);
  const a = 1 / (2 * ratio * q * U);
  const sink = (speed: number) => a * speed * speed + (1 / ratio - 2 * a * U) * speed + a * U * U;
  const polarMass = between(290, 500);
  const aircraft = name(pick(['Finch', 'Heron', 'Plover']));
  lines.push(`aircraft ${aircraft}`);
  if (chance(0.4))
    lines.push(
      `  best glide ${ratio.toFixed(1)}:1 at ${speedOf(U)}`,
      `  minimum sink ${sinkOf(sink(U * (1 - q)))} at ${speedOf(U * (1 - q))}`,
    );
  else {
    const measured = 3 + Math.floor(between(0, 5));
    for (let i = 0; i < measured; i++) {
      const speed = U * (0.8 + (1.1 * i) / (measured - 1));
      const spread = measured > 3 ? between(0.98, 1.02) : 1;
      lines.push(`  polar ${speedOf(speed)} sink ${sinkOf(sink(speed) * spread)}`);
    }
  }
  lines.push(
    `  polar mass ${massOf(polarMass)}`,
    `  empty mass ${massOf(polarMass - between(70, 110))}`,
    `  maximum mass ${massOf(polarMass + 300)}`,
    '  ballast up to 200 kg',
    '  pilot 50 kg to 120 kg',
    `  vs ${speedOf(0.66 * U)}`,
    `  va ${speedOf(1.5 * U)}`,
    `  vno ${speedOf(between(1.55, 1.9) * U)}`,
    `  vne ${speedOf(between(2, 2.6) * U)}`,
  );

  const weather = name(pick(['Morning', 'Noon', 'Evening']));
  lines.push(`weather ${weather}`);
  lines.push(
    chance(0.7) ? `  qnh ${between(975, 1045).toFixed(0)} hPa` : `  qnh ${between(28.8, 30.8).toFixed(2)} inHg`,
  );
  if (chance(0.85)) {
    const celsius = between(-20, 38);
    const written = chance(0.3) ? `${(celsius * 1.8 + 32).toFixed(0)} °F` : `${celsius.toFixed(1)} °C`;
    lines.push(`  temperature ${written} at ${chance(0.1) ? 'FL45' : `${heightOf(points[0]?.elevation ?? 0)} MSL`}`);
  }
  const strong = chance(0.15) ? 22 : 13;
  const layers = Math.floor(between(0, 5));
  const from = between(0, 360);
  for (let i = 0; i < layers; i++) {
    const at = ground + 300 + i * between(400, 1100) + between(0, 300);
    const high = chance(0.15) ? `FL${(at / 30.48).toFixed(0)}` : `${heightOf(at)} MSL`;
    const direction = (((from + between(-20, 40) * i) % 360) + 360) % 360;
    lines.push(
      `  wind ${i === 0 && chance(0.6) ? 'surface' : high} from ${direction.toFixed(0).padStart(3, '0')}° at ${speedOf(
        between(0, strong) * (0.4 + 0.15 * i),
      )}`,
    );
  }
  lines.push(`  lift ${sinkOf(between(0.5, 4))} to ${heightOf(9000)} MSL`);
  if (chance(0.5)) lines.push(`  sink ${sinkOf(between(0.05, 0.6))}`);

  const reserve = name('Reserve');
  lines.push(
    `reserve ${reserve}`,
    `  arrive ${heightOf(between(150, 400))} AGL`,
    `  turn ${heightOf(between(200, 500))} AGL`,
    chance(0.7)
      ? `  performance ${between(55, 100).toFixed(0)} %`
      : `  performance ${(ratio * between(0.55, 0.9)).toFixed(1)}:1`,
  );
  if (chance(0.7)) lines.push(`  altimeter ${write(between(0, 90), [LENGTHS[0], LENGTHS[2]], 0)}`);

  const pilot = ` with pilot ${massOf(between(55, 115))}`;
  const ballast = chance(0.4) ? ` and ballast ${massOf(between(5, 190))}` : '';
  lines.push(
    `task "Task ${seed}"`,
    `  aircraft ${aircraft}${chance(0.9) ? pilot : ''}${ballast}`,
    `  weather ${weather}`,
    `  reserve ${reserve}`,
  );
  // Tops rise from climb to climb, so that none can lead down.
  let top = ground + between(1300, 2600);
  const start = points[0];
  lines.push(
    `  start ${start?.name} at ${pick([`${heightOf(top)} MSL`, `${heightOf(top - ground)} AGL`, `FL${(top / 30.48).toFixed(0)}`])}`,
  );
  top += 500;
  const legs = 1 + Math.floor(between(1, 4));
  let here = 0;
  for (let i = 0; i < legs; i++) {
    const there = i === legs - 1 && here !== 0 ? 0 : (here + 1 + Math.floor(between(0, count - 1))) % count;
    if (i > 0 ? chance(0.8) : chance(0.3)) {
      const rate = chance(0.4) ? ` at ${sinkOf(between(0.4, 3))}` : '';
      lines.push(`  climb to ${heightOf(top)} MSL${rate}`);
      top += between(60, 300);
    }
    const [one, other] = [points[here], points[there]];
    const north = ((other?.latitude ?? 0) - (one?.latitude ?? 0)) * 111_200;
    const east =
      ((other?.longitude ?? 0) - (one?.longitude ?? 0)) * 111_200 * Math.cos(((one?.latitude ?? 0) * Math.PI) / 180);
    for (let along = between(0.15, 1.6); along < 0.85; along += between(0.2, 1)) {
      lines.push(`  climb to ${heightOf(top)} MSL after ${lengthOf(along * Math.hypot(north, east))}`);
      top += between(60, 300);
    }
    const speed = pick([
      '',
      '',
      ' at best glide',
      ` at ${speedOf(U * between(0.85, 1.5))}`,
      ` at ${speedOf(U * between(0.85, 1.5))}`,
      ` at maccready ${sinkOf(between(0.1, 2))}`,
    ]);
    lines.push(`  ${i === legs - 1 ? 'finish' : 'turn'} ${other?.name}${speed}`);
    here = there;
  }
  return `${lines.join('\n')}\n`;
}

/** A position in one of the three notations of the language. */
function coordinates(at: { latitude: number; longitude: number }, notation: 'degrees' | 'minutes' | 'seconds'): string {
  const longitude = at.longitude > 180 ? at.longitude - 360 : at.longitude;
  const written = (angle: number, letters: string, width: number) => {
    const letter = letters[angle < 0 ? 1 : 0];
    const size = Math.abs(angle);
    if (notation === 'degrees') return `${size.toFixed(4)} ${letter}`;
    const total = notation === 'minutes' ? Math.round(size * 6000) / 100 : Math.round(size * 3600) / 60;
    const whole = Math.floor(total / 60 + 1e-9);
    const minutes = Math.max(0, total - whole * 60);
    const degrees = `${whole}`.padStart(width, '0');
    if (notation === 'minutes') return `${degrees}°${minutes.toFixed(2).padStart(5, '0')}'${letter}`;
    const seconds = Math.round(minutes * 60);
    const pair = [Math.floor(seconds / 60), seconds % 60].map((part) => `${part}`.padStart(2, '0'));
    return `${degrees}°${pair[0]}'${pair[1]}"${letter}`;
  };
  return `${written(at.latitude, 'NS', 2)} ${written(longitude, 'EW', 3)}`;
}
