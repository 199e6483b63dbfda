/** What a task is computed from: every entry and line that it names, as numbers in SI, or why it is not computed. */
import { describe, expect, test } from 'vitest';
import {
  altitudeOfFlightLevel,
  bestGlideRatio,
  evaluateLeg,
  glideBackward,
  type LegInput,
  magneticVariation,
  planned,
  polarFromPoints,
  speedToFly,
  track,
  windProfile,
} from '../../server/flight/index.ts';
import type { Place } from '../../server/plan/place.ts';
import { NO_SURROUNDINGS } from '../../server/plan/surroundings.ts';
import {
  among,
  type Cause,
  climbsOf,
  evaluateTask,
  type LegEvaluation,
  type TaskEvaluation,
} from '../../server/plan/task.ts';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, lookUp, scopeOf, setFile, type Workspace } from '../../server/plan/workspace.ts';
import { readPlan, solveTask } from '../reference/solver.ts';

const ROOT = 'file:///plans';
const PLAN = `${ROOT}/plan.taskplan`;
const FT = 0.3048;
const KT = 1852 / 3600;

const POINTS = `field Larkfield at 47.2031 N 19.4410 E
  elevation 190 m
  runway    18/36 900 m
  frequency 122.905 MHz

field Ashmoor at 47.3105 N 19.7020 E
  elevation 160 m
  arrive    900 ft AGL

turnpoint "Withy Bridge" at 47.3380 N 19.5240 E
  elevation 140 m
  radius    500 m

turnpoint "Far Mill" at 46.9500 N 20.0000 E
  elevation 100 m
`;
const FINCH = `aircraft Finch
  polar        42 kt sink 1.35 kt
  polar        49 kt sink 1.53 kt
  polar        60 kt sink 2.05 kt
  polar        80 kt sink 3.70 kt
  polar mass   310 kg
  empty  mass  225 kg
  maximum mass 340 kg
  pilot        55 kg to 110 kg
  ballast up to 60 kg
  vs           34 kt
  va           80 kt
  vno          80 kt
  vne          115 kt
  crosswind    12 kt
  landing      300 m
`;
const BREEZY = `weather Breezy
  date        2026-06-13
  qnh         1018 hPa
  temperature 24 °C at 190 m MSL
  wind        surface from 230° at 8 kt
  wind        3000 ft MSL from 245° at 14 kt
  wind        6000 ft MSL from 255° at 20 kt
  lift        3 kt to 5800 ft MSL
  sink        0.2 kt
  cloudbase   6200 ft MSL
  thermals    09:00Z to 17:00Z
`;
const TRAINING = `reserve Training
  arrive      1000 ft AGL
  turn        1500 ft AGL
  clear       500 ft
  performance 70 %
  altimeter   150 ft
`;
const ROUND = [
  'start    Larkfield at 5000 ft MSL',
  'turn     "Withy Bridge" at 55 kt',
  'climb    to 5200 ft MSL',
  'finish   Ashmoor',
];
const FLOWN = `  aircraft Finch with pilot 82 kg
  weather  Breezy
  reserve  Training
`;
const taskText = (lines: readonly string[]) => `task Round\n${FLOWN}${lines.map((line) => `  ${line}\n`).join('')}`;
const planText = (lines: readonly string[] = ROUND) => [POINTS, FINCH, BREEZY, TRAINING, taskText(lines)].join('\n');

type Edit = readonly [was: string, now: string];

/** A text with these edits, each of which must hit. */
function edited(text: string, ...edits: readonly Edit[]): string {
  return edits.reduce((before, [was, now]) => {
    if (!before.includes(was)) throw new Error(`not in the plan: ${was}`);
    return before.replace(was, () => now);
  }, text);
}

function evaluated(workspace: Workspace, text: string): TaskEvaluation {
  const [task] = understand(workspace, setFile(workspace, PLAN, text)).tasks;
  if (!task) throw new Error('no task');
  return task;
}

/** As it is after an edit of the plan: what was known before must not show. */
function taskOf(text: string): TaskEvaluation {
  const workspace = createWorkspace([ROOT]);
  evaluated(workspace, planText());
  return evaluated(workspace, text);
}

const flown = (...lines: string[]) => taskOf(planText(lines));
const legOf = (task: TaskEvaluation, number = 1) => task.legs[number - 1] as LegEvaluation;

function result(leg: LegEvaluation | undefined) {
  if (leg?.result?.problem !== null) throw new Error(leg?.cause?.text ?? 'not flown');
  return leg.result;
}

/** The text that a place marks. */
const marked = ({ entry, span }: Place) => entry.text.slice(span.start, span.end);
const told = (cause: Cause | undefined) => cause && `${cause.text} @ ${marked(cause.at)}`;
const toldOfLegs = (task: TaskEvaluation) =>
  task.legs.map((leg) => told(leg.cause) ?? (leg.result && leg.input ? 'computed' : 'nothing'));

/** Plain data with numbers of nine digits. */
const plain = (value: unknown): unknown =>
  JSON.parse(
    JSON.stringify(value, (_, one) =>
      typeof one !== 'number' ? one : Number.isFinite(one) ? Number(one.toPrecision(9)) : String(one),
    ),
  );

const LARKFIELD = { latDeg: 47.2031, lonDeg: 19.441 };
const WITHY = { latDeg: 47.338, lonDeg: 19.524 };
const ASHMOOR = { latDeg: 47.3105, lonDeg: 19.702 };

function finchPolar() {
  const speeds = [
    [42, 1.35],
    [49, 1.53],
    [60, 2.05],
    [80, 3.7],
  ] as const;
  const fit = polarFromPoints(
    speeds.map(([speed, sink]) => ({ speedMps: speed * KT, sinkMps: sink * KT })),
    310,
  );
  if (fit.refused !== null) throw new Error('refused');
  return fit.polar;
}

/** What every leg of the plan above has in common, worked out by hand from its lines. */
const SETTING = {
  polar: finchPolar(),
  // 225 kg empty and 82 kg of pilot.
  massKg: 307,
  share: 0.7,
  sinkingAirMps: 0.2 * KT,
  // 24 °C is 297.15 K; the standard atmosphere has 288.15 K less 0.0065 K a metre, 286.915 K at 190 m.
  air: { qnhPa: 101_800, deltaTK: 297.15 - (288.15 - 0.0065 * 190) },
  wind: windProfile([
    { altitudeM: 190, fromDeg: 230, speedMps: 8 * KT },
    { altitudeM: 3000 * FT, fromDeg: 245, speedMps: 14 * KT },
    { altitudeM: 6000 * FT, fromDeg: 255, speedMps: 20 * KT },
  ]),
};
const LIMITS = { vsMps: 34 * KT, vneMps: 115 * KT, vnoMps: 80 * KT };

describe('what the legs are computed from', () => {
  const task = taskOf(planText());

  test('the first, at a speed that is written, to a turnpoint', () => {
    const { input } = legOf(task, 1);
    expect(plain(input)).toEqual(
      plain({
        setting: { ...SETTING, track: track(LARKFIELD, WITHY) },
        departAltitudeM: 5000 * FT,
        climbs: [],
        destination: { elevationM: 140, reserveM: 1500 * FT, altimeterM: 150 * FT },
        speed: { kind: 'indicated', indicatedMps: 55 * KT, span: legOf(task, 1).line.slots['speed']?.span },
        limits: LIMITS,
        lowestM: 140,
      } satisfies Record<Exclude<keyof LegInput, 'soaring'>, unknown>),
    );
  });

  test('the last, from the climb at the turn, at best glide, to a field', () => {
    expect(plain(legOf(task, 2).input)).toEqual(
      plain({
        setting: { ...SETTING, track: track(WITHY, ASHMOOR) },
        departAltitudeM: 5200 * FT,
        climbs: [],
        destination: { elevationM: 160, reserveM: 1000 * FT, altimeterM: 150 * FT },
        speed: { kind: 'bestGlide' },
        limits: LIMITS,
        lowestM: 140,
      }),
    );
  });

  test('and what each comes to is what such a leg comes to', () => {
    for (const leg of task.legs) expect(plain(leg.result)).toEqual(plain(evaluateLeg(leg.input as LegInput)));
  });

  test('the rest of what is said of the task', () => {
    expect(task).toMatchObject({ massKg: 307, massAssumed: false, uri: PLAN, causes: [], limits: [], looseClimbs: [] });
    expect(task.share).toBeCloseTo(0.7, 12);
    expect(plain(task.air)).toEqual(plain(SETTING.air));
    expect(plain(task.wind)).toEqual(plain(SETTING.wind));
    expect(plain(task.windLayers)).toEqual(
      plain([
        { altitudeM: 190, fromDeg: 230, speedMps: 8 * KT },
        { altitudeM: 3000 * FT, fromDeg: 245, speedMps: 14 * KT },
        { altitudeM: 6000 * FT, fromDeg: 255, speedMps: 20 * KT },
      ]),
    );
    expect(task.entry).toBe(task.task.entry);
    expect(task.start?.point?.meaning.name).toBe('Larkfield');
    expect(task.start?.altitudeM).toBeCloseTo(1524, 9);
    expect(task.start?.line).toBe(task.entry.details[3]);
    expect([task.aircraft, task.weather, task.reserve].map((one) => one && [one.meaning.name, marked(one.at)])).toEqual(
      [
        ['Finch', 'Finch'],
        ['Breezy', 'Breezy'],
        ['Training', 'Training'],
      ],
    );
  });

  test('the rest of what is said of the legs', () => {
    const words = task.legs.map((leg) => ({
      number: leg.number,
      kind: leg.kind,
      from: [leg.fromName, leg.from?.meaning.name],
      to: [leg.toName, leg.to?.meaning.name],
      line: marked({ uri: PLAN, entry: task.entry, span: leg.line.span }),
      height: leg.heightLine && marked({ uri: PLAN, entry: task.entry, span: leg.heightLine.span }),
      asks: leg.asks?.at && marked(leg.asks.at),
      assumed: leg.departAssumed,
      soar: leg.soar,
      climbs: leg.climbs.length,
    }));
    expect(words).toEqual([
      {
        number: 1,
        kind: 'turn',
        from: ['Larkfield', 'Larkfield'],
        to: ['Withy Bridge', 'Withy Bridge'],
        line: 'turn     "Withy Bridge" at 55 kt',
        height: 'start    Larkfield at 5000 ft MSL',
        asks: 'turn        1500 ft AGL',
        assumed: false,
        soar: undefined,
        climbs: 0,
      },
      {
        number: 2,
        kind: 'finish',
        from: ['Withy Bridge', 'Withy Bridge'],
        to: ['Ashmoor', 'Ashmoor'],
        line: 'finish   Ashmoor',
        height: 'climb    to 5200 ft MSL',
        asks: 'arrive      1000 ft AGL',
        assumed: false,
        soar: undefined,
        climbs: 1,
      },
    ]);
  });

  test('the totals are the sums of the legs and the climbs', () => {
    const [one, two] = [result(legOf(task, 1)), result(legOf(task, 2))];
    // From where the first leg ends up to 5,200 ft, at 3 kt.
    const climbTimeS = (5200 * FT - one.arriveAltitudeM) / (3 * KT);
    expect(task.totals.distanceM).toBeCloseTo(one.distanceM + two.distanceM, 9);
    expect(task.totals.glideTimeS).toBeCloseTo(one.timeS + two.timeS, 9);
    expect(task.totals.climbTimeS).toBeCloseTo(climbTimeS, 6);
    expect(task.totals.timeS).toBeCloseTo(one.timeS + two.timeS + climbTimeS, 6);
  });

  test('the heights agree with the reference solver', () => {
    const text = edited(planText(), ['empty  mass', 'empty mass']);
    const { legs } = taskOf(text);
    const plan = readPlan(text.replace(/^ {2}(ballast up|thermals|landing).*\n/gm, ''));
    const reference = solveTask(plan, plan.tasks[0] as (typeof plan.tasks)[0]);
    for (const [i, leg] of legs.entries()) {
      const theirs = reference.legs[i];
      expect(Math.abs(result(leg).arriveAltitudeM - (theirs?.flown?.arriveAltitudeM ?? 0))).toBeLessThan(0.5);
      expect(Math.abs(result(leg).askedAltitudeM - (theirs?.askedAltitudeM ?? 0))).toBeLessThan(0.01);
    }
  });

  test('an entry that is no task has no evaluation', () => {
    const workspace = createWorkspace([ROOT]);
    const file = setFile(workspace, PLAN, planText());
    const scope = scopeOf(workspace, file);
    for (const [kind, name] of [
      ['point', 'Larkfield'],
      ['aircraft', 'Finch'],
    ] as const) {
      const [defined] = lookUp(scope, kind, name);
      expect(defined && evaluateTask(defined, scope)).toBeUndefined();
    }
  });
});

