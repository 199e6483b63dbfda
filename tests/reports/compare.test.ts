import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile } from '../../server/plan/workspace.ts';
import { type ComparedFile, compare, isNothing } from '../../server/reports/compare.ts';
import { compareJson } from '../../server/reports/compare-json.ts';
import { compareMarkdown } from '../../server/reports/compare-markdown.ts';
import { compareText } from '../../server/reports/compare-text.ts';
import { changeText, reasonTexts, showOf } from '../../server/reports/compare-words.ts';
import { NO_PAINT } from '../../server/reports/plain.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { check } from '../../server/rules/run.ts';

function side(plan: string, club = EXAMPLE_CLUB): ComparedFile {
  const workspace = createWorkspace(['plan:/']);
  setFile(workspace, 'plan:/club.taskplan', club);
  const understood = understand(workspace, setFile(workspace, 'plan:/a.taskplan', plan));
  return { name: 'a.taskplan', workspace, understood, findings: check(workspace, understood) };
}

const plan = (given: {
  pilot: number;
  start: number;
  climb: number;
  speed: string;
  units: string;
}) => `use "club.taskplan"
${given.units}
task Home
  aircraft Finch with pilot ${given.pilot} kg
  weather  Breezy
  reserve  Training
  start    "Withy Bridge" at ${given.start} ft MSL
  turn     "Corran Dam" at 60 kt
  climb    to ${given.climb} ft MSL
  finish   Larkfield at ${given.speed}
`;

const club = (given: { qnh: number; wind: number; share: number; arrive: number; elevation: number }) =>
  EXAMPLE_CLUB.replace('1018 hPa', `${given.qnh} hPa`)
    .replace('245° at 14 kt', `250° at ${given.wind} kt`)
    .replace('70 %', `${given.share} %`)
    .replace('1000 ft AGL', `${given.arrive} ft AGL`)
    .replace('elevation 190 m', `elevation ${given.elevation} m`);

const between = (min: number, max: number) => fc.integer({ min, max });
const PLAN = fc.record({
  pilot: between(60, 110),
  start: between(3000, 6000),
  climb: between(4000, 6000),
  speed: fc.constantFrom('best glide', '55 kt', '75 kt', 'mc 2 kt'),
  units: fc.constantFrom('', 'units\n  altitude m\n'),
});
const CLUB = fc.record({
  qnh: between(980, 1040),
  wind: between(0, 30),
  share: between(60, 100),
  arrive: between(500, 1500),
  elevation: between(100, 300),
});

const shownValue = (text: string): number =>
  Number(/([−+]?)([\d,]+) (?:ft|m)$/.exec(text)?.slice(1).join('').replace('−', '-').replace(/[,+]/g, ''));

describe('reasons', () => {
  test('as shown they add up to the change as shown', () => {
    let seen = 0;
    fc.assert(
      fc.property(PLAN, PLAN, CLUB, CLUB, (one, other, oldClub, newClub) => {
        const { tasks } = compare(
          [side(plan({ ...one, units: other.units }), club(oldClub))],
          [side(plan(other), club(newClub))],
        );
        for (const task of tasks) {
          const with_ = showOf(task);
          for (const leg of task.change?.legs ?? []) {
            const why = reasonTexts(leg, with_);
            const total = /\(([−+][\d,]+ (?:ft|m))\)$/.exec(changeText(leg, with_))?.[1];
            if (why?.of !== 'margin' || total === undefined) continue;
            const parts = why.reasons
              .filter(({ much }) => much !== 'not computed alone')
              .map(({ much }) => shownValue(much));
            expect(parts.reduce((sum, part) => sum + part, 0)).toBe(shownValue(total));
            // No reason is shown more than one unit away from what it is, and one more for the largest.
            for (const reason of leg.reasons) {
              const shown = why.reasons.find(({ what }) => what.startsWith(`${reason.label} `));
              const exact = (reason.alone.marginM ?? 0) / with_.units.altitude.factor;
              expect(Math.abs((shown ? shownValue(shown.much) : 0) - exact)).toBeLessThan(2.01);
            }
            seen++;
          }
        }
      }),
      { numRuns: 80 },
    );
    expect(seen).toBeGreaterThan(30);
  }, 60_000);

  test('a plan compared with itself has nothing to tell, in whatever units it is read', () => {
    fc.assert(
      fc.property(PLAN, CLUB, (one, of) => {
        const metric = plan({ ...one, units: 'units\n  altitude m\n' });
        expect(isNothing(compare([side(plan(one), club(of))], [side(metric, club(of))]))).toBe(true);
      }),
      { numRuns: 30 },
    );
  }, 60_000);
});

