/** Tasks that are soared: over several legs, to a last glide that is as high as all that follows asks. */
import { describe, expect, test } from 'vitest';
import { hover } from '../../server/features/hover.ts';
import { totalsText } from '../../server/plan/budget-rows.ts';
import { clockOf } from '../../server/plan/clock.ts';
import { DEFAULT_UNITS, show } from '../../server/plan/show.ts';
import { soaringOf } from '../../server/plan/soaring.ts';
import type { LegEvaluation, TaskEvaluation } from '../../server/plan/task.ts';
import { type Understood, understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile } from '../../server/plan/workspace.ts';
import { budgetJson } from '../../server/reports/budget-json.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { checked } from '../rules/helper.ts';

const FAR = `turnpoint "Far Bridge" at 47.2500 N 20.1000 E
  elevation 110 m

turnpoint "Far Mill" at 46.9500 N 20.0000 E
  elevation 100 m
`;

const LINES = [
  'start    Larkfield at 3000 ft MSL',
  'soar     between 2800 ft MSL and 5600 ft MSL',
  'turn     "Far Bridge"',
  'turn     "Far Mill"',
  'finish   Larkfield',
];

const plan = (lines: readonly string[] = LINES, weather = 'Breezy', entries = FAR) =>
  `use "club.taskplan"\n\n${entries}\ntask Long\n  aircraft Finch with pilot 82 kg\n  weather  ${weather}\n  reserve  Training\n  takeoff  11:30Z\n${lines.map((line) => `  ${line}\n`).join('')}`;

function understood(text: string): Understood {
  const workspace = createWorkspace(['file:///plans']);
  setFile(workspace, 'file:///plans/club.taskplan', EXAMPLE_CLUB);
  return understand(workspace, setFile(workspace, 'file:///plans/plan.taskplan', text));
}

function taskOf(text: string): TaskEvaluation {
  return understood(text).tasks[0] as TaskEvaluation;
}

function flown(leg: LegEvaluation | undefined) {
  if (leg?.result?.problem !== null) throw new Error(leg?.cause?.text ?? 'not flown');
  return leg.result;
}

const findings = (text: string) =>
  checked(text, { 'club.taskplan': EXAMPLE_CLUB }).findings.filter(
    ({ code }) => !/no-field|badge|never-used/.test(code),
  );