describe('what is lost', () => {
  const all = (cause: string) => [cause, cause];

  test('a line without which every height is the same costs nothing', () => {
    const before = taskOf(planText());
    for (const [was, now] of [
      ['runway    18/36 900 m', 'runway 18/37 900 m'],
      ['122.905 MHz', '122.905'],
      ['frequency 122.905 MHz', 'noet "x"'],
      ['frequency 122.905 MHz', 'zzzzzzz 5'],
      ['radius    500 m', 'radius 500'],
      ['radius    500 m', 'noet "x"'],
      ['55 kg to 110 kg', '55 kg to 110'],
      ['ballast up to 60 kg', 'ballast up to 60'],
      ['va           80 kt', 'va 80'],
      ['crosswind    12 kt', 'crosswind 12'],
      ['landing      300 m', 'landing 300'],
      ['landing      300 m', 'noet "x"'],
      ['2026-06-13', '2026-06-33'],
      ['lift        3 kt', 'lift 3'],
      ['cloudbase   6200 ft MSL', 'cloudbase 6200 ft'],
      ['09:00Z', '09:00'],
      ['thermals    09:00Z to 17:00Z', 'noet "x"'],
      ['clear       500 ft', 'clear 500'],
      ['clear       500 ft', 'noet "x"'],
    ] as const) {
      const after = taskOf(edited(planText(), [was, now]));
      expect([was, after.causes, toldOfLegs(after)]).toEqual([was, [], ['computed', 'computed']]);
      for (const [i, leg] of after.legs.entries()) expect(leg.result).toEqual(before.legs[i]?.result);
    }
  });

  test('a line of an entry that all legs rest on costs all of them, and is named as it is written', () => {
    for (const [was, now, name] of [
      ['42 kt sink 1.35 kt', '42 kt sink 1.35', 'polar` of Finch'],
      ['maximum mass 340 kg', 'maximum  mass 340', 'maximum mass` of Finch'],
      ['vs           34 kt', 'vs 34', 'vs` of Finch'],
      ['vno          80 kt', 'vno 80', 'vno` of Finch'],
      ['vne          115 kt', 'vnee 115 kt', 'vnee` of Finch'],
      ['qnh         1018 hPa', 'qnh 1018', 'qnh` of Breezy'],
      ['temperature 24 °C', 'temperature 24', 'temperature` of Breezy'],
      ['at 190 m MSL', 'at 190 m AGL', 'temperature` of Breezy'],
      ['230° at 8 kt', '230° at 8', 'wind` of Breezy'],
      ['sink        0.2 kt', 'sink 0.2', 'sink` of Breezy'],
      ['arrive      1000 ft AGL', 'arrive 1000 ft', 'arrive` of Training'],
      ['turn        1500 ft AGL', 'turn 1500 ft', 'turn` of Training'],
      ['performance 70 %', 'performance 70', 'performance` of Training'],
      ['altimeter   150 ft', 'altimeter 150', 'altimeter` of Training'],
    ] as const) {
      const task = taskOf(edited(planText(), [was, now]));
      const cause = `the line \`${name} cannot be read`;
      expect(task.causes.map(({ text }) => text)).toEqual([cause]);
      expect(task.legs.map((leg) => leg.cause?.text)).toEqual(all(cause));
      const at = task.causes[0]?.at as Place;
      expect(edited(planText(), [was, now])).toContain(`\n  ${marked(at)}\n`);
      expect(task.legs.every(({ input, result: none }) => !input && !none)).toBe(true);
    }
  });

  // What is edited; the causes of the whole task; what is said of its legs.
  const rows: readonly (readonly [edits: readonly Edit[], causes: readonly string[], legs: readonly string[]])[] = [
    [
      [['  polar mass   310 kg\n', '']],
      ['Finch has no `polar mass` @ Finch'],
      all('Finch has no `polar mass` @ Finch'),
    ],
    [
      [['polar mass   310 kg', 'polar mass 310']],
      ['the line `polar mass` of Finch cannot be read @ polar mass 310', 'Finch has no `polar mass` @ Finch'],
      all('the line `polar mass` of Finch cannot be read @ polar mass 310'),
    ],
    [
      [['  empty  mass  225 kg\n', '']],
      ['Finch has no `empty mass` @ Finch'],
      all('Finch has no `empty mass` @ Finch'),
    ],
    [
      [['empty  mass  225 kg', 'empty  mass  225']],
      ['the line `empty mass` of Finch cannot be read @ empty  mass  225', 'Finch has no `empty mass` @ Finch'],
      all('the line `empty mass` of Finch cannot be read @ empty  mass  225'),
    ],
    [[['  vs           34 kt\n', '']], ['Finch has no `vs` @ Finch'], all('Finch has no `vs` @ Finch')],
    [[['  vne          115 kt\n', '']], ['Finch has no `vne` @ Finch'], all('Finch has no `vne` @ Finch')],
    [
      [[FINCH.slice(FINCH.indexOf('  polar '), FINCH.indexOf('  polar mass')), '']],
      ['Finch has no polar @ Finch'],
      all('Finch has no polar @ Finch'),
    ],
    [
      [['vne          115 kt', 'vne 30 kt']],
      ['the polar of Finch is refused @ polar        42 kt sink 1.35 kt'],
      all('the polar of Finch is refused @ polar        42 kt sink 1.35 kt'),
    ],
    [
      [['  aircraft Finch with pilot 82 kg\n', '']],
      ['the task names no aircraft @ Round'],
      all('the task names no aircraft @ Round'),
    ],
    [
      [
        ['  aircraft Finch with pilot 82 kg\n', ''],
        ['task Round', 'task'],
      ],
      [
        `the task names no aircraft @ ${taskText(ROUND)
          .replace('task Round', 'task')
          .replace(/ {2}aircraft.*\n/, '')
          .trimEnd()}`,
      ],
      all(
        `the task names no aircraft @ ${taskText(ROUND)
          .replace('task Round', 'task')
          .replace(/ {2}aircraft.*\n/, '')
          .trimEnd()}`,
      ),
    ],
    [
      [['aircraft Finch with pilot 82 kg', 'aircraft']],
      ['the line `aircraft` cannot be read @ aircraft'],
      all('the line `aircraft` cannot be read @ aircraft'),
    ],
    [[['Finch with', 'Fink with']], ['no aircraft `Fink` is known @ Fink'], all('no aircraft `Fink` is known @ Fink')],
    [
      [['aircraft Finch with', 'aircarft Finch with']],
      ['the line `aircarft` cannot be read @ aircarft Finch with pilot 82 kg'],
      all('the line `aircarft` cannot be read @ aircarft Finch with pilot 82 kg'),
    ],
    [
      [['pilot 82 kg', 'pilot 82']],
      [
        'the line `aircraft` cannot be read @ aircraft Finch with pilot 82',
        'the mass on board cannot be read @ aircraft Finch with pilot 82',
      ],
      all('the line `aircraft` cannot be read @ aircraft Finch with pilot 82'),
    ],
    [
      [['pilot 82 kg', 'pilot 82 kg and ballast 10']],
      [
        'the line `aircraft` cannot be read @ aircraft Finch with pilot 82 kg and ballast 10',
        'the mass on board cannot be read @ aircraft Finch with pilot 82 kg and ballast 10',
      ],
      all('the line `aircraft` cannot be read @ aircraft Finch with pilot 82 kg and ballast 10'),
    ],
    [
      [['weather  Breezy', 'weather']],
      ['the line `weather` cannot be read @ weather'],
      all('the line `weather` cannot be read @ weather'),
    ],
    [
      [['weather  Breezy', 'weather  Calm']],
      ['no weather `Calm` is known @ Calm'],
      all('no weather `Calm` is known @ Calm'),
    ],
    [
      [['weather  Breezy', 'wether  Breezy']],
      ['the line `wether` cannot be read @ wether  Breezy'],
      all('the line `wether` cannot be read @ wether  Breezy'),
    ],
    [
      [['reserve  Training', 'reserve']],
      ['the line `reserve` cannot be read @ reserve'],
      all('the line `reserve` cannot be read @ reserve'),
    ],
    [
      [['reserve  Training', 'reserve  Normal']],
      ['no reserve `Normal` is known @ Normal'],
      all('no reserve `Normal` is known @ Normal'),
    ],
    [
      [['reserve  Training', 'reserv  Training']],
      ['the line `reserv` cannot be read @ reserv  Training'],
      all('the line `reserv` cannot be read @ reserv  Training'),
    ],
    [
      [['performance 70 %', 'performance 60:1']],
      ['the reserve plans on a better glide than the 32.0:1 of Finch @ 60:1'],
      all('the reserve plans on a better glide than the 32.0:1 of Finch @ 60:1'),
    ],
    [
      [
        ['performance 70 %', 'performance 60:1'],
        ['Finch with', 'Fink with'],
      ],
      ['no aircraft `Fink` is known @ Fink'],
      all('no aircraft `Fink` is known @ Fink'),
    ],
    // Everything that is missing is said of the task, the first of it of the legs.
    [
      [
        ['Finch with', 'Fink with'],
        ['weather  Breezy', 'weather  Calm'],
        ['reserve  Training', 'reserve  Normal'],
      ],
      [
        'no aircraft `Fink` is known @ Fink',
        'no weather `Calm` is known @ Calm',
        'no reserve `Normal` is known @ Normal',
      ],
      all('no aircraft `Fink` is known @ Fink'),
    ],
    [
      [
        ['sink        0.2 kt', 'sink 0.2'],
        ['altimeter   150 ft', 'altimeter 150'],
        ['vno          80 kt', 'vno 80'],
      ],
      [
        'the line `sink` of Breezy cannot be read @ sink 0.2',
        'the line `altimeter` of Training cannot be read @ altimeter 150',
        'the line `vno` of Finch cannot be read @ vno 80',
      ],
      all('the line `sink` of Breezy cannot be read @ sink 0.2'),
    ],
    // A point costs the legs to it and from it, as far as their height is not known again.
    [
      [['47.2031 N 19.4410 E', '47.2031 N']],
      [],
      ['the first line of Larkfield cannot be read @ field Larkfield at 47.2031 N', 'computed'],
    ],
    [[['47.3105 N 19.7020 E', '']], [], ['computed', 'the first line of Ashmoor cannot be read @ field Ashmoor at']],
    [[['field Ashmoor', 'field']], [], ['computed', 'no field or turnpoint `Ashmoor` is known @ Ashmoor']],
    [[['  elevation 160 m\n', '']], [], ['computed', 'Ashmoor has no `elevation` @ Ashmoor']],
    [[['  elevation 140 m\n', '']], [], ['Withy Bridge has no `elevation` @ "Withy Bridge"', 'computed']],
    [
      [['elevation 140 m', 'elevation 140']],
      [],
      all('the line `elevation` of Withy Bridge cannot be read @ elevation 140'),
    ],
    [[['900 ft AGL', '900 ft']], [], ['computed', 'the line `arrive` of Ashmoor cannot be read @ arrive    900 ft']],
    [[['turn     "Withy Bridge" at', 'turn at']], [], all('the line `turn` cannot be read @ turn at 55 kt')],
    [
      [['turn     "Withy Bridge"', 'turn "Withy Brigde"']],
      [],
      all('no field or turnpoint `Withy Brigde` is known @ "Withy Brigde"'),
    ],
    [[['at 55 kt', 'at 55']], [], ['the line `turn` cannot be read @ turn     "Withy Bridge" at 55', 'computed']],
    [
      [
        ['at 55 kt', 'at 55'],
        ['  climb    to 5200 ft MSL\n', ''],
      ],
      [],
      all('the line `turn` cannot be read @ turn     "Withy Bridge" at 55'),
    ],
    [
      [['turn     "Withy Bridge" at', 'trun "Withy Bridge" at']],
      [],
      all('the line `trun` cannot be read @ trun "Withy Bridge" at 55 kt'),
    ],
    [[['finish   Ashmoor', 'finish']], [], ['computed', 'the line `finish` cannot be read @ finish']],
    [
      [['finish   Ashmoor', 'finish   Ashmoor at 50']],
      [],
      ['computed', 'the line `finish` cannot be read @ finish   Ashmoor at 50'],
    ],
    // A climb costs the legs behind it.
    ...(['climb to 5200 ft', 'climb  to 5200 ft MSL after 3', 'climb to 5200 ft after 3 km'] as const).map(
      (line) =>
        [
          [['climb    to 5200 ft MSL', line]],
          [],
          ['computed', `the line \`climb to\` cannot be read @ ${line}`],
        ] as const,
    ),
    [
      [
        ['elevation 140 m', 'note "no height"'],
        ['climb    to 5200 ft MSL', 'climb to 1600 m AGL'],
      ],
      [],
      all('Withy Bridge has no `elevation` @ "Withy Bridge"'),
    ],
    // The start.
    [
      [['Larkfield at 5000 ft MSL', 'Larkfield at 5000 ft']],
      [],
      ['the line `start` cannot be read @ start    Larkfield at 5000 ft', 'computed'],
    ],
    [
      [
        ['  start    Larkfield at 5000 ft MSL\n', ''],
        ['  wind        surface from 230° at 8 kt\n', ''],
      ],
      [],
      ['the task has no `start` @ Round', 'computed'],
    ],
    [
      [
        ['start    Larkfield at', 'strat Larkfield at'],
        ['  wind        surface from 230° at 8 kt\n', ''],
      ],
      [],
      ['the line `strat` cannot be read @ strat Larkfield at 5000 ft MSL', 'computed'],
    ],
    [
      [
        ['start    Larkfield', 'start Larkfeild'],
        ['  climb    to 5200 ft MSL\n', ''],
      ],
      [],
      all('no field or turnpoint `Larkfeild` is known @ Larkfeild'),
    ],
    // A climb makes the height known, not where the glider is.
    [
      [
        ['start    Larkfield at 5000 ft MSL', 'start Larkfeild at 5000 ft MSL\n  climb to 5500 ft MSL'],
        ['  climb    to 5200 ft MSL\n', ''],
      ],
      [],
      all('no field or turnpoint `Larkfeild` is known @ Larkfeild'),
    ],
    [
      [['start    Larkfield at 5000 ft MSL', 'start at 5000 ft MSL']],
      [],
      [
        'the line `start` cannot be read @ start at 5000 ft MSL',
        'the elevation of the start, where the surface wind lies, is not known @ wind        surface from 230° at 8 kt',
      ],
    ],
    // The wind.
    ...(['', '  note "none"\n', '  elevation 190\n'] as const).map((line) => {
      const cause =
        'the elevation of the start, where the surface wind lies, is not known @ wind        surface from 230° at 8 kt';
      return [[['  elevation 190 m\n', line]], [cause], all(cause)] as const;
    }),
    [
      [
        ['255° at 20 kt', '255°M at 20 kt'],
        ['  date        2026-06-13\n', ''],
      ],
      ['a magnetic wind direction needs a `date` @ wind        6000 ft MSL from 255°M at 20 kt'],
      all('a magnetic wind direction needs a `date` @ wind        6000 ft MSL from 255°M at 20 kt'),
    ],
    [
      [
        ['255° at 20 kt', '255°M at 20 kt'],
        ['2026-06-13', '2199-06-13'],
      ],
      ['the magnetic model covers 2025 to 2029 only @ wind        6000 ft MSL from 255°M at 20 kt'],
      all('the magnetic model covers 2025 to 2029 only @ wind        6000 ft MSL from 255°M at 20 kt'),
    ],
    [
      [
        ['255° at 20 kt', '255°M at 20 kt'],
        ['47.2031 N 19.4410 E', '47.2031 N'],
      ],
      ['a magnetic wind direction needs the position of the start @ wind        6000 ft MSL from 255°M at 20 kt'],
      all('a magnetic wind direction needs the position of the start @ wind        6000 ft MSL from 255°M at 20 kt'),
    ],
  ];

  test('the position of a start that is not there, for a magnetic wind', () => {
    const task = taskOf(
      edited(
        planText(),
        ['255° at 20 kt', '255°M at 20 kt'],
        ['  start    Larkfield at 5000 ft MSL\n', ''],
        ['  wind        surface from 230° at 8 kt\n', ''],
      ),
    );
    expect(task.causes).toEqual([]);
    expect(toldOfLegs(task)).toEqual([
      'the task has no `start` @ Round',
      'a magnetic wind direction needs the position of the start @ wind        6000 ft MSL from 255°M at 20 kt',
    ]);
  });

  test('a start that stands too late is told before its leg', () => {
    expect(toldOfLegs(flown('turn "Withy Bridge"', 'strat Larkfield at 5000 ft MSL', 'finish Ashmoor'))[0]).toBe(
      'the line `strat` cannot be read @ strat Larkfield at 5000 ft MSL',
    );
    const late = flown('climb to 4000 ft MSL', 'start Larkfield at 5000 ft MSL', 'turn "Withy Bridge"');
    expect(toldOfLegs(late)).toEqual(['computed']);
    expect(late.legs[0]?.input?.departAltitudeM).toBeCloseTo(5000 * FT, 9);
  });

  test.each(rows)('%j', (edits, causes, legs) => {
    const task = taskOf(edited(planText(), ...edits));
    expect(task.causes.map(told)).toEqual(causes);
    expect(toldOfLegs(task)).toEqual(legs);
    for (const { cause, input, result: reached } of task.legs) expect([!input, !reached]).toEqual([!!cause, !!cause]);
    if (legs.some((leg) => leg !== 'computed'))
      expect(task.totals).toEqual({ distanceM: null, glideTimeS: null, climbTimeS: null, timeS: null });
  });

  test('what cannot be known is left open', () => {
    const without = (...edits: Edit[]) => taskOf(edited(planText(), ...edits));
    const noAircraft = without(['Finch with', 'Fink with']);
    expect(noAircraft).toMatchObject({ massKg: undefined, massAssumed: false, aircraft: undefined });
    expect(noAircraft.share).toBeCloseTo(0.7, 12);
    expect(noAircraft.totals).toEqual({ distanceM: null, glideTimeS: null, climbTimeS: null, timeS: null });
    expect(without(['performance 70 %', 'performance 60:1']).share).toBeUndefined();
    const noElevation = without(['  elevation 190 m\n', '']);
    expect(noElevation.wind).toBeUndefined();
    expect(noElevation.windLayers).toEqual([]);
    const noStart = without(['  start    Larkfield at 5000 ft MSL\n', '']);
    expect(noStart.start).toBeUndefined();
    expect(noStart.legs[0]).toMatchObject({ fromName: '', from: undefined, heightLine: undefined });
    const nameless = without(['start    Larkfield at', 'start at']);
    expect(nameless.start).toMatchObject({ point: undefined });
    expect(nameless.start?.altitudeM).toBeCloseTo(1524, 9);
    expect(nameless.legs[0]?.fromName).toBe('');
    expect(without(['finish   Ashmoor', 'finish']).legs[1]).toMatchObject({
      toName: '',
      to: undefined,
      asks: undefined,
    });
    const unread = without(['Larkfield at 5000 ft MSL', 'Larkfield at 5000 ft']);
    expect(unread.start?.altitudeM).toBeUndefined();
    expect(unread.legs[0]?.heightLine).toBe(unread.start?.line);
    // The climbs and the line of the height are there though the leg is not computed.
    const unreadEnd = without(['finish   Ashmoor', 'finish   Ashmoor at 50']).legs[1];
    expect(unreadEnd?.climbs).toHaveLength(1);
    expect(unreadEnd?.heightLine).toBe(unreadEnd?.climbs[0]?.line);
    expect(unreadEnd?.soar).toBeUndefined();
  });
});

