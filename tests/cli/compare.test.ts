import { spawnSync } from 'node:child_process';
import { mkdirSync, renameSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { folderWith, legwise } from './run.ts';

const PLAN = `use "../club.taskplan"

task Home
  aircraft Finch with pilot 82 kg
  weather  Breezy
  reserve  Training
  start    "Withy Bridge" at 5000 ft MSL
  finish   Larkfield at best glide

task Away
  aircraft Finch with pilot 82 kg
  weather  Calm
  reserve  Training
  start    Larkfield at 5000 ft MSL
  finish   Ashmoor at 55 kt
`;

let folder: string;
let remove: () => void;
beforeEach(() => {
  ({ folder, remove } = folderWith({ 'club.taskplan': EXAMPLE_CLUB, 'Pläne am See/home.taskplan': PLAN }));
});
afterEach(() => remove());

const HOME = 'Pläne am See/home.taskplan';
const write = (name: string, text: string) => {
  mkdirSync(path.dirname(path.join(folder, name)), { recursive: true });
  writeFileSync(path.join(folder, name), text);
};

function git(...args: string[]): void {
  const who = ['-c', 'user.name=Test', '-c', 'user.email=test@example.invalid', '-c', 'commit.gpgsign=false'];
  const { status, stderr } = spawnSync('git', [...who, ...args], { cwd: folder, encoding: 'utf8' });
  if (status !== 0) throw new Error(stderr);
}

function commit(message: string): void {
  git('add', '--all');
  git('commit', '--quiet', '--message', message);
}

const run = (...args: string[]) => legwise(['compare', ...args], { folder });

interface Json {
  nothingChanges: boolean;
  tasks: {
    name: string;
    fate: string;
    weight: string;
    oldName: string | null;
    facts: { fact: string }[];
    legs: {
      change: { marginM: number } | null;
      together: { marginM: number } | null;
      reasons: { fact: string; alone: { marginM: number } }[];
    }[];
    newFindings: { code: string; line: number; file: string }[];
    goneFindings: { code: string }[];
  }[];
}
const json = (...args: string[]): Json => JSON.parse(run('--format', 'json', ...args).out) as Json;

describe('compare --git', () => {
  beforeEach(() => {
    git('init', '--quiet', '--initial-branch', 'main');
    commit('first');
  });

  test('nothing changed, and spaces, comments and units only', () => {
    expect(run('--git', 'HEAD')).toMatchObject({ status: 0, err: '' });
    write(
      HOME,
      PLAN.replace('  finish   Larkfield', '  finish Larkfield # home')
        .replace('55 kt', '101.86 km/h')
        .replace('82 kg', '82.0 kg'),
    );
    write(
      'club.taskplan',
      EXAMPLE_CLUB.replace('elevation 210 m', 'elevation 0.210 km').replace('245° at 14 kt', '245°   at 25.928 km/h'),
    );
    const { status, out } = run('--git', 'HEAD');
    expect(out).toMatch(/^nothing changes in the air\n/);
    expect(status).toBe(0);
    expect(run('--git', 'HEAD', '--format', 'markdown').out).toMatch(/^\*\*nothing changes in the air\*\*\n/);
    expect(json('--git', 'HEAD').nothingChanges).toBe(true);
  });

  test('what became unsafe stands first, with why', () => {
    write('club.taskplan', EXAMPLE_CLUB.replace('245° at 14 kt', '250° at 32 kt').replace('1018 hPa', '1008 hPa'));
    write(
      HOME,
      PLAN.replace('at 55 kt', 'at 60 kt').replace(
        '5000 ft MSL\n  finish   Larkfield',
        '4900 ft MSL\n  finish   Larkfield',
      ),
    );
    commit('windy');
    const { status, out } = run('--git', 'HEAD~1..HEAD');
    expect(status).toBe(1);
    expect(out).toMatch(/^2 tasks differ: 1 unsafe now, 1 /);
    expect(out.indexOf('Home (')).toBeLessThan(out.indexOf('Away ('));
    expect(out).toMatch(/leg 1 Withy Bridge → Larkfield: margin \+[\d,]+ ft → −[\d,]+ ft \(−[\d,]+ ft\)/);
    expect(out).toMatch(/ {4}wind at 3000 ft MSL 245°\/14 kt → 250°\/32 kt: −[\d,]+ ft\n/);
    expect(out).toMatch(/ {4}start over Withy Bridge 5000 ft MSL → 4900 ft MSL: −\d+ ft\n/);
    expect(out).toContain('new error below-reserve, Pläne am See/home.taskplan:8: ');
    // The reasons as shown add up to the change as shown.
    const block = out.slice(out.indexOf('Home ('), out.indexOf('Away ('));
    const number = (text: string) => Number(text.replace('−', '-').replace(/[+,]/g, ''));
    const [, total] = /\((−[\d,]+) ft\)/.exec(block) as unknown as [string, string];
    const parts = [...block.matchAll(/^ {4}.*: ([−+][\d,]+) ft$/gm)].map((found) => number(found[1] as string));
    expect(parts.length).toBeGreaterThan(1);
    expect(parts.reduce((sum, part) => sum + part, 0)).toBe(number(total));

    const { tasks } = json('--git', 'HEAD~1..HEAD');
    expect(tasks.map(({ name, weight }) => [name, weight])[0]).toEqual(['Home', 'unsafe']);
    const leg = tasks[0]?.legs[0];
    const sum = (leg?.reasons ?? []).reduce((all, { alone }) => all + alone.marginM, leg?.together?.marginM ?? 0);
    expect(sum).toBeCloseTo(leg?.change?.marginM as number, 6);

    const back = run('--git', 'HEAD..HEAD~1');
    expect(back.status).toBe(0);
    expect(back.out).toContain('gone: error below-reserve');
    expect(json('--git', 'HEAD..HEAD~1').tasks.find(({ name }) => name === 'Home')?.weight).toBe('more margin');
  });

  test('tasks added, removed and renamed; a file moved; paths', () => {
    const [home, away] = PLAN.split('\ntask Away') as [string, string];
    write(
      HOME,
      `${home.replace('task Home', 'task "Home Again"')}\ntask New${away.replace('Ashmoor', '"Corran Dam"')}`,
    );
    write(
      'more/other.taskplan',
      PLAN.replace('task Home', 'task Third')
        .replace(/\ntask Away.*/s, '')
        .replace('Larkfield', 'Ashmoor'),
    );
    const { tasks } = json('--git', 'HEAD');
    expect(tasks.map(({ name, fate, oldName }) => [name, fate, oldName]).sort()).toEqual([
      ['Away', 'removed', 'Away'],
      ['Home Again', 'renamed', 'Home'],
      ['New', 'added', null],
      ['Third', 'added', null],
    ]);
    expect(json('--git', 'HEAD', 'more').tasks.map(({ name }) => name)).toEqual(['Third']);
    write(HOME, PLAN);
    renameSync(path.join(folder, HOME), path.join(folder, 'more/home.taskplan'));
    expect(json('--git', 'HEAD', 'more/home.taskplan', HOME).tasks.map(({ name, fate }) => [name, fate])).toEqual([
      ['Away', 'renamed'],
      ['Home', 'renamed'],
    ]);
  });

  test('three dots count from where the revisions go apart', () => {
    git('checkout', '--quiet', '-b', 'side');
    write(HOME, PLAN.replace('82 kg', '90 kg'));
    commit('side');
    git('checkout', '--quiet', 'main');
    write('club.taskplan', EXAMPLE_CLUB.replace('1018 hPa', '1000 hPa'));
    commit('main');
    const facts = (range: string) => json('--git', range).tasks.flatMap((task) => task.facts.map(({ fact }) => fact));
    expect(new Set(facts('main...side'))).toEqual(new Set(['pilot']));
    expect(new Set(facts('main..side'))).toEqual(new Set(['pilot', 'qnh']));
  });

  test('names cannot become markup', () => {
    const name = '</summary><img src=x> | `a` @everyone *b* [c](d)';
    write(HOME, PLAN.replace('task Home', `task "${name}"`).replace('best glide', '95 kt'));
    const { out } = run('--git', 'HEAD', '--format', 'markdown');
    expect(out).not.toMatch(/(?<!\\)<img/);
    expect(out).toContain('\\@everyone \\*b\\* \\[c\\]\\(d\\)');
    expect(out).toContain('<code>&lt;/summary&gt;&lt;img src=x&gt; | `a` @everyone *b* [c](d)</code>');
    expect(out.match(/<details>/g)?.length).toBe(out.match(/<\/details>/g)?.length);
  });

  test('unknown revisions, files that are no text', () => {
    for (const revision of ['nowhere', 'HEAD~7', '--output=x', 'HEAD..nowhere']) {
      const { status, out, err } = run(`--git=${revision}`);
      expect([revision, status, out]).toEqual([revision, 2, '']);
      expect(err).toContain('no revision');
    }
    expect(run('--git', 'HEAD', '/').err).toContain('outside the repository');
    writeFileSync(path.join(folder, 'bad.taskplan'), Buffer.from([0xff, 0xfe, 0xfd]));
    expect(run('--git', 'HEAD')).toMatchObject({ status: 2, err: 'legwise: bad.taskplan is not UTF-8 text\n' });
  });
});

describe('compare --git PATH', () => {
  beforeEach(() => {
    git('init', '--quiet');
    write('bad.taskplan', 'use "club.taskplan"\n');
    write('users/user.taskplan', 'use "../bad.taskplan"\n');
    commit('first');
  });

  test('what is nowhere, and a third revision, are wrong use', () => {
    for (const range of ['HEAD', 'HEAD..HEAD']) {
      expect(run('--git', range, 'plans/nope.taskplan')).toEqual({
        status: 2,
        out: '',
        err: 'legwise: plans/nope.taskplan: no such file or folder, neither before nor after\n',
      });
      expect(run('--git', range, 'users', HOME)).toMatchObject({ status: 0, err: '' });
    }
    for (const range of ['HEAD..HEAD..HEAD', 'HEAD...HEAD..', 'HEAD..HEAD...HEAD'])
      expect(run('--git', range)).toEqual({
        status: 2,
        out: '',
        err: `legwise: --git takes BASE or BASE..HEAD, not ${range}\n`,
      });
    git('rm', '--quiet', '-r', 'users');
    expect(run('--git', 'HEAD', 'users')).toMatchObject({ status: 0, err: '' });
  });

  test('what cannot be read counts where it is asked for or used, and nowhere else', () => {
    writeFileSync(path.join(folder, 'bad.taskplan'), Buffer.from([0xff, 0xfe, 0xfd]));
    expect(run('--git', 'HEAD', HOME)).toMatchObject({ status: 0, err: '' });
    const bad = 'legwise: bad.taskplan is not UTF-8 text\n';
    expect(run('--git', 'HEAD', 'bad.taskplan')).toMatchObject({ status: 2, err: bad });
    expect(run('--git', 'HEAD', 'users')).toMatchObject({ status: 2, err: bad });
    commit('second');
    expect(run('--git', 'HEAD~1..HEAD', HOME)).toMatchObject({ status: 0, err: '' });
    expect(run('--git', 'HEAD~1..HEAD')).toMatchObject({ status: 2, err: 'legwise: bad.taskplan is not UTF-8 text\n' });
  });
});

describe('compare OLD NEW', () => {
  test('files and folders', () => {
    write('new/home.taskplan', PLAN.replace('best glide', '95 kt'));
    const files = run(HOME, 'new/home.taskplan');
    expect(files.status).toBe(1);
    expect(files.out).toContain('speed to Larkfield best glide → 95 kt: −');
    const folders = run('Pläne am See', 'new', '--format', 'json');
    expect((JSON.parse(folders.out) as Json).tasks.map(({ name }) => name)).toEqual(['Home']);
    expect(folders.status).toBe(1);
  });

  test('a folder that cannot be looked into is said, and the rest is compared', () => {
    write('new/home.taskplan', PLAN);
    const name = 'd'.repeat(250);
    const deep = `cd new; for i in $(seq 20); do mkdir ${name}; cd ${name}; done; touch x.taskplan`;
    spawnSync('bash', ['-c', deep], { cwd: folder });
    const { status, out, err } = run('Pläne am See', 'new');
    expect([status, out]).toEqual([2, run('Pläne am See', 'Pläne am See').out]);
    expect(err).toMatch(/^legwise: d[d/]+ cannot be looked into, and may hold plans: name too long\n$/);
    spawnSync('rm', ['-r', path.join(folder, 'new')]);
  });

  test('wrong use is status 2', () => {
    expect(run('--help')).toMatchObject({ status: 0, err: '' });
    for (const wrong of [
      [],
      [HOME],
      [HOME, 'nowhere.taskplan'],
      [HOME, '.'],
      [HOME, HOME, HOME],
      [HOME, HOME, '--format', 'yaml'],
    ]) {
      const { status, out, err } = run(...wrong);
      expect([wrong, status, out]).toEqual([wrong, 2, '']);
      expect(err).toMatch(/^legwise: /);
      expect(err).not.toMatch(/\n\s+at /);
    }
    expect(run('--git', 'HEAD')).toMatchObject({ status: 2 });
    expect(run('--git', 'HEAD').err).toContain('lies in no git repository');
    const without = legwise(['compare', '--git', 'HEAD'], { folder, env: { PATH: '/nowhere' } });
    expect(without).toMatchObject({ status: 2, out: '' });
    expect(without.err).toContain('git is not there');
  });
});

describe('what stays and gets worse, or better', () => {
  const home = PLAN.slice(0, PLAN.indexOf('\ntask Away')).replace('../', '');
  const compared = (old: string, now: string, ...more: string[]) => {
    write('old.taskplan', old);
    write('new.taskplan', now);
    return run('old.taskplan', 'new.taskplan', ...more);
  };
  const written = (old: string, now: string) =>
    JSON.parse(compared(old, now, '--format', 'json').out).tasks[0] as {
      weight: string;
      stillUnsafe: boolean;
      alteredFindings: { code: string; codeBefore: string; course: string }[];
    };
  const mast = (top: string) => `${home}\nobstacle Mast at 47.2600 N 19.4760 E\n  top ${top}\n`;

  test('an obstacle that grew into the way is told, weighed and counted', () => {
    const sides = [mast('2950 ft MSL'), mast('3900 ft MSL')] as const;
    for (const format of ['text', 'markdown']) {
      const { status, out } = compared(...sides, '--format', format);
      expect(status).toBe(1);
      expect(out).not.toContain('moved by less');
      expect(out).toMatch(/still error `?below-clearance`?, and worse, .* below its height/);
    }
    const { weight, alteredFindings } = written(...sides);
    expect(weight).toBe('less safe');
    expect(alteredFindings.map(({ code, course }) => [code, course])).toEqual([['below-clearance', 'worse']]);

    const back = compared(sides[1], sides[0]);
    expect(back.status).toBe(0);
    expect(back.out).toContain('1 task differs: 1 changed (1 still unsafe)');
    expect(back.out).toContain('still error below-clearance, but better, ');
    // So little that nobody flies it.
    expect(compared(mast('2950 ft MSL'), mast('2953 ft MSL'))).toMatchObject({
      status: 0,
      out: expect.stringContaining('moved by less than 5 ft'),
    });
  });

  test('another airspace or obstacle is new, and the one before is gone', () => {
    const other = compared(mast('2950 ft MSL'), mast('2950 ft MSL').replace('Mast', 'Chimney'));
    expect(other.status).toBe(1);
    expect(other.out).toContain('unsafe now');
    expect(other.out).toMatch(/new error below-clearance, .*Chimney[\s\S]*gone: error below-clearance: .*Mast/);

    const zone = (name: string) =>
      `${home}\nairspace ${name}\n  floor 2500 ft MSL\n  ceiling FL95\n  circle 47.2600 N 19.4800 E radius 2 NM\n`;
    const { status, out } = compared(zone('Alpha'), zone('Danger'), '--fail-on', 'warning');
    expect(status).toBe(1);
    expect(out).toContain('to be looked at');
    expect(out).toMatch(/new warning enters-airspace, .*Danger[\s\S]*gone: warning enters-airspace: .*Alpha/);
  });

  test('a leg that no longer ends in the ground, and is below its reserve still', () => {
    const at = (altitude: string) => home.replace('5000 ft MSL', altitude).replace('best glide', '75 kt');
    const { status, out } = compared(at('3000 ft MSL'), at('4900 ft MSL'));
    expect(status).toBe(0);
    expect(out).toMatch(/^1 task differs: 1 [a-z ]+ \(1 still unsafe\)\n/);
    expect(out).not.toMatch(/unsafe now|new error/);
    expect(out).toMatch(/still error below-reserve, but better, .*\n {4}before: reaches-ground: /);
    const { stillUnsafe, alteredFindings } = written(at('3000 ft MSL'), at('4900 ft MSL'));
    expect(stillUnsafe).toBe(true);
    expect(alteredFindings).toContainEqual(
      expect.objectContaining({ code: 'below-reserve', codeBefore: 'reaches-ground', course: 'better' }),
    );
    const back = compared(at('4900 ft MSL'), at('3000 ft MSL'));
    expect(back.status).toBe(1);
    expect(back.out).toContain('new error reaches-ground');
    expect(written(at('4900 ft MSL'), at('4700 ft MSL')).weight).toBe('less safe');
    expect(run('old.taskplan', 'new.taskplan').status).toBe(1);
  });

  test('an error that goes from one lap to the other is new there', () => {
    const laps = (first: string, second: string) => `use "club.taskplan"

task Laps
  aircraft Finch with pilot 82 kg
  weather  Calm
  reserve  Training
  start    Larkfield at ${first}
  turn     "Withy Bridge" at 60 kt
  climb    to 5600 ft MSL
  turn     Larkfield at 60 kt
  climb    to ${second}
  turn     "Withy Bridge" at 60 kt
  climb    to 5600 ft MSL
  finish   Larkfield at 60 kt
`;
    const { status, out } = compared(laps('3500 ft MSL', '5600 ft MSL'), laps('5600 ft MSL', '3500 ft MSL'));
    expect(status).toBe(1);
    expect(out).toMatch(
      /new error below-turn-height, new.taskplan:12: leg 3 .*\n[\s\S]*gone: error below-turn-height: leg 1 /,
    );
    // The climb of one turn above the working top, then that of another.
    const tops = (one: string, other: string) =>
      laps('5600 ft MSL', one)
        .replace(/5600 ft MSL\n {2}finish/, `${other}\n  finish`)
        .replace('Calm', 'Breezy');
    const climbs = compared(tops('7000 ft MSL', '5600 ft MSL'), tops('5600 ft MSL', '7000 ft MSL'));
    expect(climbs.out).toMatch(/new warning above-\w+, new.taskplan:13/);
  });
});

test('another severity decides the exit status; a folder bounds what plans may use', () => {
  write('old.taskplan', PLAN.replace('../', ''));
  write('new.taskplan', PLAN.replace('../', '').replace('5000 ft MSL', '3300 ft MSL'));
  const run = (...more: string[]) => legwise(['compare', 'old.taskplan', 'new.taskplan', ...more], { folder });
  const codes = (
    JSON.parse(run('--format', 'json').out) as { tasks: { newFindings: { severity: string; code: string }[] }[] }
  ).tasks
    .flatMap(({ newFindings }) => newFindings)
    .filter(({ severity }) => severity === 'error')
    .map(({ code }) => code);
  expect(codes.length).toBeGreaterThan(0);
  expect(run().status).toBe(1);
  expect(run(...codes.flatMap((code) => ['--severity', `${code}=warning`])).status).toBe(0);
  expect(run('--severity', 'no-such-code=off').status).toBe(2);
  mkdirSync(path.join(folder, 'apart'));
  write('apart/new.taskplan', PLAN);
  const bounded = (root: string) =>
    legwise(['compare', 'old.taskplan', 'apart/new.taskplan', '--workspace', root], { folder });
  expect(bounded('.').out).not.toContain('use-outside');
  expect(bounded('apart').out).toContain('use-outside');
});
