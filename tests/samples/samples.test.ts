/** The samples: each plan says what its comment promises and nothing else, and no slip of the pen in them breaks anything. */
import { readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { formatFile } from '../../grammar/format.ts';
import { rangeOf } from '../../server/plan/places.ts';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile, type Workspace } from '../../server/plan/workspace.ts';
import { RULES } from '../../server/rules/index.ts';
import type { Finding } from '../../server/rules/rule.ts';
import { check } from '../../server/rules/run.ts';

const FOLDER = path.join(import.meta.dirname, '../../samples');
const ROOT = 'file:///samples';

const samples: ReadonlyMap<string, string> = new Map(
  readdirSync(FOLDER, { recursive: true, encoding: 'utf8' })
    .filter((name) => name.endsWith('.taskplan'))
    .map((name) => name.replaceAll('\\', '/'))
    .sort()
    .map((name) => [name, readFileSync(path.join(FOLDER, name), 'utf8')]),
);
const names = [...samples.keys()];
const textOf = (name: string) => samples.get(name) as string;
const uriOf = (name: string) => `${ROOT}/${name}`;

/** All samples, as one workspace. */
function loaded(): Workspace {
  const workspace = createWorkspace([ROOT]);
  for (const [name, text] of samples) setFile(workspace, uriOf(name), text);
  return workspace;
}

/** Every finding of one file, whose text is `text`; a rule that throws fails the test. */
function found(workspace: Workspace, name: string, text = textOf(name)): Finding[] {
  const file = setFile(workspace, uriOf(name), text);
  return check(workspace, understand(workspace, file), undefined, (code, error) => {
    throw new Error(`${code} threw`, { cause: error });
  });
}

/** The finding's first line, from 1; throws for a finding outside its document. */
function lineOf(workspace: Workspace, name: string, { at, code }: Finding): number {
  const range = rangeOf(workspace, at);
  if (!range || at.uri !== uriOf(name)) throw new Error(`${code} lies in no entry of ${name}`);
  const { start, end } = at.span;
  if (!(start >= 0 && start <= end && end <= at.entry.text.length)) throw new Error(`${code} lies outside its entry`);
  return range.start.line + 1;
}

/** Every finding and every place it points to lies in a document. */
function holds(workspace: Workspace, name: string, text: string): void {
  for (const finding of found(workspace, name, text)) {
    lineOf(workspace, name, finding);
    for (const { at } of finding.related) {
      if (!rangeOf(workspace, at)) throw new Error(`${finding.code} points to a place that is not there`);
      if (at.span.start < 0 || at.span.end > at.entry.text.length)
        throw new Error(`${finding.code} points outside an entry`);
    }
  }
}

/** What each plan is there to show: `line code`. A file that is not named here has no finding at all. */
const SHOWN: Readonly<Record<string, readonly string[]>> = {
  'plans/airspace.taskplan': [
    '10 airspace-not-complete',
    '17 near-airspace',
    '19 enters-airspace',
    '29 enters-airspace',
    '31 enters-airspace',
  ],
  'plans/beyond-limits.taskplan': ['9 limit-distance', '12 limit-reserve', '17 limit-within'],
  'plans/crosswind.taskplan': ['30 crosswind', '37 runway-length'],
  'plans/heavy.taskplan': ['11 overweight', '21 too-much-ballast', '31 pilot-weight'],
  'plans/late-day.taskplan': ['33 after-thermals', '43 after-sunset', '49 daylight-unknown'],
  'plans/leg-home.taskplan': ['31 below-reserve'],
  'plans/low-over-mast.taskplan': ['9 airspace-not-complete', '14 below-clearance'],
  'plans/low-turn.taskplan': ['14 below-turn-height', '14 no-field-in-glide'],
  'plans/out-of-reach.taskplan': ['15 no-field-in-glide'],
  'plans/silver.taskplan': ['8 badge-distance', '19 badge-distance'],
  'plans/slips.taskplan': [
    '9 unit-missing',
    '12 datum-missing',
    '14 detail-unknown',
    '17 unknown-name',
    '21 unit-missing',
    '22 not-computed',
    '22 unknown-name',
    '23 datum-missing',
    '24 unit-wrong-kind',
    '25 detail-unknown',
  ],
  'plans/soaring.taskplan': ['8 badge-distance'],
  'plans/stretched-polar.taskplan': ['16 speed-outside-polar'],
  'plans/strong-headwind.taskplan': ['24 no-headway'],
  'plans/thin-margin.taskplan': ['26 thin-margin'],
  'plans/too-far.taskplan': ['16 reaches-ground'],
  'plans/too-fast.taskplan': ['24 above-vno', '26 above-vne'],
  'plans/under-cloud.taskplan': ['23 above-cloudbase'],
  'plans/unknown-ground.taskplan': ['11 terrain-unknown'],
};