describe('the mass', () => {
  test.each([
    // By hand: 225 kg empty, 310 kg the polar's own.
    ['with pilot 82 kg', 307, false],
    ['with pilot 82 kg and ballast 25 kg', 332, false],
    ['with ballast 25 kg', 335, true],
    ['', 310, true],
  ] as const)('%s', (words, massKg, massAssumed) => {
    const task = taskOf(edited(planText(), ['with pilot 82 kg', words]));
    expect(task).toMatchObject({ massKg, massAssumed, causes: [] });
    expect(legOf(task).input?.setting.massKg).toBe(massKg);
  });

  test('taken from the polar it needs no empty mass', () => {
    expect(taskOf(edited(planText(), [' with pilot 82 kg', ''], ['  empty  mass  225 kg\n', '']))).toMatchObject({
      massKg: 310,
      causes: [],
    });
  });
});

describe('the performance', () => {
  const with_ = (...edits: Edit[]) => taskOf(edited(planText(), ...edits));

  test('none is the whole polar, and so is none of a reserve that is not named', () => {
    expect(with_(['  performance 70 %\n', '']).share).toBe(1);
    expect(with_(['  reserve  Training\n', '']).share).toBe(1);
  });

  test('a ratio of a polar that is not known is no share', () => {
    const ratio: Edit = ['performance 70 %', 'performance 20:1'];
    expect(with_(ratio, ['Finch with', 'Fink with']).share).toBeUndefined();
    expect(with_(ratio, ['vne          115 kt', 'vne 30 kt']).share).toBeUndefined();
    expect(with_(['Finch with', 'Fink with']).share).toBeCloseTo(0.7, 12);
  });

  test('a ratio is its share of the best glide of the polar', () => {
    const best = bestGlideRatio(finchPolar());
    const task = with_(['performance 70 %', 'performance 20:1']);
    expect(task.share).toBeCloseTo(20 / best, 9);
    expect(legOf(task).input?.setting.share).toBeCloseTo(20 / best, 9);
    expect(with_(['performance 70 %', 'performance 32.5:1']).causes.map(({ text }) => text)).toEqual([
      'the reserve plans on a better glide than the 32.0:1 of Finch',
    ]);
  });
});

