/** Which files stand on each side where plans are compared with a revision: `compare --git` and `check --since`. */
import { spawnSync } from 'node:child_process';
import { mkdirSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { afterEach, describe, expect, test } from 'vitest';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { folderWith, legwise, shortPlan } from './run.ts';

/** A plan with an error of its own, that stands there before and after. */
const PLAN = shortPlan('../club/club.taskplan');
const LOWER = PLAN.replace('5000', '4000');
const CLUB = 'club/club.taskplan';
const HOME = 'plans/home.taskplan';

const removes: (() => void)[] = [];
afterEach(() => {
  for (const remove of removes.splice(0)) remove();
});

function folderOf(files: Record<string, string | Uint8Array>): string {
  const made = folderWith(files);
  removes.push(made.remove);
  return made.folder;
}

function git(folder: string, ...args: string[]): string {
  const who = ['user.name=Club', 'user.email=club@example.org', 'commit.gpgsign=false', 'protocol.file.allow=always'];
  const run = spawnSync('git', [...who.flatMap((one) => ['-c', one]), ...args], { cwd: folder, encoding: 'utf8' });
  if (run.status !== 0) throw new Error(run.stderr);
  return run.stdout.trim();
}

function commit(folder: string): void {
  git(folder, 'add', '--all');
  git(folder, 'commit', '--quiet', '--message', 'next');
}

function repository(files: Record<string, string | Uint8Array>, prepare: (folder: string) => void = () => {}): string {
  const folder = folderOf(files);
  git(folder, 'init', '--quiet', '--initial-branch', 'main');
  prepare(folder);
  commit(folder);
  return folder;
}

const write = (folder: string, name: string, text: string | Uint8Array) => {
  mkdirSync(path.dirname(path.join(folder, name)), { recursive: true });
  writeFileSync(path.join(folder, name), text);
};

const since = (folder: string, ...args: string[]) => {
  const { status, out, err } = legwise(['check', '--since', 'HEAD', '--format', 'jsonl', ...args], { folder });
  const found = out.split('\n').filter((line) => line.startsWith('{'));
  return { status, err, found: found.map((line) => JSON.parse(line)).map(({ file, code }) => `${file} ${code}`) };
};

const compared = (folder: string, ...args: string[]) => {
  const { status, out, err } = legwise(['compare', '--format', 'json', ...args], { folder });
  const tasks: { name: string; fate: string }[] = status === 2 ? [] : JSON.parse(out).tasks;
  return { status, err, tasks: tasks.map(({ name, fate }) => `${name} ${fate}`) };
};

/** Nothing changed, so neither command finds anything, and both say `note` of what was read. */
function nothingChanged(folder: string, note = '', ...args: string[]): void {
  expect(legwise(['check', ...args], { folder }).out).toContain('below-reserve');
  expect(since(folder, ...args)).toEqual({ status: 0, err: note, found: [] });
  expect(compared(folder, '--git', 'HEAD', ...args)).toEqual({ status: 0, err: note, tasks: [] });
}

/** The club changes for the worse, and both commands say so. */
function clubChanges(folder: string, file: string): void {
  write(folder, file, readFileSync(path.join(folder, file), 'utf8').replace('1000 ft AGL', '1600 ft AGL'));
  expect(compared(folder, '--git', 'HEAD')).toMatchObject({ err: '', tasks: ['Home changed'] });
}

describe('what plans use', () => {
  test.each([
    ['a folder', 'club', 'real'],
    ['a folder, by a way about', 'club', 'plans/../real/.'],
    ['a file', CLUB, '../real/club.taskplan'],
  ])('a symbolic link to %s', (_, link, target) => {
    const folder = repository({ 'real/club.taskplan': EXAMPLE_CLUB, [HOME]: PLAN }, (at) => {
      mkdirSync(path.dirname(path.join(at, link)), { recursive: true });
      symlinkSync(target, path.join(at, link));
    });
    nothingChanged(folder);
    clubChanges(folder, 'real/club.taskplan');
    commit(folder);
    expect(compared(folder, '--git', 'HEAD~1..HEAD').tasks).toEqual(['Home changed']);
  });

  test('a symbolic link by its whole path, one on another, and a plan that is reached by one', () => {
    const folder = repository({ 'real/club.taskplan': EXAMPLE_CLUB, [HOME]: PLAN }, (at) => {
      symlinkSync(path.join(at, 'real'), path.join(at, 'between'));
      symlinkSync('between', path.join(at, 'club'));
      symlinkSync('plans', path.join(at, 'also'));
    });
    nothingChanged(folder);
    expect(since(folder, 'also/home.taskplan')).toEqual({ status: 0, err: '', found: [] });
  });

  test('links in a circle, and such as lead out, are followed no further than on the disk', () => {
    const outside = folderOf({ 'club.taskplan': EXAMPLE_CLUB });
    const uses = (name: string) => PLAN.replace('../club/club.taskplan', `../${name}/club.taskplan`);
    const names = ['round', 'out', 'above', 'file'];
    const plans = Object.fromEntries(names.map((name) => [`plans/${name}.taskplan`, uses(name)]));
    const folder = repository({ [CLUB]: EXAMPLE_CLUB, [HOME]: PLAN, ...plans }, (at) => {
      symlinkSync('round', path.join(at, 'round'));
      symlinkSync(outside, path.join(at, 'out'));
      symlinkSync(`../${path.basename(outside)}`, path.join(at, 'above'));
      symlinkSync(CLUB, path.join(at, 'file'));
    });
    nothingChanged(folder);
    // A link that a revision has in place of a file reads nothing that the workspace does not hold.
    write(folder, 'plans/own.taskplan', uses('own'));
    symlinkSync(outside, path.join(folder, 'own'));
    commit(folder);
    rmSync(path.join(folder, 'own'));
    write(folder, 'own/club.taskplan', EXAMPLE_CLUB);
    expect(compared(folder, '--git', 'HEAD', 'plans/own.taskplan').tasks).toEqual(['Home changed']);
    // With a folder that bounds both, it is read.
    const above = path.dirname(outside);
    const bounded = compared(folder, '--git', 'HEAD', 'plans/own.taskplan', '--workspace', above);
    expect([bounded.tasks, bounded.err]).toEqual([[], expect.stringContaining('not kept in this repository')]);
  });

  test('a submodule: at the commit that the revision names, else from the disk, which is said', () => {
    const other = repository({ 'club.taskplan': EXAMPLE_CLUB, 'rough.taskplan': PLAN.replace('../club/', '') });
    const folder = repository({ [HOME]: PLAN }, (at) => git(at, 'submodule', '--quiet', 'add', other, 'club'));
    nothingChanged(folder);
    write(folder, CLUB, EXAMPLE_CLUB.replace('1000 ft AGL', '1600 ft AGL'));
    git(path.join(folder, 'club'), 'commit', '--quiet', '--all', '--message', 'more reserve');
    expect(compared(folder, '--git', 'HEAD').tasks).toEqual(['Home changed', 'Home changed']);
    commit(folder);
    nothingChanged(folder);
    expect(compared(folder, '--git', 'HEAD~1..HEAD', 'plans').tasks).toEqual(['Home changed']);

    const gone = git(path.join(folder, 'club'), 'rev-parse', 'HEAD');
    rmSync(path.join(folder, '.git/modules/club'), { recursive: true });
    rmSync(path.join(folder, 'club/.git'));
    git(path.join(folder, 'club'), 'init', '--quiet');
    const note = `legwise: the submodule club has no commit ${gone.slice(0, 10)} on this disk: what lies there now is taken in its place\n`;
    nothingChanged(folder, note, 'plans');
    expect(compared(folder, '--git', 'HEAD')).toEqual({ status: 0, err: note, tasks: [] });
  });

  test('what git is told to leave out is taken from the disk on both sides, and said once', () => {
    const folder = repository({ '.gitignore': '/club\n', [CLUB]: EXAMPLE_CLUB, [HOME]: PLAN });
    const note = `legwise: ${CLUB}: not kept in this repository, so taken from the disk as it is now, before the change too\n`;
    nothingChanged(folder, note);
    write(folder, CLUB, EXAMPLE_CLUB.replace('1000 ft AGL', '1600 ft AGL'));
    nothingChanged(folder, note);
    // Behind a link that is left out likewise.
    rmSync(path.join(folder, 'club'), { recursive: true });
    write(folder, 'stuff/club.taskplan', EXAMPLE_CLUB);
    symlinkSync('stuff', path.join(folder, 'club'));
    nothingChanged(folder, note);
    // What git would keep is new.
    rmSync(path.join(folder, '.gitignore'));
    expect(since(folder)).toMatchObject({ status: 1, err: '' });
  });

  test('elevation tiles that git is told to leave out', () => {
    const tile = new Uint8Array(1201 * 1201 * 2);
    for (let i = 0; i < tile.length; i += 2) tile[i] = 2;
    const flown = PLAN.replace('task Home', 'terrain "../tiles"\n\ntask Home');
    const folder = repository({ '.gitignore': '*.hgt\n', [CLUB]: EXAMPLE_CLUB, [HOME]: flown });
    const tiles = legwise(['check'], { folder }).out.match(/[NS]\d\d[EW]\d{3}/g) ?? [];
    for (const name of new Set(tiles)) write(folder, `tiles/${name}.hgt`, tile);
    expect(tiles.length).toBeGreaterThan(0);
    const { status, err, found } = since(folder);
    expect([status, found]).toEqual([0, []]);
    expect(err).toMatch(/^legwise: tiles\/.*\.hgt: not kept in this repository, so taken from the disk .*\n$/);
    expect(compared(folder, '--git', 'HEAD')).toEqual({ status: 0, err, tasks: [] });
    expect(compared(folder, '--git', 'HEAD..HEAD')).toEqual({ status: 0, err, tasks: [] });
  });

  test('what lies outside the repository, in the folder that bounds what plans use', () => {
    const top = folderOf({ [CLUB]: EXAMPLE_CLUB });
    const folder = path.join(top, 'repository');
    write(folder, HOME, PLAN.replace('../', '../../'));
    git(folder, 'init', '--quiet');
    commit(folder);
    const club = path.join(top, CLUB);
    const note = `legwise: ${club}: not kept in this repository, so taken from the disk as it is now, before the change too\n`;
    nothingChanged(folder, note, '--workspace', '..');
  });

  test('what Git LFS keeps, by its pointer, and what of it is not there', () => {
    const folder = repository({ [CLUB]: EXAMPLE_CLUB, [HOME]: PLAN });
    const text = readFileSync(path.join(folder, CLUB));
    const hash = spawnSync('sha256sum', { input: text, encoding: 'utf8' }).stdout.slice(0, 64);
    write(folder, CLUB, `version https://git-lfs.github.com/spec/v1\noid sha256:${hash}\nsize ${text.length}\n`);
    commit(folder);
    write(folder, CLUB, text);
    nothingChanged(folder);
    write(folder, CLUB, `${EXAMPLE_CLUB}\n# changed\n`);
    const { status, err } = compared(folder, '--git', 'HEAD');
    expect([status, err]).toEqual([2, expect.stringContaining('a pointer for Git LFS alone')]);
    write(folder, `.git/lfs/objects/${hash.slice(0, 2)}/${hash.slice(2, 4)}/${hash}`, text);
    nothingChanged(folder);
  });

  test('a plan that the revision has and that cannot be read there is said', () => {
    const folder = repository({ [CLUB]: EXAMPLE_CLUB, [HOME]: new Uint8Array([0xff, 0xfe]) });
    write(folder, HOME, PLAN);
    expect(since(folder)).toEqual({
      status: 1,
      err: `legwise: before: ${HOME} is not UTF-8 text, so that all that is found in it now counts as new\n`,
      found: [expect.stringContaining('below-reserve')],
    });
    expect(compared(folder, '--git', 'HEAD')).toMatchObject({
      status: 2,
      err: `legwise: before: ${HOME} is not UTF-8 text\n`,
    });
  });
});

test('what a plan uses and the revision has as no text is said, once', () => {
  const folder = repository({
    [CLUB]: new Uint8Array([0xff, 0xfe]),
    [HOME]: PLAN,
    'plans/other.taskplan': PLAN,
  });
  write(folder, CLUB, EXAMPLE_CLUB);
  const note = `legwise: before: ${CLUB} is not UTF-8 text\n`;
  expect(since(folder)).toMatchObject({ status: 1, err: note });
  expect(compared(folder, '--git', 'HEAD')).toMatchObject({ status: 2, err: note });
});

describe('which plans', () => {
  test('those that git keeps, wherever they lie and whatever it is told since, and those that it would take', () => {
    const names = ['.club/hidden.taskplan', 'drafts/forced.taskplan', 'node_modules/x/a.taskplan', HOME];
    const folder = repository(
      {
        '.gitignore': 'drafts\nnode_modules\n',
        [CLUB]: EXAMPLE_CLUB,
        ...Object.fromEntries(names.map((n) => [n, PLAN])),
      },
      (at) => git(at, 'add', '--force', ...names),
    );
    expect(compared(folder, '--git', 'HEAD')).toEqual({ status: 0, err: '', tasks: [] });
    write(folder, 'drafts/left.taskplan', PLAN);
    write(folder, 'x/.git/info/exclude', '');
    write(folder, '.git/info/exclude', 'secret.taskplan\n');
    write(folder, 'plans/secret.taskplan', PLAN);
    expect(compared(folder, '--git', 'HEAD').tasks).toEqual([]);
    for (const name of names.slice(0, 2)) {
      write(folder, name, LOWER);
      expect([name, compared(folder, '--git', 'HEAD').tasks]).toEqual([name, ['Home changed']]);
      write(folder, name, PLAN);
    }
    write(folder, 'plans/new.taskplan', PLAN.replace('Home', 'New'));
    expect(compared(folder, '--git', 'HEAD').tasks).toEqual(['New added']);
    rmSync(path.join(folder, HOME));
    expect(compared(folder, '--git', 'HEAD', 'plans/home.taskplan').tasks).toEqual(['Home removed']);
  });

  test('a file that is named, whatever its ending', () => {
    const folder = repository({ [CLUB]: EXAMPLE_CLUB, 'plans/two.txt': PLAN, 'plans/Two.TaskPlan': PLAN });
    for (const name of ['plans/two.txt', 'plans/Two.TaskPlan']) {
      expect(compared(folder, '--git', 'HEAD', name)).toEqual({ status: 0, err: '', tasks: [] });
      write(folder, name, LOWER);
      expect(compared(folder, '--git', 'HEAD', name).tasks).toEqual(['Home changed']);
      // Of a folder the plans alone.
      expect(compared(folder, '--git', 'HEAD', 'plans').tasks).toEqual([]);
    }
    commit(folder);
    expect(compared(folder, '--git', 'HEAD~1..HEAD', 'plans/two.txt').tasks).toEqual(['Home changed']);
    write(folder, 'plans/new.txt', PLAN);
    expect(compared(folder, '--git', 'HEAD', 'plans/new.txt').tasks).toEqual(['Home added']);
  });

  test('patterns, among the files of both sides', () => {
    const folder = repository({
      [CLUB]: EXAMPLE_CLUB,
      [HOME]: PLAN,
      'plans/deep/[a] b.taskplan': PLAN.replace('../', '../../').replace('Home', 'Deep'),
      'plans/gone.taskplan': PLAN.replace('Home', 'Gone').replace('Larkfield', 'Ashmoor'),
    });
    write(folder, HOME, LOWER);
    write(folder, 'plans/deep/[a] b.taskplan', LOWER.replace('../', '../../').replace('Home', 'Deep'));
    rmSync(path.join(folder, 'plans/gone.taskplan'));
    const names = (at: string, ...args: string[]) =>
      compared(path.join(folder, at), '--git', 'HEAD', ...args)
        .tasks.map((task) => task.split(' ')[0])
        .sort();
    expect(names('.', 'plans/*.taskplan')).toEqual(['Gone', 'Home']);
    expect(names('.', '**/*.taskplan')).toEqual(['Deep', 'Gone', 'Home']);
    expect(names('.', '*/deep/*')).toEqual(['Deep']);
    expect(names('plans', 'g*.taskplan', 'deep')).toEqual(['Deep', 'Gone']);
    expect(names('plans/deep', '../{home,other}.taskplan')).toEqual(['Home']);
    expect(names('.', path.join(folder, 'plans/h*'))).toEqual(['Home']);
    // A name that looks like one is a name.
    expect(names('.', 'plans/deep/[a] b.taskplan')).toEqual(['Deep']);
    for (const range of ['HEAD', 'HEAD..HEAD'])
      expect(compared(folder, '--git', range, 'plans/*.nothing')).toEqual({
        status: 2,
        err: 'legwise: plans/*.nothing: no such file or folder, neither before nor after\n',
        tasks: [],
      });
    expect(compared(folder, '--git', 'HEAD', '../*.taskplan').err).toContain('outside the repository');
  });

  test('a folder whose name begins with two dots lies inside', () => {
    const folder = repository({ [CLUB]: EXAMPLE_CLUB, '..plans/home.taskplan': PLAN });
    expect(since(folder, '..plans')).toEqual({ status: 0, err: '', found: [] });
    expect(compared(folder, '--git', 'HEAD', '..plans')).toEqual({ status: 0, err: '', tasks: [] });
    write(folder, '..plans/..two.taskplan', PLAN);
    const { out } = legwise(['check', '--', '..two.taskplan'], { folder: path.join(folder, '..plans') });
    expect(out).toMatch(/^\.\.two\.taskplan:8:3 {2}error/);
  });
});

describe('before the first commit', () => {
  test('everything is new', () => {
    const folder = folderOf({ [CLUB]: EXAMPLE_CLUB, [HOME]: PLAN });
    git(folder, 'init', '--quiet');
    git(folder, 'add', '.');
    expect(since(folder)).toMatchObject({ status: 1, err: '', found: [expect.stringContaining('below-reserve')] });
    expect(compared(folder, '--git', 'HEAD').tasks).toEqual(['Home added']);
    const { status, err } = legwise(['check', '--since', 'main'], { folder });
    expect([status, err]).toEqual([2, expect.stringContaining('no revision main is known')]);
    // A branch that is there and broken is none without a commit.
    write(folder, `.git/${git(folder, 'symbolic-ref', 'HEAD')}`, 'broken\n');
    expect(since(folder)).toMatchObject({ status: 2 });
  });
});