describe('a task that is soared', () => {
  const task = taskOf(plan());
  const { legs } = task;

  test('climbs on every leg, from the lower to the upper height, at the speed to fly for its lift', () => {
    for (const leg of legs) {
      const speed = leg.input?.speed;
      if (speed?.kind !== 'maccready') throw new Error(speed?.kind);
      expect(speed.climbMps).toBeCloseTo((3 * 1852) / 3600, 9);
      for (const climb of leg.soar?.climbs ?? []) {
        expect(climb.fromAltitudeM).toBeCloseTo(2800 * 0.3048, 2);
        expect(climb.toAltitudeM).toBeLessThanOrEqual(5600 * 0.3048 + 1e-6);
      }
    }
    expect(soaringOf(task)?.climbs).toBeGreaterThan(3);
  });

  test('each leg begins at the height at which the one before it ends', () => {
    expect(flown(legs[1]).departAltitudeM).toBe(flown(legs[0]).arriveAltitudeM);
    expect(flown(legs[2]).departAltitudeM).toBe(flown(legs[1]).arriveAltitudeM);
  });

  test('the budgets add up exactly', () => {
    for (const leg of legs) {
      const { budget, departAltitudeM, arriveAltitudeM, arriveHeightM, climbs } = flown(leg);
      const gained = climbs.reduce((sum, climb) => sum + climb.toAltitudeM - climb.fromAltitudeM, 0);
      const spent = budget.stillAir + budget.wind + budget.sinkingAir + budget.performance;
      expect(spent).toBeCloseTo(departAltitudeM + gained - arriveAltitudeM, 6);
      expect(budget.reserve + budget.altimeter + budget.margin).toBeCloseTo(arriveHeightM, 6);
    }
  });

  test('the last climb is as high as the last glide asks, to a metre', () => {
    const finish = flown(legs.at(-1));
    expect(finish.marginM).toBeGreaterThan(0);
    expect(finish.marginM).toBeLessThan(1.1);
    const last = soaringOf(task)?.lastGlide;
    expect(last?.altitudeM).toBeLessThan(5600 * 0.3048);
    expect(findings(plan()).map(({ code }) => code)).toEqual([]);
  });

  test('time, average and clock agree', () => {
    const soaring = soaringOf(task);
    const { distanceM, timeS, climbTimeS } = task.totals;
    expect(climbTimeS).toBeGreaterThan(600);
    expect(soaring?.averageMps).toBeCloseTo((distanceM as number) / (timeS as number), 9);
    expect(clockOf(task).finishS).toBeCloseTo(timeS as number, 6);
    expect(totalsText(task, show(DEFAULT_UNITS))).toMatchInlineSnapshot(
      `"73.1 NM, 1 h 06 min gliding, 1 h 14 min climbing, 2 h 21 min in all, 9 climbs soaring, 31 kt on average"`,
    );
  });

  test('the JSON and hover say how many climbs, how fast, and where the last glide begins', () => {
    const json = JSON.parse(budgetJson([task], 'plan.taskplan', [])).tasks[0];
    expect(json.soaring.climbs).toBe(soaringOf(task)?.climbs);
    expect(json.soaring.averageSpeedMps).toBeCloseTo(soaringOf(task)?.averageMps as number, 9);
    expect(json.soaring.lastGlide.leg).toBe(3);
    const last = json.legs.at(-1);
    expect(last.soaring.climbs).toBe(last.climbs.length);
    const all = understood(plan());
    const said = (start: string) => {
      const line = all.file.syntax.text.split('\n').findIndex((one) => one.trimStart().startsWith(start));
      const contents = hover(all, { line, character: 4 })?.contents;
      return typeof contents === 'object' && 'value' in contents ? contents.value : '';
    };
    expect(said('soar')).toMatchInlineSnapshot(`
      "soaring between 2,800 ft MSL and 5,600 ft MSL in lift of 3.0 kt: 9 climbs

      average over the ground 31 kt, climbs included

      the last glide begins 24.0 NM along leg 3, at 2,992 ft MSL"
    `);
    expect(said('finish').match(/\|.*(?:soaring|average|last glide).*/g)).toMatchInlineSnapshot(`
      [
        "| soaring | 4 climbs between 2,800 ft MSL and 5,600 ft MSL |",
        "| average over the ground, climbs included | 29 kt |",
        "| the last glide begins | 24.0 NM along leg 3, at 2,992 ft MSL |",
      ]
    `);
  });
});