describe('the air and the wind', () => {
  const with_ = (...edits: Edit[]) => taskOf(edited(planText(), ...edits));

  test('are standard and still where no weather is named', () => {
    const task = with_(['  weather  Breezy\n', '']);
    expect(task.air).toEqual({ qnhPa: 101_325, deltaTK: 0 });
    expect(legOf(task).input?.setting).toMatchObject({ sinkingAirMps: 0, air: { qnhPa: 101_325, deltaTK: 0 } });
    expect(plain(legOf(task).input?.setting.wind)).toEqual(plain(windProfile([])));
    expect(legOf(task).variationDeg).toBeUndefined();
  });

  test('without a qnh or a temperature that part is standard', () => {
    // 24 °C are 10.235 K more than standard at 190 m.
    expect(plain(with_(['  qnh         1018 hPa\n', '']).air)).toEqual({ qnhPa: 101_325, deltaTK: 10.235 });
    expect(with_(['  temperature 24 °C at 190 m MSL\n', '']).air).toEqual({ qnhPa: 101_800, deltaTK: 0 });
    expect(legOf(with_(['  sink        0.2 kt\n', ''])).input?.setting.sinkingAirMps).toBe(0);
  });

  test('a temperature on a flight level lies where an altimeter on QNH shows it', () => {
    const { air } = with_(['24 °C at 190 m MSL', '4 °C at FL50']);
    const hM = altitudeOfFlightLevel({ qnhPa: 101_800, deltaTK: 0 }, 50);
    // FL50 is 1,524 m at 1013.25 hPa; 4.75 hPa more are some 40 m more.
    expect(hM - 1524).toBeGreaterThan(35);
    expect(hM - 1524).toBeLessThan(45);
    expect(air.deltaTK).toBeCloseTo(277.15 - (288.15 - 0.0065 * hM), 9);
  });

  test('a wind on a flight level lies there in the air of the day', () => {
    const { air, windLayers } = with_(['6000 ft MSL from 255°', 'FL60 from 255°']);
    expect(windLayers[2]?.altitudeM).toBeCloseTo(altitudeOfFlightLevel(air, 60), 9);
  });

  test('a magnetic direction is turned by the variation at the start, at that height', () => {
    const { windLayers } = with_(['255° at 20 kt', '255°M at 20 kt'], ['230° at 8 kt', '230°M at 8 kt']);
    const date = { year: 2026, month: 6, day: 13 };
    for (const [i, altitudeM, fromDeg] of [
      [0, 190, 230],
      [2, 6000 * FT, 255],
    ] as const) {
      const variation = magneticVariation(LARKFIELD, altitudeM, date);
      if (variation.outside) throw new Error('outside');
      expect(variation.declinationDeg).toBeGreaterThan(4);
      expect(windLayers[i]?.fromDeg).toBeCloseTo(fromDeg + variation.declinationDeg, 12);
    }
    expect(windLayers[1]?.fromDeg).toBe(245);
  });

  test('the variation of a leg is that at its start', () => {
    const { legs } = taskOf(planText());
    const date = { year: 2026, month: 6, day: 13 };
    for (const [i, position, elevationM] of [
      [0, LARKFIELD, 190],
      [1, WITHY, 140],
    ] as const) {
      const variation = magneticVariation(position, elevationM, date);
      expect(legs[i]?.variationDeg).toBe(variation.outside ? undefined : variation.declinationDeg);
    }
    for (const edit of [
      ['2026-06-13', '2199-06-13'],
      ['  date        2026-06-13\n', ''],
    ] as const)
      expect(with_(edit).legs.map(({ variationDeg }) => variationDeg)).toEqual([undefined, undefined]);
    expect(with_(['47.2031 N 19.4410 E', '47.2031 N']).legs[0]?.variationDeg).toBeUndefined();
    const unknown = with_(['  elevation 140 m\n', '']).legs[1]?.variationDeg;
    const atSea = magneticVariation(WITHY, 0, date);
    expect(unknown).toBe(atSea.outside ? undefined : atSea.declinationDeg);
  });
});

describe('the height asked', () => {
  const asked = (finish: string, ...edits: Edit[]) => {
    const { legs } = taskOf(edited(planText(), ['finish   Ashmoor', `finish ${finish}`], ...edits));
    const { asks, input } = legOf({ legs } as unknown as TaskEvaluation, 2);
    expect(input?.destination.reserveM).toBe(asks?.reserveM);
    return [Math.round((asks?.reserveM as number) / FT), asks?.at && marked(asks.at)];
  };

  test('over a field is the higher one of the reserve and of the field, over a turnpoint that for turns', () => {
    expect(asked('Ashmoor')).toEqual([1000, 'arrive      1000 ft AGL']);
    expect(asked('Ashmoor', ['900 ft AGL', '1100 ft AGL'])).toEqual([1100, 'arrive    1100 ft AGL']);
    // The same height either way: the reserve asks it.
    expect(asked('Ashmoor', ['900 ft AGL', '1000 ft AGL'])).toEqual([1000, 'arrive      1000 ft AGL']);
    expect(asked('Larkfield')).toEqual([1000, 'arrive      1000 ft AGL']);
    expect(asked('"Far Mill"')).toEqual([1500, 'turn        1500 ft AGL']);
  });

  test('where the reserve says nothing it is that of the field, or none', () => {
    const noArrive: Edit = ['  arrive      1000 ft AGL\n', ''];
    expect(asked('Ashmoor', noArrive)).toEqual([900, 'arrive    900 ft AGL']);
    expect(asked('Larkfield', noArrive)).toEqual([0, undefined]);
    expect(asked('"Far Mill"', ['  turn        1500 ft AGL\n', ''])).toEqual([0, undefined]);
    const none: Edit = ['  reserve  Training\n', ''];
    expect(asked('Ashmoor', none)).toEqual([900, 'arrive    900 ft AGL']);
    expect(asked('Larkfield', none)).toEqual([0, undefined]);
    expect(asked('"Far Mill"', none)).toEqual([0, undefined]);
  });

  test('the altimeter allowance comes on top', () => {
    const noAllowance = taskOf(edited(planText(), ['  altimeter   150 ft\n', '']));
    expect(legOf(noAllowance).input?.destination.altimeterM).toBe(0);
    const noReserve = taskOf(edited(planText(), ['  reserve  Training\n', '']));
    expect(legOf(noReserve).input?.destination.altimeterM).toBe(0);
    // 140 m, 1,500 ft and 150 ft.
    expect(result(legOf(taskOf(planText()))).askedAltitudeM).toBeCloseTo(140 + 1650 * FT, 9);
  });

  test('without vno there is none', () => {
    expect(legOf(taskOf(edited(planText(), ['  vno          80 kt\n', '']))).input?.limits).toEqual({
      vsMps: 34 * KT,
      vneMps: 115 * KT,
      vnoMps: null,
    });
  });
});

describe('heights that are written', () => {
  test.each([
    ['5000 ft MSL', 1524],
    ['1300 m AGL', 1490],
    ['FL50', altitudeOfFlightLevel({ qnhPa: 101_800, deltaTK: 297.15 - (288.15 - 0.0065 * 190) }, 50)],
  ])('a start at %s', (written, altitudeM) => {
    const task = taskOf(edited(planText(), ['at 5000 ft MSL', `at ${written}`]));
    expect(task.start?.altitudeM).toBeCloseTo(altitudeM, 9);
    expect(legOf(task).input?.departAltitudeM).toBeCloseTo(altitudeM, 9);
  });

  test.each([
    ['5200 ft MSL', 5200 * FT],
    ['1600 m AGL', 1740],
    ['FL55', altitudeOfFlightLevel({ qnhPa: 101_800, deltaTK: 297.15 - (288.15 - 0.0065 * 190) }, 55)],
  ])('a climb to %s', (written, altitudeM) => {
    const leg = legOf(taskOf(edited(planText(), ['to 5200 ft MSL', `to ${written}`])), 2);
    expect(leg.climbs[0]?.toAltitudeM).toBeCloseTo(altitudeM, 9);
    expect(leg.input?.departAltitudeM).toBeCloseTo(altitudeM, 9);
  });
});