describe('the samples', () => {
  test('are there', () => {
    expect(names.filter((name) => name.startsWith('club/')).length).toBeGreaterThanOrEqual(4);
    expect(names.filter((name) => name.startsWith('plans/')).length).toBeGreaterThanOrEqual(8);
    expect(names).toEqual(expect.arrayContaining(Object.keys(SHOWN)));
  });

  test.each(names)('%s says what it is there to show, and nothing else', (name) => {
    const workspace = loaded();
    const said = found(workspace, name).map((finding) => `${lineOf(workspace, name, finding)} ${finding.code}`);
    expect(said).toEqual(SHOWN[name] ?? []);
  });

  test.each(names)('%s brings in what it uses, and computes every leg it can', (name) => {
    const workspace = loaded();
    const { scope, tasks } = understand(workspace, setFile(workspace, uriOf(name), textOf(name)));
    expect(scope.wanted).toEqual([]);
    const computed = tasks.every(({ legs }) => legs.length > 0 && legs.every(({ result }) => result));
    expect(computed).toBe(name !== 'plans/slips.taskplan');
  });

  test.each(names.filter((name) => name.startsWith('plans/')))('%s opens with a comment on what it shows', (name) => {
    expect(textOf(name)).toMatch(/^# Shows /);
  });

  test('the leg home is below the reserve by the number of the manual', () => {
    const [finding] = found(loaded(), 'plans/leg-home.taskplan');
    expect(finding?.message).toBe(
      'leg 4 to Larkfield arrives 320 ft below reserve: 830 ft above the field, 1,150 ft asked. Leave Corran Dam at 5,748 ft MSL or fly 69 kt.',
    );
  });

  test('every code that a sample shows is a rule with a page', () => {
    const codes = new Set(RULES.map(({ code }) => code));
    for (const line of Object.values(SHOWN).flat()) expect(codes).toContain(line.split(' ')[1]);
  });

  test.each(names)('%s is in the standard layout', (name) => {
    const file = setFile(createWorkspace([ROOT]), uriOf(name), textOf(name));
    expect(formatFile(file.syntax)).toEqual({ text: textOf(name) });
  });
});

/** What a hand or a paste leaves behind. */
const PIECES = [
  '',
  ' ',
  '\n',
  '\r\n',
  '\t',
  '#',
  '"',
  '°',
  '±',
  '-',
  '.',
  ',',
  '0',
  '1',
  '9',
  '00',
  '99999',
  '-5',
  'at',
  'to',
  'MSL',
  'AGL',
  'ft',
  'kg',
  'kt',
  'NM',
  'FL65',
  'M',
  'turn',
  'climb',
  'finish',
  'start',
  '\nuse "',
  '\ntask T',
  '\n  climb ',
  '\n  turn Larkfield',
  '\nfield Larkfield at 0 N 0 E\n',
  'Larkfield',
  'é',
  '\u0000',
  '\ud83d',
  '👍',
  '\u2028',
  '\ufeff',
];

interface Edit {
  readonly from: number;
  readonly length: number;
  readonly piece: string;
}

const edit: fc.Arbitrary<Edit> = fc.record({
  from: fc.nat(1_000_000),
  length: fc.oneof(fc.constantFrom(0, 0, 1, 2), fc.nat(40)),
  piece: fc.oneof(fc.constantFrom(...PIECES), fc.string({ unit: 'binary', maxLength: 6 })),
});

/** `halves`: with halves of characters, which an editor may send and a file cannot hold. */
function edited(text: string, edits: readonly Edit[], halves = false): string {
  let now = text;
  for (const { from, length, piece } of edits) {
    const at = from % (now.length + 1);
    now = now.slice(0, at) + piece + now.slice(at + length);
  }
  return halves ? now : now.replace(/\p{Cs}/gu, '\ufffd');
}

const plans = names.filter((name) => name.startsWith('plans/'));
const club = names.filter((name) => name.startsWith('club/'));
const HALF_IN_PATH: Edit = { from: textOf('plans/slips.taskplan').indexOf('/club'), length: 0, piece: '\ud83d' };
/** Plans cost more than the club's files, since their legs are computed. */
const anyName = fc.oneof(
  { weight: 4, arbitrary: fc.constantFrom(...club) },
  { weight: 1, arbitrary: fc.constantFrom(...plans) },
);
/** Far more than it takes; a machine may be busy. */
const PATIENCE_MS = 180_000;

describe('a sample half typed or spoilt', () => {
  test('any beginning of it is checked without a throw, and says nothing outside it', () => {
    const workspace = loaded();
    for (const name of names) {
      const text = textOf(name);
      for (let end = 0; end < text.length; end += 7) holds(workspace, name, text.slice(0, end));
      setFile(workspace, uriOf(name), text);
    }
  });

  test(
    'so is one with random edits',
    () => {
      const workspace = loaded();
      fc.assert(
        fc.property(anyName, fc.array(edit, { minLength: 1, maxLength: 3 }), (name, edits) => {
          holds(workspace, name, edited(textOf(name), edits));
          setFile(workspace, uriOf(name), textOf(name));
        }),
        { numRuns: 10_000 },
      );
    },
    PATIENCE_MS,
  );

  test(
    'and a plan that uses spoilt club files',
    () => {
      const workspace = loaded();
      fc.assert(
        fc.property(fc.constantFrom(...plans), fc.constantFrom(...club), edit, (plan, shared, one) => {
          setFile(workspace, uriOf(shared), edited(textOf(shared), [one]));
          holds(workspace, plan, textOf(plan));
          setFile(workspace, uriOf(shared), textOf(shared));
        }),
        { numRuns: 500 },
      );
    },
    PATIENCE_MS,
  );

  // An editor may send half a character; a path that holds one has no URI, and is to be a finding like any other.
  test('half a character in the path of a `use` costs that line alone', () => {
    const workspace = loaded();
    holds(workspace, 'plans/slips.taskplan', edited(textOf('plans/slips.taskplan'), [HALF_IN_PATH], true));
  });
});