describe('the last glide', () => {
  test('may begin on an earlier leg, and keeps what every turn of it asks', () => {
    const text = plan([
      'start    Larkfield at 3000 ft MSL',
      'soar     between 2800 ft MSL and 5600 ft MSL',
      'turn     "Far Bridge"',
      'turn     "Withy Bridge"',
      'turn     Larkfield',
      'turn     "Withy Bridge"',
      'finish   Larkfield',
    ]);
    const task = taskOf(text);
    const last = soaringOf(task)?.lastGlide;
    expect(last?.leg.number).toBeGreaterThanOrEqual(2);
    for (const leg of task.legs.slice((last?.leg.number ?? 1) - 1)) expect(flown(leg).marginM).toBeGreaterThan(0);
    const behind = task.legs.slice(last?.leg.number);
    expect(behind.flatMap((leg) => leg.soar?.climbs ?? [])).toEqual([]);
    expect(behind.every((leg) => leg.soar?.lastGlide === undefined)).toBe(true);
    expect(findings(text).map(({ code }) => code)).toEqual([]);
  });

  test('behind `glide` no climb is made, and the one before is high enough for what follows', () => {
    const text = plan([
      'start    Larkfield at 3000 ft MSL',
      'soar     between 2800 ft MSL and 6000 ft MSL',
      'turn     "Far Bridge"',
      'turn     "Corran Dam"',
      'glide',
      'finish   Ashmoor at 50 kt',
    ]);
    const { legs } = taskOf(text);
    const last = legs.at(-1);
    expect(last?.soar).toBeUndefined();
    expect(last?.input?.speed).toMatchObject({ kind: 'indicated' });
    expect(flown(last).climbs).toEqual([]);
    expect(flown(last).marginM).toBeGreaterThan(0);
    expect(flown(last).marginM).toBeLessThan(1.1);
    expect(legs[1]?.soar?.lastGlide).toBeDefined();
  });

  test('ends at a climb that is written: the height is new there', () => {
    const { legs } = taskOf(
      plan([
        'start    Larkfield at 3000 ft MSL',
        'soar     between 2800 ft MSL and 5600 ft MSL',
        'turn     "Far Bridge"',
        'glide',
        'climb    to 5600 ft MSL',
        'finish   Millpond',
      ]),
    );
    expect(flown(legs[0]).marginM).toBeLessThan(1.1);
    expect(flown(legs[0]).marginM).toBeGreaterThan(0);
  });

  test('a start that is high enough is all of it', () => {
    const task = taskOf(
      plan(['start    Larkfield at 5600 ft MSL', 'soar     between 2800 ft MSL and 5600 ft MSL', 'finish   Ashmoor']),
    );
    expect(soaringOf(task)).toMatchObject({ climbs: 0, lastGlide: { afterM: 0 } });
    expect(task.legs[0]?.soar?.climbs).toEqual([]);
  });
});

describe('what the soaring of several legs comes to', () => {
  type Soar = { climbs?: number; averageMps?: number; lastGlide?: { afterM: number; altitudeM: number } };
  const leg = (distanceM: number, soar?: Soar): LegEvaluation =>
    ({
      result: { distanceM },
      soar: soar && { ...soar, climbs: Array.from({ length: soar.climbs ?? 0 }, () => ({})) },
    }) as unknown as LegEvaluation;
  const of = (...legs: LegEvaluation[]) => soaringOf({ legs } as unknown as TaskEvaluation);

  test('the average is all their distance over all their time, not the mean of their averages', () => {
    // 30 km at 20 m/s take 1,500 s, 60 km at 30 m/s 2,000 s; the leg between is not soared.
    const both = of(leg(30_000, { climbs: 2, averageMps: 20 }), leg(7000), leg(60_000, { climbs: 3, averageMps: 30 }));
    expect(both?.climbs).toBe(5);
    expect(both?.averageMps).toBeCloseTo(90_000 / 3500, 9);
  });

  test('with a time that is not known there is no average, before it or behind it', () => {
    const known = leg(30_000, { averageMps: 20 });
    for (const legs of [
      [known, leg(60_000, { climbs: 1 })],
      [leg(60_000, { climbs: 1 }), known],
    ])
      expect(of(...legs)).toEqual({ climbs: 1, averageMps: undefined, lastGlide: undefined });
  });

  test('over no distance there is none either', () => {
    expect(of(leg(0, { averageMps: 20 }))).toEqual({ climbs: 0, averageMps: undefined, lastGlide: undefined });
  });

  test('the last glide is that of the leg on which it begins', () => {
    const first = leg(30_000, { averageMps: 20, lastGlide: { afterM: 12_000, altitudeM: 1400 } });
    const both = of(first, leg(60_000, { averageMps: 30 }));
    expect(both?.lastGlide).toEqual({ leg: first, afterM: 12_000, altitudeM: 1400 });
  });

  test('where no leg is soared there is nothing to say', () => {
    expect(of()).toBeUndefined();
    expect(of(leg(30_000), leg(5000))).toBeUndefined();
    expect(of({ soar: { climbs: [] } } as unknown as LegEvaluation)).toBeUndefined();
  });
});