describe('several starts', () => {
  test('the first one counts', () => {
    const lines = [
      'start    Larkfield at 5000 ft MSL',
      'turn     "Withy Bridge" at 55 kt',
      'start    Ashmoor at 4000 ft MSL',
      'finish   Ashmoor',
    ];
    const task = flown(...lines);
    const without = flown(...lines.filter((line) => !line.includes('4000 ft')));
    expect(task.legs.map(({ fromName, from }) => [fromName, from?.meaning.name])).toEqual([
      ['Larkfield', 'Larkfield'],
      ['Withy Bridge', 'Withy Bridge'],
    ]);
    expect(task.start?.altitudeM).toBeCloseTo(1524, 9);
    expect(task.legs.map((leg) => leg.result)).toEqual(without.legs.map((leg) => leg.result));
  });

  test('so it does where the glider soars: the last glide goes on past another', () => {
    const lines = [
      'start    Larkfield at 3000 ft MSL',
      'soar     between 2800 ft MSL and 5600 ft MSL',
      'turn     "Withy Bridge"',
      'start    Ashmoor at 4000 ft MSL',
      'finish   Ashmoor',
    ];
    const without = flown(...lines.filter((line) => !line.includes('4000 ft')));
    expect(flown(...lines).legs.map((leg) => leg.result)).toEqual(without.legs.map((leg) => leg.result));
  });
});

describe('climbs overhead', () => {
  const lift = 3 * KT;

  test('each starts where the one before ends, takes its time, and one that goes down is none', () => {
    const task = flown(
      'start    Larkfield at 3000 ft MSL',
      'climb    to 4000 ft MSL',
      'climb    to 3500 ft MSL',
      'climb    to 7500 ft MSL at 2 kt',
      'climb    to 7500 ft MSL',
      'turn     "Withy Bridge" at 55 kt',
      'finish   Larkfield',
      'climb    to 6000 ft MSL',
    );
    const { climbs, heightLine, input } = legOf(task);
    expect(plain(climbs.map(({ line, ...rest }) => rest))).toEqual(
      plain([
        {
          fromAltitudeM: 3000 * FT,
          toAltitudeM: 4000 * FT,
          goesDown: false,
          beyondLeg: false,
          rateMps: lift,
          timeS: (1000 * FT) / lift,
        },
        {
          fromAltitudeM: 4000 * FT,
          toAltitudeM: 3500 * FT,
          goesDown: true,
          beyondLeg: false,
          rateMps: lift,
          timeS: 0,
        },
        {
          fromAltitudeM: 4000 * FT,
          toAltitudeM: 7500 * FT,
          goesDown: false,
          beyondLeg: false,
          rateMps: 2 * KT,
          timeS: (3500 * FT) / (2 * KT),
        },
        {
          fromAltitudeM: 7500 * FT,
          toAltitudeM: 7500 * FT,
          goesDown: true,
          beyondLeg: false,
          rateMps: lift,
          timeS: 0,
        },
      ]),
    );
    expect(climbs.every(({ afterM }) => afterM === undefined)).toBe(true);
    expect(heightLine).toBe(climbs[2]?.line);
    expect(input?.departAltitudeM).toBeCloseTo(7500 * FT, 9);
    // What stands behind the last leg is told apart, and its time counts.
    const [loose] = task.looseClimbs;
    const down = result(task.legs[1]).arriveAltitudeM;
    expect(task.looseClimbs).toHaveLength(1);
    expect(loose?.fromAltitudeM).toBe(down);
    expect(loose?.timeS).toBeCloseTo((6000 * FT - down) / lift, 6);
    const all = (1000 * FT) / lift + (3500 * FT) / (2 * KT) + (6000 * FT - down) / lift;
    expect(task.totals.climbTimeS).toBeCloseTo(all, 6);
    expect(task.totals.timeS).toBeCloseTo((task.totals.glideTimeS as number) + all, 6);
    expect(task.legs[1]?.climbs).toEqual([]);
    expect(climbsOf(legOf(task))).toBe(climbs);
  });

  test('without a rate they take a time that is not known, but for one of no height', () => {
    const noLift: Edit = ['  lift        3 kt to 5800 ft MSL\n', ''];
    const task = taskOf(edited(planText(), noLift));
    expect(legOf(task, 2).climbs[0]).toMatchObject({ rateMps: undefined, timeS: undefined, goesDown: false });
    expect(task.totals.climbTimeS).toBeNull();
    expect(task.totals.timeS).toBeNull();
    expect(task.totals.glideTimeS).toBeGreaterThan(0);
    const low = taskOf(edited(planText(), noLift, ['climb    to 5200 ft MSL', 'climb to 1500 ft MSL']));
    expect(legOf(low, 2).climbs[0]).toMatchObject({ timeS: 0, goesDown: true });
    expect(low.totals.climbTimeS).toBe(0);
    const dead = taskOf(edited(planText(), ['climb    to 5200 ft MSL', 'climb to 5200 ft MSL at 0.5 kt']));
    expect(legOf(dead, 2).climbs[0]?.rateMps).toBeCloseTo(0.5 * KT, 9);
  });

  test('from a height that is not known a climb makes it known', () => {
    const task = taskOf(edited(planText(), ['at 55 kt', 'at 55']));
    expect(legOf(task, 2).climbs[0]).toMatchObject({ fromAltitudeM: undefined, timeS: undefined, goesDown: false });
    expect(legOf(task, 2).input?.departAltitudeM).toBeCloseTo(5200 * FT, 9);
    expect(legOf(task, 2).heightLine).toBe(legOf(task, 2).climbs[0]?.line);
    expect(task.totals.climbTimeS).toBeNull();
  });

  test('a climb that cannot be read leaves the height unknown until the next', () => {
    const broken = taskOf(edited(planText(), ['climb    to 5200 ft MSL', 'climb to 5200 ft\n  climb to 5300 ft MSL']));
    const leg = legOf(broken, 2);
    expect(toldOfLegs(broken)).toEqual(['computed', 'computed']);
    expect(leg.climbs).toHaveLength(1);
    expect(leg.climbs[0]?.fromAltitudeM).toBeUndefined();
    expect(leg.input?.departAltitudeM).toBeCloseTo(5300 * FT, 9);
  });
});

describe('climbs on the way', () => {
  // The leg from Larkfield to Withy Bridge is 16.26 km long.
  const way = track(LARKFIELD, WITHY).distanceM;

  test('are flown in their order along the leg, however they are written', () => {
    const task = flown(
      'start    Larkfield at 5000 ft MSL',
      'climb    to 4900 ft MSL at 2 kt after 6 km',
      'climb    to 4950 ft MSL after 3 km',
      'climb    to 2000 ft MSL after 8 km',
      `climb    to 5100 ft MSL after ${way} m`,
      `climb    to 5200 ft MSL after ${way + 1} m`,
      'turn     "Withy Bridge" at 55 kt',
      'finish   Larkfield',
    );
    const leg = legOf(task);
    const { climbs, input, heightLine } = leg;
    const [one, two, three] = result(leg).allClimbs;
    expect(plain(input?.climbs)).toEqual(
      plain([
        { afterM: 3000, toAltitudeM: 4950 * FT },
        { afterM: 6000, toAltitudeM: 4900 * FT },
        { afterM: 8000, toAltitudeM: 2000 * FT },
        { afterM: way, toAltitudeM: 5100 * FT },
        { afterM: way + 1, toAltitudeM: 5200 * FT },
      ]),
    );
    expect(climbs.map(({ afterM, beyondLeg, goesDown }) => [afterM, beyondLeg, goesDown])).toEqual([
      [3000, false, false],
      [6000, false, false],
      [8000, false, true],
      [way, true, false],
      [way + 1, true, false],
    ]);
    expect(climbs.map(({ fromAltitudeM }) => fromAltitudeM)).toEqual([
      one?.fromAltitudeM,
      two?.fromAltitudeM,
      three?.fromAltitudeM,
      undefined,
      undefined,
    ]);
    expect(one?.fromAltitudeM).toBeLessThan(5000 * FT);
    expect(climbs[0]?.timeS).toBeCloseTo((4950 * FT - (one?.fromAltitudeM as number)) / (3 * KT), 6);
    expect(climbs[1]?.timeS).toBeCloseTo((4900 * FT - (two?.fromAltitudeM as number)) / (2 * KT), 6);
    expect(climbs[2]?.timeS).toBe(0);
    // The last one that gains height sets it.
    expect(heightLine).toBe(climbs[1]?.line);
    // Those beyond the leg have no time, and take none.
    expect(task.totals.climbTimeS).toBeCloseTo((climbs[0]?.timeS as number) + (climbs[1]?.timeS as number), 9);
    // They are done with: the next leg has none.
    expect(task.legs[1]?.climbs).toEqual([]);
    expect(task.legs[1]?.input?.climbs).toEqual([]);
    expect(task.legs[1]?.heightLine).toBe(heightLine);
  });

  test('stand behind those overhead', () => {
    const { climbs, heightLine } = legOf(
      flown(
        'start    Larkfield at 3000 ft MSL',
        'climb    to 4000 ft MSL after 3 km',
        'climb    to 3500 ft MSL',
        'turn     "Withy Bridge" at 55 kt',
      ),
    );
    expect(climbs.map(({ afterM, toAltitudeM }) => [afterM, Math.round(toAltitudeM / FT)])).toEqual([
      [undefined, 3500],
      [3000, 4000],
    ]);
    expect(heightLine).toBe(climbs[1]?.line);
  });

  test('one that is not reached, for want of headway, has no height and sets none', () => {
    const task = taskOf(
      edited(
        planText(['start Ashmoor at 5000 ft MSL', 'climb to 5500 ft MSL after 9 km', 'turn "Withy Bridge" at 55 kt']),
        ['245° at 14 kt', '270° at 110 kt'],
        ['255° at 20 kt', '270° at 110 kt'],
      ),
    );
    const leg = legOf(task);
    expect(leg.result?.problem).toBe('no-headway');
    expect(leg.climbs).toHaveLength(1);
    expect(leg.climbs[0]).toMatchObject({ fromAltitudeM: undefined, timeS: undefined, beyondLeg: false, afterM: 9000 });
    expect(leg.heightLine).toBe(task.start?.line);
    expect(task.totals.climbTimeS).toBeNull();
  });

  test('one that cannot be read costs the leg', () => {
    const task = flown(
      'start    Larkfield at 5000 ft MSL',
      'climb    to 4900 ft MSL after 6',
      'climb    to 4900 ft MSL after 7 km',
      'turn     "Withy Bridge" at 55 kt',
    );
    expect(toldOfLegs(task)).toEqual(['the line `climb to` cannot be read @ climb    to 4900 ft MSL after 6']);
    const agl = flown(
      'start    Larkfield at 5000 ft MSL',
      'climb    to 4900 ft AGL after 6 km',
      'climb    to 4900 ft AGL after 7 km',
      'turn     "Withy Bridge" at 55 kt',
    );
    expect(toldOfLegs(agl)).toEqual(['the line `climb to` cannot be read @ climb    to 4900 ft AGL after 6 km']);
  });
});