test('hostile names are escaped in every format', () => {
  const name = '<img src=x onerror=y> \u001b[31m\u202e `a` | [b](c) </details>';
  const old = plan({ pilot: 80, start: 5000, climb: 5000, speed: 'best glide', units: '' });
  const now = old.replace('task Home', `task "${name}"`).replace('5000 ft', '3500 ft');
  const comparison = compare([side(old)], [side(now)]);
  for (const text of [compareText(comparison, NO_PAINT), compareMarkdown(comparison)])
    expect(text.replaceAll('\n', '')).not.toMatch(/[\p{Cc}\p{Cf}]/u);
  expect(compareJson(comparison).replaceAll('\n', '')).not.toMatch(/\p{Cc}/u);
  const markdown = compareMarkdown(comparison);
  expect(markdown).not.toMatch(/(?<!\\)<(?!\/?(?:details|summary|code)>)/);
  expect(markdown.match(/<details>/g)?.length).toBe(markdown.match(/(?<!\\)<\/details>/g)?.length);
  expect((JSON.parse(compareJson(comparison)) as { tasks: { name: string }[] }).tasks[0]?.name).toContain('<img');
});

test('an entry that moves to another file, as it is, means the same; another one is told', () => {
  const named = (name: string, text: string): ComparedFile => ({ ...side(text), name });
  const calm = 'weather Quiet\n  wind surface from 230° at 3 kt\n';
  const windy = calm.replace('3 kt', '9 kt');
  const entries = (one: string, other: string) => compare([named('old', one)], [named('new', other)]).entries;
  expect(entries(calm, `# moved\n\n${calm}`)).toEqual([]);
  expect(isNothing(compare([named('old', calm)], [named('new', calm)]))).toBe(true);
  expect(entries(calm, windy).map(({ file, what, fate }) => [file, what, fate])).toEqual([
    ['new', 'weather Quiet', 'added'],
    ['old', 'weather Quiet', 'removed'],
  ]);
});

test('an entry that no task rests on is told, and not as a change in the air', () => {
  const of = (length: string) => [side(`field Away at 47.5 N 19.5 E\n  elevation 150 m\n  runway 09/27 ${length}\n`)];
  const comparison = compare(of('700 m'), of('400 m'));
  expect(compareText(comparison, NO_PAINT)).toMatch(
    /^nothing changes in the air for any task\n\nentries that differ:\n {2}field Away \(a\.taskplan\): changed\n/,
  );
  expect(isNothing(compare(of('700 m'), of('0.7 km')))).toBe(true);
});

describe('a finding on both sides', () => {
  const GIVEN = { pilot: 82, start: 5000, climb: 5000, speed: '75 kt', units: '' };
  const stays = (climb: number, units = '') => compare([side(plan(GIVEN))], [side(plan({ ...GIVEN, climb, units }))]);

  test('is told where its figures are others, with what it said before', () => {
    const comparison = stays(5100);
    const [task] = comparison.tasks;
    expect(task?.appeared).toEqual([]);
    const altered = task?.altered.find(({ severity }) => severity === 'error');
    expect(altered?.message).not.toBe(altered?.messageBefore);
    for (const text of [compareText(comparison, NO_PAINT), compareMarkdown(comparison)]) {
      expect(text).toContain('still error');
      expect(text).toContain('before: ');
    }
    const json = JSON.parse(compareJson(comparison)) as { tasks: { alteredFindings: { messageBefore: string }[] }[] };
    expect(json.tasks[0]?.alteredFindings.map(({ messageBefore }) => messageBefore)).toContain(altered?.messageBefore);
  });

  test('is not where only the units of the reader are', () => {
    expect(isNothing(stays(5000, 'units\n  altitude m\n'))).toBe(true);
    expect(isNothing(stays(5000))).toBe(true);
  });
});

