import { readFileSync } from 'node:fs';
import path from 'node:path';
import { expect, test } from 'vitest';
import { legwise, ROOT } from '../cli/run.ts';

interface Leg {
  readonly marginM: number | null;
  readonly airspaces: Record<string, number | string | null>[] | null;
  readonly belowClearance: Record<string, number | string | null>[] | null;
  readonly groundKnown: boolean | null;
}

function tasksOf(plan: string) {
  const { out } = legwise(['budget', `samples/plans/${plan}.taskplan`, '--format', 'json'], { folder: ROOT });
  return JSON.parse(out) as {
    tasks: { name: string; legs: Leg[]; airspacesNotChecked: string[] }[];
    diagnostics: { code: string; message: string }[];
  };
}

test('every volume that a finding names stands in the JSON of its leg, with the limits', () => {
  const { tasks, diagnostics } = tasksOf('airspace');
  const met = tasks.flatMap(({ legs }) => legs.flatMap(({ airspaces }) => airspaces ?? []));
  for (const kind of ['enters', 'near'] as const) {
    const named = diagnostics.filter(({ code }) => code === `${kind}-airspace`);
    expect(named.length).toBeGreaterThan(0);
    const those = met.filter((one) => one['kind'] === kind);
    // One that goes on from the leg before is no finding again, and stands there all the same.
    expect(those.length).toBeGreaterThanOrEqual(named.length);
    for (const { message } of named) expect(those.some(({ name }) => message.includes(String(name)))).toBe(true);
  }
  for (const one of met.filter(({ kind }) => kind === 'enters')) {
    expect(one['lowestAltitudeM']).toBeLessThanOrEqual(Number(one['highestAltitudeM']));
    expect(one['besideM']).toBe(0);
  }
});

test('what is passed too low, by how much', () => {
  const { tasks, diagnostics } = tasksOf('low-over-mast');
  const low = tasks.flatMap(({ legs }) => legs.flatMap(({ belowClearance }) => belowClearance ?? []));
  expect(low).toHaveLength(diagnostics.filter(({ code }) => code === 'below-clearance').length);
  for (const one of low) expect(Number(one['altitudeM'])).toBeLessThan(Number(one['askedAltitudeM']));
});

test('without elevation data no ground is known, and it is said', () => {
  const { tasks } = tasksOf('unknown-ground');
  const flown = tasks.flatMap(({ legs }) => legs.filter(({ marginM }) => marginM !== null));
  expect(flown.length).toBeGreaterThan(0);
  for (const { groundKnown } of flown) expect(groundKnown).toBe(false);
});

test('a leg that is not computed has none of it', () => {
  const text = readFileSync(path.join(ROOT, 'samples/plans/leg-home.taskplan'), 'utf8');
  const input = text
    .replaceAll('"../club/', '"samples/club/')
    .replace(/finish {4}Larkfield at 75 kt/, 'finish    Nowhere at 75 kt');
  const { out } = legwise(['budget', '-', '--format', 'json'], { folder: ROOT, input });
  const last = JSON.parse(out).tasks[0].legs.at(-1) as Leg;
  expect(last).toMatchObject({ marginM: null, airspaces: null, belowClearance: null, groundKnown: null });
});