describe('behind a leg that does not get there', () => {
  const lines = (...more: string[]) => [
    'start    Larkfield at 1500 ft MSL',
    'turn     "Withy Bridge" at 55 kt',
    ...more,
    'finish   Ashmoor',
  ];
  // 140 m and 1,650 ft are asked over Withy Bridge.
  const asked = 140 + 1650 * FT;

  test('the next one starts at the height asked, and says so', () => {
    const task = flown(...lines());
    expect(task.legs[0]?.result).toMatchObject({ problem: null, reachesGroundAfterM: expect.any(Number) });
    expect(task.legs.map(({ departAssumed }) => departAssumed)).toEqual([false, true]);
    expect(task.legs[1]?.input?.departAltitudeM).toBeCloseTo(asked, 9);
    expect(task.legs[1]?.heightLine).toBe(task.start?.line);
    // Two legs that are flown have a time.
    expect(task.totals.glideTimeS).toBeGreaterThan(0);
  });

  test('a climb above that height makes it known again; one below it does not, nor does it go down', () => {
    const above = flown(...lines('climb to 3000 ft MSL'));
    expect(above.legs[1]).toMatchObject({ departAssumed: false, heightLine: above.legs[1]?.climbs[0]?.line });
    expect(above.legs[1]?.input?.departAltitudeM).toBeCloseTo(3000 * FT, 9);
    const below = flown(...lines('climb to 2000 ft MSL'));
    expect(below.legs[1]).toMatchObject({ departAssumed: true, heightLine: below.start?.line });
    expect(below.legs[1]?.climbs[0]).toMatchObject({ goesDown: false, timeS: 0 });
    expect(below.legs[1]?.input?.departAltitudeM).toBeCloseTo(asked, 9);
    const same = flown(...lines(`climb to ${asked} m MSL`));
    expect(same.legs[1]?.departAssumed).toBe(true);
  });

  test('so it does behind one without headway, which has no time', () => {
    const gale = edited(
      planText(['start Ashmoor at 5000 ft MSL', 'turn "Withy Bridge" at 55 kt', 'finish Larkfield']),
      ['245° at 14 kt', '270° at 110 kt'],
      ['255° at 20 kt', '270° at 110 kt'],
    );
    const task = taskOf(gale);
    expect(task.legs[0]?.result?.problem).toBe('no-headway');
    expect(task.legs[1]).toMatchObject({ departAssumed: true });
    expect(task.legs[1]?.input?.departAltitudeM).toBeCloseTo(asked, 9);
    expect(task.totals.glideTimeS).toBeNull();
    expect(task.totals.timeS).toBeNull();
    expect(task.totals.distanceM).toBeGreaterThan(20_000);
    expect(task.totals.climbTimeS).toBe(0);
  });

  test('the one after next starts where that one ends', () => {
    const task = flown(...lines('turn Larkfield'));
    expect(task.legs.map(({ departAssumed }) => departAssumed)).toEqual([false, true, true]);
    const enough = flown(...lines('climb to 5000 ft MSL', 'turn Larkfield'));
    expect(enough.legs.map(({ departAssumed }) => departAssumed)).toEqual([false, false, false]);
    expect(enough.legs[2]?.input?.departAltitudeM).toBe(result(enough.legs[1]).arriveAltitudeM);
  });
});