describe('times that no leg shows', () => {
  const day = (takeoff: string) =>
    plan({ pilot: 82, start: 3200, climb: 5400, speed: '60 kt', units: '' }).replace(
      '  start ',
      `  takeoff  ${takeoff}\n  start `,
    );
  const lift = (kt: number) => EXAMPLE_CLUB.replaceAll('3 kt to 5800 ft MSL', `${kt} kt to 5800 ft MSL`);
  const text = (comparison: ReturnType<typeof compare>) => compareText(comparison, NO_PAINT);

  test('weaker lift makes longer climbs: the task differs, and says so', () => {
    const comparison = compare([side(day('11:30Z'), lift(4))], [side(day('11:30Z'), lift(2))]);
    const change = comparison.tasks[0]?.change;
    expect(change?.timesChanged).toBe(true);
    expect(change?.legs.every(({ changed }) => !changed)).toBe(true);
    // The same height at half the rate takes twice as long.
    expect(change?.timesAfter.climbTimeS).toBeCloseTo(2 * (change?.timesBefore.climbTimeS ?? Number.NaN), 6);
    expect(text(comparison)).toMatch(/^1 task differs: 1 changed\n/);
    expect(text(comparison)).toMatch(
      /\n {2}times: climbing .+ → .+, in all .+ → .+\n {2}what changed:\n {4}lift 4 kt to 5800/,
    );
    expect(compareMarkdown(comparison)).toMatch(/ {2}- times: climbing /);
    const json = JSON.parse(compareJson(comparison));
    expect(json.nothingChanges).toBe(false);
    expect(json.tasks[0].times.before.climbTimeS).toBe(change?.timesBefore.climbTimeS);
  });

  test('a fact that changes times or limits alone is named, whatever else changes a leg', () => {
    const faster = day('11:30Z').replace('at 60 kt\n  climb', 'at 63 kt\n  climb');
    const both = compare([side(day('11:30Z'), lift(3))], [side(faster, lift(2))]);
    expect(text(both)).toMatch(/\n {4}speed to Corran Dam 60 kt → 63 kt: −\d+ ft\n/);
    expect(text(both)).toMatch(/\n {2}what else changed:\n {4}lift 3 kt to 5800 ft MSL → 2 kt to 5800 ft MSL\n/);
    expect(compareMarkdown(both)).toContain('What else changed:\n\n- lift 3 kt to 5800 ft MSL → 2 kt');

    const vno = EXAMPLE_CLUB.replace(/vno( +)\d+ kt/, 'vno$1 59 kt');
    const limit = compare([side(day('11:30Z'))], [side(faster, vno)]);
    expect(text(limit)).toMatch(/new warning above-vno/);
    expect(text(limit)).toMatch(/\n {2}what else changed:\n {4}vno of Finch \d+ kt → 59 kt\n/);
    const alone = compare([side(day('11:30Z'))], [side(day('11:30Z'), vno)]);
    expect(text(alone)).toMatch(/\n {2}what changed:\n {4}vno of Finch \d+ kt → 59 kt\n/);
  });

  test('another take-off is told; the same one in another zone is not', () => {
    const later = compare([side(day('11:30Z'))], [side(day('12:15Z'))]);
    expect(text(later)).toMatch(/\n {2}times: take-off 11:30Z → 12:15Z\n/);
    expect(isNothing(compare([side(day('11:30Z'))], [side(day('13:30+02:00'))]))).toBe(true);
    const gone = compare([side(day('11:30Z'))], [side(day('11:30Z').replace(/ {2}takeoff.*\n/, ''))]);
    expect(text(gone)).toMatch(/\n {2}times: take-off 11:30Z → none\n/);
  });
});
