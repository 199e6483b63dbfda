/** Fields in reach in a plan: what is kept, what counts as a field, the JSON and hover. */
import { describe, expect, test } from 'vitest';
import { hover } from '../../server/features/hover.ts';
import { finishInReachFrom, homeInReachAt, stretchesWithoutField } from '../../server/plan/reach.ts';
import type { TaskEvaluation } from '../../server/plan/task.ts';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile, type Workspace } from '../../server/plan/workspace.ts';
import { budgetJson } from '../../server/reports/budget-json.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { check } from '../../server/rules/run.ts';

const ROOT = 'file:///plans';
const PLAN = `${ROOT}/plan.taskplan`;
const STRIP =
  'field Strip at 47.1150 N 19.6000 E\n  elevation 135 m\n  runway    07/25 600 m surface grass\n  frequency 118.500 MHz\n';
const TEXT = `use "club.taskplan"
use "strips.taskplan"

turnpoint Barrow at 47.1000 N 19.6200 E
  elevation 130 m

task Round
  aircraft Finch with pilot 82 kg
  weather  Breezy
  reserve  Training
  start    Larkfield at 5200 ft MSL
  turn     Barrow
  climb    to 5600 ft MSL
  climb    to 4000 ft MSL after 10 NM
  finish   Ashmoor
`;

function workspaceOf(strips = '# none\n', text = TEXT): Workspace {
  const workspace = createWorkspace([ROOT]);
  setFile(workspace, `${ROOT}/club.taskplan`, EXAMPLE_CLUB);
  setFile(workspace, `${ROOT}/strips.taskplan`, strips);
  setFile(workspace, PLAN, text);
  return workspace;
}

function understood(workspace: Workspace) {
  const file = workspace.files.get(PLAN);
  if (!file) throw new Error('no plan');
  return understand(workspace, file);
}

function taskOf(workspace: Workspace): TaskEvaluation {
  const [task] = understood(workspace).tasks;
  if (!task) throw new Error('no task');
  return task;
}

const stretchesOf = (task: TaskEvaluation) => task.legs.map((leg) => stretchesWithoutField(leg, task));

describe('what counts as a field', () => {
  test('any that the file sees, named or not, in a file that it uses', () => {
    expect(stretchesOf(taskOf(workspaceOf()))[0]).toHaveLength(1);
    expect(stretchesOf(taskOf(workspaceOf(STRIP)))[0]).toEqual([]);
  });

  test('its own arrival height counts where it is higher', () => {
    expect(stretchesOf(taskOf(workspaceOf(`${STRIP}  arrive 2900 ft AGL\n`)))[0]).toHaveLength(1);
    expect(stretchesOf(taskOf(workspaceOf(`${STRIP}  arrive 300 ft AGL\n`)))[0]).toEqual([]);
  });

  test('not one whose place or height is not known, and that is said', () => {
    const workspace = workspaceOf(STRIP.replace('elevation 135 m', 'elevation 135'));
    expect(stretchesOf(taskOf(workspace))[0]).toHaveLength(1);
    const finding = check(workspace, understood(workspace)).find(({ code }) => code === 'no-field-in-glide');
    expect(finding?.related.map(({ message }) => message).join('\n')).toContain('`Strip` cannot be counted');
    const broken = workspaceOf(`${STRIP}  arrive 300 feet\n`);
    expect(stretchesOf(taskOf(broken))[0]).toHaveLength(1);
  });

  test('not a turnpoint', () => {
    const workspace = workspaceOf(STRIP.replace('field', 'turnpoint').replace(/ {2}(runway|frequency).*\n/g, ''));
    expect(stretchesOf(taskOf(workspace))[0]).toHaveLength(1);
  });
});

describe('what is kept', () => {
  test('an evaluation is the same object until something that it is flown among changes', () => {
    const workspace = workspaceOf(STRIP);
    const before = taskOf(workspace);
    setFile(workspace, PLAN, `# A remark.\n${TEXT}`);
    expect(taskOf(workspace)).toBe(before);
    setFile(workspace, `${ROOT}/strips.taskplan`, `# A remark.\n${STRIP}`);
    expect(taskOf(workspace)).toBe(before);
    setFile(workspace, `${ROOT}/strips.taskplan`, STRIP.replace('135', '136'));
    const after = taskOf(workspace);
    expect(after).not.toBe(before);
    // The legs themselves rest on nothing but what they name.
    expect(after.legs).toBe(before.legs);
  });

  test('stretches of legs that did not change are not computed again', () => {
    const workspace = workspaceOf();
    const before = stretchesOf(taskOf(workspace));
    setFile(workspace, PLAN, TEXT.replace('5600 ft', '5700 ft'));
    const after = stretchesOf(taskOf(workspace));
    expect(after[0]).toBe(before[0]);
    expect(after[1]).not.toBe(before[1]);
  });

  test('a field that comes or goes is seen at once', () => {
    const workspace = workspaceOf();
    const found = () =>
      check(workspace, understood(workspace)).filter(({ code }) => code === 'no-field-in-glide').length;
    expect(found()).toBe(1);
    setFile(workspace, `${ROOT}/strips.taskplan`, STRIP);
    expect(found()).toBe(0);
    setFile(workspace, `${ROOT}/strips.taskplan`, '');
    expect(found()).toBe(1);
  });
});