describe('soaring', () => {
  const SOARED = [
    'start    Larkfield at 3000 ft MSL',
    'soar     between 2800 ft MSL and 5600 ft MSL',
    'turn     "Far Mill"',
    'finish   Larkfield',
  ];
  const soared = (...edits: Edit[]) => taskOf(edited(planText(SOARED), ...edits));
  const askedAt = (leg: LegEvaluation) => {
    const { elevationM, reserveM, altimeterM } = (leg.input as LegInput).destination;
    return elevationM + reserveM + altimeterM;
  };

  test('climbs from the lower to the upper height at the lift of the day', () => {
    const task = soared();
    const climbs = task.legs.flatMap((leg) => leg.soar?.climbs ?? []);
    expect(climbs.length).toBeGreaterThan(4);
    for (const climb of climbs.slice(0, -1)) expect(climb.toAltitudeM).toBeCloseTo(5600 * FT, 6);
    for (const climb of climbs) {
      expect(climb.fromAltitudeM).toBeCloseTo(2800 * FT, 3);
      expect(climb.timeS).toBeCloseTo((climb.toAltitudeM - (climb.fromAltitudeM as number)) / (3 * KT), 9);
      expect(climb).toMatchObject({ goesDown: false, beyondLeg: false, line: task.entry.details[4] });
      expect(climb.rateMps).toBeCloseTo(3 * KT, 9);
    }
    for (const leg of task.legs) {
      expect(leg.soar).toMatchObject({ line: task.entry.details[4] });
      expect(plain([leg.soar?.lowerM, leg.soar?.upperM, leg.soar?.rateMps])).toEqual(
        plain([2800 * FT, 5600 * FT, 3 * KT]),
      );
      expect(leg.climbs).toEqual([]);
      expect(climbsOf(leg)).toEqual(leg.soar?.climbs);
      expect(leg.soar?.climbs.map(({ afterM, toAltitudeM }) => ({ afterM, toAltitudeM }))).toEqual(leg.input?.climbs);
      expect(leg.heightLine).toBe(task.entry.details[4]);
      // The time of the glides and of the climbs.
      const timeS = (leg.soar?.climbs ?? []).reduce((sum, { timeS: one }) => sum + (one as number), result(leg).timeS);
      expect(leg.soar?.averageMps).toBeCloseTo(result(leg).distanceM / timeS, 9);
      // The speed to fly for 3 kt, in the air that sinks at 0.2 kt.
      expect(result(leg).indicatedMps).toBeCloseTo(speedToFly(planned(finchPolar(), 307, 0.7), 3 * KT, 0.2 * KT), 6);
    }
  });

  test('the last climb is a metre higher than what is asked at the end', () => {
    const { legs } = soared();
    expect(legs.map((leg) => leg.soar?.lastGlide !== undefined)).toEqual([false, true]);
    const last = legs[1] as LegEvaluation;
    expect(result(last).marginM).toBeGreaterThan(0.999);
    expect(result(last).marginM).toBeLessThan(1.01);
    expect(last.soar?.lastGlide?.afterM).toBe(last.soar?.climbs.at(-1)?.afterM);
    expect(last.soar?.lastGlide?.altitudeM).toBe(last.soar?.climbs.at(-1)?.toAltitudeM);
  });

  test('climbs overhead count towards the average', () => {
    const task = soared(['soar     between', 'climb    to 4000 ft MSL\n  soar     between']);
    const leg = legOf(task);
    expect(leg.climbs).toHaveLength(1);
    expect(climbsOf(leg)).toEqual([...leg.climbs, ...(leg.soar?.climbs ?? [])]);
    const timeS = climbsOf(leg).reduce((sum, { timeS: one }) => sum + (one as number), result(leg).timeS);
    expect(leg.soar?.averageMps).toBeCloseTo(result(leg).distanceM / timeS, 9);
    const sum = task.legs.flatMap((one) => climbsOf(one)).reduce((all, { timeS: one }) => all + (one as number), 0);
    expect(task.totals.climbTimeS).toBeCloseTo(sum, 9);
  });

  test('a glide over several legs leaves a metre over where most is asked', () => {
    for (const reserve of ['1500 ft AGL', '5000 ft AGL']) {
      const task = taskOf(
        edited(
          planText([
            'start    "Far Mill" at 3000 ft MSL',
            'soar     between 2800 ft MSL and 12000 ft MSL',
            'turn     Larkfield',
            'turn     "Withy Bridge" at 50 kt',
            'finish   Ashmoor at maccready 1 kt',
          ]),
          ['turn        1500 ft AGL', `turn ${reserve}`],
        ),
      );
      const margins = task.legs.map((leg) => result(leg).marginM);
      expect(task.legs.map((leg) => (leg.soar?.climbs.length ?? 0) > 0)).toEqual([true, false, false]);
      expect(task.legs.map((leg) => leg.soar?.lastGlide !== undefined)).toEqual([true, false, false]);
      expect(Math.min(...margins)).toBeGreaterThan(0.999);
      expect(Math.min(...margins)).toBeLessThan(1.01);
      // With 5,000 ft over the turn the turn decides, else the finish.
      expect(margins.indexOf(Math.min(...margins))).toBe(reserve === '5000 ft AGL' ? 1 : 2);
      // Without a climb the height is that of the climb before.
      expect(task.legs[1]?.heightLine).toBe(task.entry.details[4]);
    }
  });

  test('the leg is told how it is soared: the band, what follows, and what its climbs were made for', () => {
    const [out, back] = soared().legs as [LegEvaluation, LegEvaluation];
    const band = { lowerM: 2800 * FT, upperM: 5600 * FT, spareM: 1 };
    const madeFor = (leg: LegEvaluation) => ({
      indicatedMps: result(leg).indicatedMps,
      departAltitudeM: result(leg).departAltitudeM,
      askedAltitudeM: askedAt(leg),
    });
    expect(plain(back.input?.soaring)).toEqual(plain({ ...band, madeFor: madeFor(back) }));
    expect(back.input?.soaring?.onwardM).toBeUndefined();
    const { onwardM, ...told } = out.input?.soaring ?? {};
    expect(plain(told)).toEqual(plain({ ...band, madeFor: madeFor(out) }));
    // What follows is a glide from the height that the way back asks with its metre.
    const { setting } = back.input as LegInput;
    const { distanceM } = setting.track;
    const way = glideBackward(setting, result(back).indicatedMps, 0, distanceM, askedAt(back) + 1);
    expect(way.problem === null && way.altitudeM).toBeCloseTo(onwardM ?? 0, 2);
    const climb = taskOf(
      edited(planText(SOARED), ['  finish   Larkfield', '  climb    to 4000 ft MSL\n  finish   Larkfield']),
    );
    expect(climb.legs[0]?.input?.soaring).toMatchObject({ spareM: 1, onwardM: undefined });
  });

  test('up to a climb that is written nothing of what follows is asked', () => {
    const lines = (...more: string[]) => [
      'start    "Far Mill" at 3000 ft MSL',
      'soar     between 2800 ft MSL and 12000 ft MSL',
      'turn     Larkfield',
      ...more,
      'finish   Ashmoor',
    ];
    for (const more of [
      ['climb to 5500 ft MSL'],
      ['glide', 'climb to 5500 ft MSL'],
      ['climb to 5500 ft MSL after 2 km', 'glide'],
    ]) {
      const [first] = flown(...lines(...more)).legs;
      expect(result(first).marginM).toBeGreaterThan(0.999);
      expect(result(first).marginM).toBeLessThan(1.01);
    }
  });

  test('behind `glide` the last glide goes on, and what it asks is asked before', () => {
    const task = flown(
      'start    "Far Mill" at 3000 ft MSL',
      'soar     between 2800 ft MSL and 12000 ft MSL',
      'turn     Larkfield',
      'glide',
      'finish   Ashmoor',
    );
    expect(task.legs[1]?.soar).toBeUndefined();
    expect(task.legs[1]?.input?.speed).toEqual({ kind: 'bestGlide' });
    expect(result(task.legs[1]).marginM).toBeGreaterThan(0.999);
    expect(result(task.legs[1]).marginM).toBeLessThan(1.01);
  });

  test('another band holds from where it is written', () => {
    const task = flown(
      'start    Larkfield at 3000 ft MSL',
      'soar     between 2800 ft MSL and 5600 ft MSL',
      'turn     "Far Mill"',
      'soar     between 3500 ft MSL and 5000 ft MSL',
      'finish   Larkfield',
    );
    expect(plain(task.legs.map((leg) => [leg.soar?.lowerM, leg.soar?.upperM]))).toEqual(
      plain([
        [2800 * FT, 5600 * FT],
        [3500 * FT, 5000 * FT],
      ]),
    );
  });

  test('a start that is high enough is a last glide from there; a climb behind it begins another', () => {
    const start = flown(
      'start    Ashmoor at 9000 ft MSL',
      'soar     between 2800 ft MSL and 9600 ft MSL',
      'turn     "Withy Bridge"',
      'finish   Larkfield',
    );
    expect(start.legs.map((leg) => leg.soar?.lastGlide?.afterM)).toEqual([0, undefined]);
    expect(start.legs.map((leg) => leg.heightLine)).toEqual([start.start?.line, start.start?.line]);
    const again = flown(
      'start    Ashmoor at 9000 ft MSL',
      'soar     between 2800 ft MSL and 9600 ft MSL',
      'turn     "Withy Bridge"',
      'climb    to 9000 ft MSL',
      'finish   Larkfield',
    );
    expect(again.legs.map((leg) => leg.soar?.lastGlide?.afterM)).toEqual([0, 0]);
    const lower = flown(
      'start    Ashmoor at 9000 ft MSL',
      'soar     between 2800 ft MSL and 9600 ft MSL',
      'turn     "Withy Bridge"',
      'climb    to 2000 ft MSL',
      'finish   Larkfield',
    );
    expect(lower.legs.map((leg) => leg.soar?.lastGlide?.afterM)).toEqual([0, undefined]);
  });

  test('speeds: as written, and best glide as it is without climbs', () => {
    const finish = (speed: string) =>
      soared(['finish   Larkfield', `finish   Larkfield ${speed}`]).legs[1] as LegEvaluation;
    expect(finish('at 60 kt').input?.speed).toMatchObject({ kind: 'indicated', indicatedMps: 60 * KT });
    expect(finish('at maccready 1 kt').input?.speed).toMatchObject({ kind: 'maccready', climbMps: 1 * KT });
    const best = finish('at best glide');
    const { input } = best;
    if (!input) throw new Error('not computed');
    const alone = evaluateLeg({ ...input, climbs: [], speed: { kind: 'bestGlide' } });
    expect(input.speed).toEqual({ kind: 'indicated', indicatedMps: alone.indicatedMps });
    for (const leg of [finish('at 60 kt'), finish('at maccready 1 kt'), best]) {
      expect(result(leg).marginM).toBeGreaterThan(0.999);
      expect(result(leg).marginM).toBeLessThan(1.01);
      expect(askedAt(leg)).toBeCloseTo(190 + 1150 * FT, 9);
    }
  });

  const rows: readonly (readonly [was: string, now: string, legs: readonly string[]])[] = [
    ['2800 ft MSL', '2800 ft', ['the line `soar between` cannot be read @ soar     between 2800 ft and 5600 ft MSL']],
    ['5600 ft MSL', '5600 ft', ['the line `soar between` cannot be read @ soar     between 2800 ft MSL and 5600 ft']],
    [
      '  lift        3 kt to 5800 ft MSL\n',
      '',
      ['no `lift` says how fast the glider climbs @ soar     between 2800 ft MSL and 5600 ft MSL'],
    ],
    ['lift        3 kt', 'lift 3', ['the line `lift` of Breezy cannot be read @ lift 3 to 5800 ft MSL']],
    [
      '2800 ft MSL and 5600',
      '2800 m MSL and 5600',
      ['the lower height of `soar` does not lie below the upper one @ soar     between 2800 m MSL and 5600 ft MSL'],
    ],
    [
      '  weather  Breezy\n',
      '',
      ['no `lift` says how fast the glider climbs @ soar     between 2800 ft MSL and 5600 ft MSL'],
    ],
    [
      'turn     "Far Mill"',
      'climb to 4000 ft MSL after 3 km\n  turn     "Far Mill"',
      ['a climb `after` a distance stands where the glider soars @ climb to 4000 ft MSL after 3 km'],
    ],
    [
      '5600 ft MSL',
      '2804 ft MSL',
      [
        'between these heights of `soar` the way to Far Mill takes more than 200 climbs @ soar     between 2800 ft MSL and 2804 ft MSL',
      ],
    ],
    ['finish   Larkfield', 'finish   Ashmore', ['no field or turnpoint `Ashmore` is known @ Ashmore']],
    ['finish   Larkfield', 'finish   Larkfield at 60', ['the line `finish` cannot be read @ finish   Larkfield at 60']],
    [
      'turn     "Far Mill"',
      'turn     "Far Mill" at 60',
      ['the line `turn` cannot be read @ turn     "Far Mill" at 60'],
    ],
    ['turn     "Far Mill"', 'turn     "Far Mlil"', ['no field or turnpoint `Far Mlil` is known @ "Far Mlil"']],
  ];

  test.each(rows)('%s → %s', (was, now, said) => {
    const task = soared([was, now]);
    expect(toldOfLegs(task)).toEqual([said[0], said[0]]);
    expect(task.legs.every((leg) => leg.soar === undefined && !leg.result && !leg.input)).toBe(true);
    expect(task.legs[0]?.heightLine).toBe(task.start?.line);
    expect(task.totals.climbTimeS).toBeNull();
  });

  test('heights that lie a metre apart are a band', () => {
    const at = (upper: string) => toldOfLegs(soared(['2800 ft MSL and 5600 ft', `1000 m MSL and ${upper}`]))[0];
    expect(at('1000.9 m')).toContain('does not lie below');
    expect(at('1001 m')).toContain('more than 200 climbs');
  });

  test('another line of the weather is not blamed for the lift', () => {
    const task = soared(['  lift        3 kt to 5800 ft MSL\n', ''], ['2026-06-13', '2026-06-33']);
    expect(task.legs[0]?.cause?.text).toBe('no `lift` says how fast the glider climbs');
  });

  const metreOver = (leg: LegEvaluation | undefined) => {
    expect(result(leg).marginM).toBeGreaterThan(0.999);
    expect(result(leg).marginM).toBeLessThan(1.01);
  };

  test('where nothing follows, or what stands behind the finish, nothing more is asked', () => {
    for (const [line, ...more] of [
      ['turn Larkfield'],
      ['turn Larkfield', 'soar between 2800 ft MSL and 5000 ft MSL'],
      ['turn Larkfield', 'glide'],
      ['finish Larkfield', 'finish Ashmoor'],
    ] as const)
      metreOver(
        flown('start "Far Mill" at 3000 ft MSL', 'soar between 2800 ft MSL and 9600 ft MSL', line, ...more).legs[0],
      );
  });

  test('without a reserve or an allowance it is a metre over the ground and what is left', () => {
    for (const gone of ['  altimeter   150 ft\n', `  reserve  Training\n`]) {
      const lines = [
        'start "Far Mill" at 3000 ft MSL',
        'soar between 2800 ft MSL and 12000 ft MSL',
        'turn Larkfield',
        'finish "Withy Bridge" at 50 kt',
      ];
      metreOver(taskOf(edited(planText(lines), [gone, ''])).legs[1]);
    }
  });

  test('a leg that cannot be computed costs all before it that lead to it', () => {
    const lines = ['turn Larkfield', 'turn "Withy Bridge"', 'finish Nowhere'];
    const task = flown('start "Far Mill" at 3000 ft MSL', 'soar between 2800 ft MSL and 5600 ft MSL', ...lines);
    const cause = 'no field or turnpoint `Nowhere` is known @ Nowhere';
    expect(toldOfLegs(task)).toEqual([cause, cause, cause]);
  });

  test('where no height is enough for what follows there is no last glide before it', () => {
    for (const between of [[], ['turn Ashmoor at 60 kt']]) {
      const task = taskOf(
        edited(
          planText([
            'start Larkfield at 3500 ft MSL',
            'soar between 2800 ft MSL and 5600 ft MSL',
            'turn "Far Mill" at 60 kt',
            ...between,
            'finish "Withy Bridge" at 45 kt',
          ]),
          ['230° at 8 kt', '290° at 70 kt'],
          ['245° at 14 kt', '290° at 70 kt'],
          ['255° at 20 kt', '290° at 70 kt'],
        ),
      );
      const [first] = task.legs;
      expect(first?.result?.problem).toBeNull();
      expect(first?.soar?.lastGlide).toBeUndefined();
    }
  });

  test('nor is there where that is further on', () => {
    const lines = (...more: string[]) => [
      'start "Withy Bridge" at 11000 ft MSL',
      'soar between 2800 ft MSL and 12000 ft MSL',
      'turn Larkfield at 70 kt',
      'turn Ashmoor at 60 kt',
      ...more,
    ];
    const inWind = (text: string) =>
      taskOf(
        edited(
          text,
          ['230° at 8 kt', '290° at 50 kt'],
          ['245° at 14 kt', '290° at 50 kt'],
          ['255° at 20 kt', '290° at 50 kt'],
        ),
      );
    // Westward at 45 kt it makes no headway; without that leg the start is high enough for all.
    expect(inWind(planText(lines())).legs[0]?.soar?.lastGlide?.afterM).toBe(0);
    const task = inWind(planText(lines('finish "Withy Bridge" at 45 kt')));
    expect(task.legs.map((leg) => leg.result?.problem)).toEqual([null, null, 'no-headway']);
    expect(task.legs.map((leg) => leg.soar?.lastGlide)).toEqual([undefined, undefined, undefined]);
  });

  test('an average that is not known is none', () => {
    const unknown = flown(
      'start Larkfield at 3000 ft',
      'climb to 4000 ft MSL',
      'soar between 2800 ft MSL and 5600 ft MSL',
      'turn "Far Mill"',
    );
    expect(legOf(unknown).climbs[0]?.timeS).toBeUndefined();
    expect(result(legOf(unknown)).timeS).toBeGreaterThan(0);
    expect(legOf(unknown).soar).toBeDefined();
    expect(legOf(unknown).soar?.averageMps).toBeUndefined();
    const nowhere = flown(
      'start Larkfield at 5000 ft MSL',
      'soar between 2800 ft MSL and 5600 ft MSL',
      'finish Larkfield',
    );
    expect(result(legOf(nowhere)).distanceM).toBe(0);
    expect(legOf(nowhere).soar).toBeDefined();
    expect(legOf(nowhere).soar?.averageMps).toBeUndefined();
  });

  test('a band that cannot be read behind the turn costs the leg before, whose last climb it decides', () => {
    const task = soared(['finish   Larkfield', 'soar     between 2800 ft and 5600 ft MSL\n  finish   Larkfield']);
    const cause = 'the line `soar between` cannot be read @ soar     between 2800 ft and 5600 ft MSL';
    expect(toldOfLegs(task)).toEqual([cause, cause]);
  });

  test('what is higher than a climb leads is climbed to as far as the band goes', () => {
    const task = soared(['5600 ft MSL', '3400 ft MSL'], ['arrive      1000 ft AGL', 'arrive 4000 ft AGL']);
    const last = task.legs[1] as LegEvaluation;
    expect(last.soar?.lastGlide).toBeUndefined();
    for (const climb of last.soar?.climbs ?? []) expect(climb.toAltitudeM).toBeCloseTo(3400 * FT, 6);
  });
});