describe('what a leg says for itself holds', () => {
  test.each([
    ['at 60 kt', 'indicated'],
    ['at maccready 1 kt', 'maccready'],
    ['at best glide', 'indicated'],
  ])('%s', (speed, kind) => {
    const task = taskOf(plan(LINES.map((line) => (line.startsWith('finish') ? `${line} ${speed}` : line))));
    const last = task.legs.at(-1);
    expect(last?.input?.speed.kind).toBe(kind);
    expect(flown(last).marginM).toBeGreaterThan(0);
    expect(flown(last).marginM).toBeLessThan(1.1);
  });
});

describe('what is said', () => {
  const soar = (line: string) => LINES.map((one) => (one.startsWith('soar') ? line : one));
  const said = (text: string) => findings(text).map(({ severity, code, message }) => `${severity} ${code}: ${message}`);

  test('heights that are none, in the wrong order, or of no ground', () => {
    expect(said(plan(soar('soar     between 5600 ft MSL and 2800 ft MSL')))).toMatchInlineSnapshot(`
      [
        "error value-out-of-sense: 2800 ft MSL as the upper height of \`soar\` does not lie above the lower, 5600 ft MSL. Write the lower one first.",
        "warning not-computed: leg 1 to Far Bridge and the 2 legs after it are not computed: the lower height of \`soar\` does not lie below the upper one.",
      ]
    `);
    expect(said(plan(soar('soar     between 2000 ft AGL and 5600 ft MSL')))).toMatchInlineSnapshot(`
      [
        "error datum-wrong: \`AGL\` has no ground to be counted from, since the line names no place. Write a height in \`MSL\`, or a flight level such as \`FL65\`.",
        "warning not-computed: leg 1 to Far Bridge and the 2 legs after it are not computed: the line \`soar between\` cannot be read.",
      ]
    `);
    expect(said(plan(soar('soar     between FL55 and 1000 ft MSL')))).toMatchInlineSnapshot(`
      [
        "error value-out-of-sense: 1,000 ft MSL as the upper height of \`soar\` does not lie above the lower, FL55 (5,624 ft MSL), by the QNH of Breezy. Write a greater height, or the lower one first.",
        "warning not-computed: leg 1 to Far Bridge and the 2 legs after it are not computed: the lower height of \`soar\` does not lie below the upper one.",
      ]
    `);
    expect(said(plan(soar('soar     between 3000 m MSL and 3000.5 m MSL')))[0]).toBe(
      'error value-out-of-sense: 9,844 ft MSL as the upper height of `soar` lies less than a metre above the lower, 9,843 ft MSL. Write a greater height, or the lower one first.',
    );
    expect(said(plan(soar('soar     between 2800 ft MSL and 2810 ft MSL')))).toMatchInlineSnapshot(`
      [
        "warning not-computed: leg 1 to Far Bridge and the 2 legs after it are not computed: between these heights of \`soar\` the way to Far Bridge takes more than 200 climbs.",
      ]
    `);
  });

  test('no lift, and lift that cannot be read', () => {
    const dull =
      'weather Dull\n  date 2026-06-13\n  qnh 1018 hPa\n  temperature 24 °C at 190 m MSL\n  wind surface from 230° at 2 kt\n';
    expect(
      said(plan(LINES, 'Dull', `${FAR}\n${dull}`)).filter((one) => !one.includes('extrapolated')),
    ).toMatchInlineSnapshot(`
      [
        "error soar-without-lift: how fast the glider climbs is not known: Dull has no \`lift\`. Write it, such as \`lift 3 kt to 5800 ft MSL\`, or name each climb.",
        "warning not-computed: leg 1 to Far Bridge and the 2 legs after it are not computed: no \`lift\` says how fast the glider climbs.",
      ]
    `);
    const bad = `${dull}  lift 3 to 5800 ft MSL\n`;
    expect(
      said(plan(LINES, 'Dull', `${FAR}\n${bad}`)).filter((one) => !one.includes('extrapolated')),
    ).toMatchInlineSnapshot(`
      [
        "error unit-missing: 3 has no unit: a rate of climb or sink is wanted here. Write 3 kt, 3 m/s or 3 ft/min.",
        "warning not-computed: leg 1 to Far Bridge and the 2 legs after it are not computed: the line \`lift\` of Dull cannot be read.",
      ]
    `);
  });

  test('a climb on the way where the glider soars', () => {
    const lines = LINES.flatMap((one) =>
      one.startsWith('finish') ? ['climb    to 5000 ft MSL after 3 km', one] : [one],
    );
    expect(said(plan(lines))).toMatchInlineSnapshot(`
      [
        "warning not-computed: leg 3 to Larkfield is not computed: a climb \`after\` a distance stands where the glider soars.",
      ]
    `);
  });

  test('soaring above the cloudbase once, and too low for a turnpoint', () => {
    expect(said(plan(soar('soar     between 2800 ft MSL and 6400 ft MSL')))).toMatchInlineSnapshot(`
      [
        "warning above-cloudbase: soaring goes up to 200 ft above the cloudbase: at 6,400 ft MSL, and the clouds begin at 6,200 ft MSL. Plan 6,200 ft MSL at most, less the distance from cloud that the rules of the air ask.",
      ]
    `);
    expect(said(plan(soar('soar     between 1500 ft MSL and 5600 ft MSL')))).toMatchInlineSnapshot(`
      [
        "error below-turn-height: leg 2 to Far Mill arrives 430 ft below turn height: 1,220 ft above the ground there, 1,650 ft asked. Soar no lower than 1,979 ft MSL or fly 56 kt.",
      ]
    `);
  });

  test('heights to soar between that lie below what is asked are not kept in part', () => {
    const low = said(plan(soar('soar     between 1000 ft MSL and 1500 ft MSL')));
    const ways = low.flatMap((one) => /Soar between .*? MSL and .*? MSL/.exec(one)?.[0].replaceAll(',', '') ?? []);
    expect(low.filter((one) => one.includes('no lower than'))).toEqual([]);
    expect(ways.length).toBeGreaterThan(0);
    for (const way of ways) {
      const after = said(plan(soar(way.replace('Soar ', 'soar     '))));
      expect(after.filter((one) => /value-out-of-sense|below-turn-height: leg 2/.test(one))).toEqual([]);
    }
  });

  test('a thin margin only where a written height makes it', () => {
    const thin = (lines: readonly string[]) => said(plan(lines)).filter((one) => one.includes('thin-margin'));
    expect(thin(LINES)).toEqual([]);
    const start = ['start    Larkfield at 4800 ft MSL', 'soar     between 2800 ft MSL and 5600 ft MSL'];
    expect(thin([...start, 'finish   Ashmoor at 60 kt'])).toHaveLength(1);
    const climb = [...start, 'turn     "Far Bridge"', 'turn     Larkfield', 'glide', 'climb    to 4800 ft MSL'];
    expect(thin([...climb, 'finish   Ashmoor at 60 kt'])).toHaveLength(1);
  });

  test('after the thermals end', () => {
    const late =
      'weather Late\n  date 2026-06-13\n  qnh 1018 hPa\n  temperature 24 °C at 190 m MSL\n  wind surface from 230° at 2 kt\n  lift 3 kt to 5800 ft MSL\n  thermals 11:00Z to 12:00Z\n';
    expect(
      said(plan(LINES, 'Late', `${FAR}\n${late}`)).filter((one) => one.includes('thermals')),
    ).toMatchInlineSnapshot(`
      [
        "warning after-thermals: the climb to 5,600 ft MSL ends 14 min after the last usable thermals: they end at 12:00Z, and it would begin after them. No take-off has all climbs in them: from the first to the last it takes 2 h 06 min, and they last 1 h 00 min. Fly less far.",
      ]
    `);
  });
});