describe('the finding', () => {
  test('what it advises is enough, and less is not', () => {
    const workspace = workspaceOf();
    const messages = () =>
      check(workspace, understood(workspace))
        .filter(({ code }) => code === 'no-field-in-glide')
        .map(({ message }) => message);
    const [message = ''] = messages();
    const height = Number((/Leave Larkfield at ([\d,]+) ft/.exec(message)?.[1] ?? '').replace(',', ''));
    expect(height).toBeGreaterThan(5200);
    setFile(workspace, PLAN, TEXT.replace('5200', String(height)));
    expect(messages()).toEqual([]);
    setFile(workspace, PLAN, TEXT.replace('5200', String(height - 60)));
    expect(messages()).toHaveLength(1);
  });

  test('is not told for a leg that meets the ground, nor again where a leg arrives low over a field', () => {
    const low = workspaceOf(STRIP, TEXT.replace('5200', '2000'));
    const codes = (workspace: Workspace) => check(workspace, understood(workspace)).map(({ code }) => code);
    expect(codes(low)).toContain('reaches-ground');
    const home = workspaceOf(
      STRIP,
      TEXT.replace('  climb    to 4000 ft MSL after 10 NM\n', '').replace('5600', '4000'),
    );
    expect(codes(home)).toContain('below-reserve');
    expect(codes(home)).not.toContain('no-field-in-glide');
  });
});

describe('the point of no choice', () => {
  test('lies at the climb that makes home, and a climb says from which height home is in reach', () => {
    const workspace = workspaceOf(STRIP, TEXT.replace('5600', '3600'));
    const task = taskOf(workspace);
    const [, leg] = task.legs;
    if (!leg) throw new Error('no leg');
    const from = finishInReachFrom(leg, task);
    expect(from).toBeCloseTo(10 * 1852, -1);
    const [overhead, onTheWay] = leg.climbs.map((climb) => homeInReachAt(climb, leg, task) ?? Number.NaN);
    expect(overhead).toBeGreaterThan(onTheWay ?? 0);
    // From exactly that height over the turnpoint the best glide arrives with exactly what is asked.
    const ft = Math.ceil((overhead ?? 0) / 0.3048);
    const again = taskOf(
      workspaceOf(STRIP, TEXT.replace('5600', String(ft)).replace('  climb    to 4000 ft MSL after 10 NM\n', '')),
    );
    const last = again.legs[1]?.result;
    if (!last || last.problem) throw new Error('not flown');
    expect(last.marginM).toBeGreaterThanOrEqual(0);
    expect(last.marginM).toBeLessThan(0.4);
    expect(finishInReachFrom(again.legs[1] as typeof leg, again)).toBe(0);
  });
});

describe('what is shown', () => {
  test('the keys of the JSON', () => {
    const { tasks } = JSON.parse(budgetJson([taskOf(workspaceOf())], 'plan.taskplan', [])) as {
      tasks: {
        legs: {
          stretchesWithoutField: Record<string, unknown>[];
          homeFromClimbs: unknown[];
          worstPoint: { fieldsInReach: { landing: object | null }[] } | null;
        }[];
      }[];
    };
    const [first, second] = tasks[0]?.legs ?? [];
    expect(Object.keys(first?.stretchesWithoutField[0] ?? {})).toEqual(
      expect.arrayContaining(['fromM', 'toM', 'neededAltitudeM', 'closestField']),
    );
    expect(second?.stretchesWithoutField).toEqual([]);
    const landing = second?.worstPoint?.fieldsInReach[0]?.landing;
    expect(Object.keys(landing ?? {})).toEqual(
      expect.arrayContaining(['runway', 'courseDeg', 'headwindMps', 'crosswindMps', 'lengthM']),
    );
    expect(second?.homeFromClimbs).toHaveLength(2);
  });

  test('hover lists the fields in reach with runway, frequency and what they spare', () => {
    const file = understood(workspaceOf(STRIP));
    const line = TEXT.split('\n').findIndex((text) => text.includes('turn     Barrow'));
    const textAt = (at: number) =>
      String((hover(file, { line: at, character: 3 })?.contents as { value?: string })?.value);
    const value = textAt(line);
    expect(value).toContain('**Fields in reach** at the worst point');
    expect(value).toMatch(
      /\| Strip \| \d\.\d NM \| [\d,]+ ft \| 07\/25 600 m grass \| 118\.500 MHz \| 25: headwind \d+ kt, (no )?crosswind.* \|/,
    );
    expect(textAt(line + 1)).toContain('home, Ashmoor, is in reach with the reserve from **');
  });
});