describe('limits', () => {
  const LIMITS_TEXT = `limits Solo
  within 12 NM of Larkfield
  within 20 NM of "Far Mlil"
  reserve at least Training

limits Everyone for all tasks
  within 40 NM of Ashmoor
  reserve at least Normal

limits Else
  distance 80 km
`;
  const words = (task: TaskEvaluation) =>
    task.limits.map((one) => ({
      name: one.meaning.name,
      node: one.node.text,
      at: marked(one.at),
      line: one.line && marked({ uri: PLAN, entry: task.entry, span: one.line.span }),
      within: one.within.map(({ limit, point }) => [limit.point.text, point?.meaning.name]),
      least: one.leastReserve?.meaning.name,
    }));
  const limited = (...lines: string[]) =>
    taskOf(edited(planText([...lines, ...ROUND]), ['task Round', `${LIMITS_TEXT}\ntask Round`]));
  const solo = {
    name: 'Solo',
    node: 'Solo',
    at: 'Solo',
    line: 'limits Solo',
    within: [
      ['Larkfield', 'Larkfield'],
      ['Far Mlil', undefined],
    ],
    least: 'Training',
  };
  const everyone = {
    name: 'Everyone',
    node: 'Everyone',
    at: 'Everyone',
    line: undefined,
    within: [['Ashmoor', 'Ashmoor']],
    least: undefined,
  };

  test('those named, in order, then those for all tasks, with what their lines name', () => {
    expect(words(limited('limits Solo'))).toEqual([solo, everyone]);
    expect(words(limited())).toEqual([everyone]);
  });

  test('each once, and where they are named', () => {
    expect(words(limited('limits Everyone', 'limits Solo', 'limits Solo'))).toEqual([
      { ...everyone, line: 'limits Everyone' },
      solo,
    ]);
  });

  test('a name that is not known, or none, is passed over', () => {
    expect(words(limited('limits Sloo', 'limits', 'limits Solo'))).toEqual([solo, everyone]);
  });
});

describe('what is kept', () => {
  test('holds over several changes that nobody looked at, and goes when one of them is of a name', () => {
    const made = createWorkspace([ROOT]);
    const before = evaluated(made, planText());
    const apart = edited(planText(), ['qnh', 'note "fair"\n  qnh']);
    setFile(made, PLAN, `# one\n${planText()}`);
    setFile(made, PLAN, `# one\n${planText()}\nfield Moor at 48 N 20 E\n  elevation 100 m\n`);
    expect(evaluated(made, planText()).legs).toBe(before.legs);
    setFile(made, PLAN, apart);
    setFile(made, PLAN, `${apart}\nfield Moor at 48 N 20 E\n  elevation 100 m\n`);
    const higher = evaluated(made, edited(planText(), ['elevation 190 m', 'elevation 250 m']));
    expect(higher.legs).not.toBe(before.legs);
    expect(higher.legs[0]?.from?.meaning).toMatchObject({ elevationM: 250 });
  });

  const workspace = () => createWorkspace([ROOT]);
  const USES = 'use "club.taskplan"\n\n';
  const CLUB = `${ROOT}/club.taskplan`;
  const club = [POINTS, FINCH, BREEZY, TRAINING].join('\n');
  const there = (club_: string, text = `${USES}${taskText(['limits Solo', ...ROUND])}`) => {
    const made = workspace();
    setFile(made, CLUB, club_);
    return { made, task: evaluated(made, text), text };
  };

  test('nothing that a file which comes gives, or one which goes gave', () => {
    const made = workspace();
    const text = `${USES}${taskText(ROUND)}`;
    expect(evaluated(made, text).legs[0]?.result).toBeUndefined();
    setFile(made, CLUB, club);
    const { result: there_ } = evaluated(made, text).legs[0] as LegEvaluation;
    expect(there_).toBeDefined();
    expect(evaluated(made, text.replace(USES, '\n')).legs[0]?.result).toBeUndefined();
    expect(evaluated(made, text).legs[0]?.result).toEqual(there_);
  });

  test('the same evaluation for as long as nothing that it rests on differs', () => {
    const { made, task, text } = there(club);
    setFile(made, CLUB, `${club}turnpoint Elsewhere at 47.9 N 19.9 E\n  elevation 100 m\n`);
    const again = evaluated(made, `${text}turnpoint More at 47.9 N 19.9 E\n  elevation 100 m\n`);
    expect(again.legs).toBe(task.legs);
    expect(again.entry).toBe(task.entry);
  });

  test('each entry that it names, and each that these name, makes another', () => {
    const limits = `limits Solo
  within 12 NM of "Far Mill"
  reserve at least Training
`;
    const whole = `${club}\n${limits}`;
    for (const [was, now] of [
      ['elevation 190 m', 'elevation 191 m'],
      ['elevation 160 m', 'elevation 161 m'],
      ['elevation 140 m', 'elevation 141 m'],
      ['elevation 100 m', 'elevation 101 m'],
      ['empty  mass  225', 'empty  mass  226'],
      ['lift        3 kt', 'lift        4 kt'],
      ['arrive      1000', 'arrive      1001'],
      ['within 12 NM', 'within 13 NM'],
      ['field Larkfield', 'field Larkfeild'],
      ['limits Solo', 'limits Sloo'],
    ] as const) {
      const { made, task, text } = there(whole);
      setFile(made, CLUB, edited(whole, [was, now]));
      const after = evaluated(made, text);
      expect(after.legs).not.toBe(task.legs);
      expect(after).not.toBe(task);
      const afresh = there(edited(whole, [was, now])).task;
      expect(plain(after.legs.map((leg) => leg.result))).toEqual(plain(afresh.legs.map((leg) => leg.result)));
      expect(after.causes.map(told)).toEqual(afresh.causes.map(told));
      expect(toldOfLegs(after)).toEqual(toldOfLegs(afresh));
      expect(after.limits.map(({ meaning }) => meaning.entry.text)).toEqual(
        afresh.limits.map(({ meaning }) => meaning.entry.text),
      );
      expect(after.limits[0]?.within[0]?.point?.meaning.elevationM).toBe(
        afresh.limits[0]?.within[0]?.point?.meaning.elevationM,
      );
    }
  });

  test('a name that was not known, and comes', () => {
    const { made, task, text } = there(edited(club, ['aircraft Finch', 'aircraft Fink']));
    expect(task.causes).toHaveLength(1);
    setFile(made, CLUB, club);
    expect(evaluated(made, text).causes).toEqual([]);
  });

  test('limits for all tasks that come, change and go', () => {
    const limits = (name: string) => `limits ${name} for all tasks\n  distance 80 km\n`;
    const { made, text } = there(club);
    const names = () => evaluated(made, text).limits.map(({ meaning }) => meaning.name);
    expect(names()).toEqual([]);
    for (const now of [['One'], ['One', 'Two'], ['Two', 'Three'], ['Three'], ['Four'], []]) {
      setFile(made, CLUB, `${club}\n${now.map(limits).join('\n')}`);
      expect(names()).toEqual(now);
    }
  });

  test('among limits for all tasks as well', () => {
    const { made, task, text } = there(`${club}limits All for all tasks\n  distance 80 km\n`);
    expect(task.limits).toHaveLength(1);
    const again = evaluated(made, `${text}turnpoint More at 47.9 N 19.9 E\n  elevation 100 m\n`);
    expect(again.legs).toBe(task.legs);
  });

  test('the same entry in another file is evaluated there', () => {
    const made = workspace();
    const file = setFile(made, PLAN, planText());
    const scope = scopeOf(made, file);
    const [defined] = lookUp(scope, 'task', 'Round');
    if (!defined) throw new Error('no task');
    const here = evaluateTask(defined, scope);
    expect(evaluateTask(defined, scope)).toBe(here);
    const copy = setFile(made, `${ROOT}/copy.taskplan`, planText());
    const other = evaluateTask({ file: copy, meaning: defined.meaning }, scope);
    expect(other?.uri).toBe(`${ROOT}/copy.taskplan`);
    expect(here?.uri).toBe(PLAN);
  });

  test('among the same surroundings it is the same object', () => {
    const task = taskOf(planText());
    const bare = { ...task, surroundings: NO_SURROUNDINGS };
    const some = { ...NO_SURROUNDINGS };
    const one = among(bare, some);
    expect(one.surroundings).toBe(some);
    expect(one.legs).toBe(bare.legs);
    expect(among(bare, some)).toBe(one);
    const others = { ...NO_SURROUNDINGS };
    expect(among(bare, others).surroundings).toBe(others);
    expect(among(bare, others)).not.toBe(one);
  });

  test('before it is placed, a task is among nothing', () => {
    const made = workspace();
    const scope = scopeOf(made, setFile(made, PLAN, planText()));
    const [defined] = lookUp(scope, 'task', 'Round');
    expect(defined && evaluateTask(defined, scope)?.surroundings).toBe(NO_SURROUNDINGS);
  });
});
