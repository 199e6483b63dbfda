import { spawn } from 'node:child_process';
import { chmodSync, mkdirSync, readdirSync, readFileSync, symlinkSync } from 'node:fs';
import path from 'node:path';
import { afterEach, describe, expect, test } from 'vitest';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { RULES } from '../../server/rules/index.ts';
import { type Around, folderWith, legwise, ROOT } from './run.ts';

const TASK = `use "club.taskplan"

task Home
  aircraft Finch with pilot 82 kg
  weather  Breezy
  reserve  Training
  start    "Withy Bridge" at 5000 ft MSL
  finish   Larkfield at SPEED
`;
const SHORT = TASK.replace('SPEED', '75 kt');
const SOUND = TASK.replace('SPEED', 'best glide');

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

const within = (folder: string, more: Around = {}): Around => ({ folder, ...more });

describe('conventions', () => {
  test('--help and --version anywhere', () => {
    expect(legwise(['--help'])).toMatchObject({ status: 0, err: '' });
    expect(legwise(['--version']).out).toMatch(/^legwise \d+\.\d+\.\d+\n$/);
    for (const command of ['check', 'budget', 'format', 'explain', 'serve']) {
      const { status, out } = legwise([command, '--help']);
      expect(status).toBe(0);
      expect(out).toContain(`legwise ${command}`);
    }
  });

  test('wrong use is status 2, said on standard error', () => {
    for (const wrong of [
      [],
      ['chekc'],
      ...['constructor', 'toString', 'valueOf', '__proto__'].map((name) => [name]),
      ['serve', '--stdio', '--nonsense'],
      ['serve', '--stdio', '--clientProcessId=x'],
      ['check', '--severity', 'below-reserve'],
      ['check', '--severity', 'below-reserve='],
      ['check', '--severity', 'below-reserve=off=error'],
      ['check', '--severity', 'toString=off'],
      ['export', 'samples', '--to', 'toString'],
      ['import', 'README.md', '--from', 'constructor'],
      ['explain', '__proto__'],
      ['check', '--nonsense'],
      ['check', '--format', 'yaml'],
      ['budget'],
      ['explain', 'below-reserv'],
      ['serve'],
      ['check', 'nowhere/at-all.taskplan'],
    ]) {
      const { status, out, err } = legwise(wrong);
      expect([wrong, status, out]).toEqual([wrong, 2, '']);
      expect(err).not.toBe('');
      expect(err).not.toMatch(/\n\s+at /);
    }
    expect(legwise(['explain', 'below-reserv']).err).toContain('did you mean below-reserve');
  });

  test('an argument or an option that is empty, as of a variable that is not set, names nothing', () => {
    const untidy = SOUND.replace('  aircraft', '      aircraft');
    const folder = club({ 'inner/a.taskplan': untidy.replace('club.taskplan', '../club.taskplan') });
    const positional = 'legwise: an argument is empty\n';
    const given = (option: string) => `legwise: ${option} is given nothing\n`;
    const cases: [string[], string][] = [
      [['check', ''], positional],
      [['check', 'inner', ''], positional],
      [['check', '--', ''], positional],
      [['format', ''], positional],
      [['format', '--check', ''], positional],
      [['budget', ''], positional],
      [['brief', '', '-o', 'x.html'], positional],
      [['export', '', '--to', 'gpx'], positional],
      [['import', '', '--from', 'csv'], positional],
      [['compare', '', ''], positional],
      [['compare', '--git', 'HEAD', ''], positional],
      [['compare', '--git', ''], given('--git')],
      [['check', '--workspace', ''], given('--workspace')],
      [['check', '--workspace=', 'inner/a.taskplan'], given('--workspace')],
      [['compare', 'inner', 'inner', '--workspace', ''], given('--workspace')],
      [['budget', 'inner/a.taskplan', '--workspace', ''], given('--workspace')],
      [['brief', 'inner/a.taskplan', '-o', ''], given('-o')],
      [['export', 'inner/a.taskplan', '--to', 'gpx', '--output', ''], given('--output')],
      [['check', '--cache', ''], given('--cache')],
      [['check', '--since', ''], given('--since')],
    ];
    for (const [args, err] of cases)
      expect([args, legwise(args, within(folder))]).toEqual([args, { status: 2, out: '', err }]);
    expect(readdirSync(folder).sort()).toEqual(['club.taskplan', 'inner']);
    expect(readFileSync(path.join(folder, 'inner/a.taskplan'), 'utf8')).toContain('      aircraft');
  });

  test('an option without its value is said in one line', () => {
    for (const args of [
      ['check', '--since', '--format', 'json'],
      ['budget', 'a.taskplan', '--task', '--'],
    ]) {
      const { status, err } = legwise(args);
      expect([status, err]).toEqual([2, expect.stringMatching(/^legwise: .*argument.*\n$/)]);
      expect(err).not.toContain('␊');
    }
  });

  test('help on what is no command is that of all, whatever JavaScript calls so', () => {
    expect(legwise(['help', 'constructor'])).toEqual(legwise(['--help']));
  });

  test('the server takes what the protocol says of its command line, and ends with its input', () => {
    const own = String(process.pid);
    for (const more of [[], [`--clientProcessId=${own}`], ['--clientProcessId', own]])
      expect(legwise(['serve', '--stdio', ...more])).toEqual({ status: 1, out: '', err: '' });
    expect(legwise(['serve', `--clientProcessId=${own}`, '--stdio'])).toEqual({ status: 1, out: '', err: '' });
  });

  test('colour only when asked for, or on a terminal', () => {
    const folder = club({ 'a.taskplan': SHORT });
    expect(legwise(['check', 'a.taskplan'], within(folder)).out).not.toContain('\u001b');
    expect(legwise(['check', 'a.taskplan'], within(folder, { env: { FORCE_COLOR: '1' } })).out).toContain('\u001b[31m');
    expect(
      legwise(['check', 'a.taskplan'], within(folder, { env: { FORCE_COLOR: '1', NO_COLOR: '1' } })).out,
    ).not.toContain('\u001b');
  });

  test('a reader that closes the pipe early is no failure', async () => {
    const program = spawn('bash', [
      '-c',
      `"${process.execPath}" "${ROOT}/dist/legwise.cjs" explain below-reserve | head -n 1; echo "\${PIPESTATUS[0]}"`,
    ]);
    let out = '';
    for await (const chunk of program.stdout) out += chunk;
    expect(out).toBe('# below-reserve\n0\n');
  });
});

describe('check', () => {
  test('exit status: 0 nothing wrong, 1 findings, and --fail-on moves the line', () => {
    const folder = club({
      'sound.taskplan': SOUND,
      'short.taskplan': SHORT,
      'fast.taskplan': TASK.replace('SPEED', '81 kt').replace('5000', '6100'),
    });
    expect(legwise(['check', 'sound.taskplan'], within(folder)).status).toBe(0);
    expect(legwise(['check', 'short.taskplan'], within(folder)).status).toBe(1);
    expect(legwise(['check', 'fast.taskplan'], within(folder)).status).toBe(0);
    expect(legwise(['check', '--fail-on', 'warning', 'fast.taskplan'], within(folder)).status).toBe(1);
  });

  test('text: the line, the marker under it, the message, the way out', () => {
    const folder = club({ 'short.taskplan': SHORT });
    const { out } = legwise(['check', 'short.taskplan'], within(folder));
    const lines = out.split('\n');
    expect(lines[0]).toBe('short.taskplan:8:3  error  below-reserve');
    expect(lines[1]).toBe('  8 |   finish   Larkfield at 75 kt');
    expect(lines[2]).toBe('    |   ^^^^^^^^^^^^^^^^^^');
    expect(lines[3]).toMatch(
      /^ {2}leg 1 to Larkfield arrives [\d,]+ ft below reserve: [\d,]+ ft above the field, 1,150 ft asked\.$/,
    );
    expect(lines[4]).toMatch(/^ {2}Leave Withy Bridge at [\d,]+ ft MSL or fly \d+ kt\.$/);
    expect(lines.at(-2)).toBe('1 error in 1 file');
  });

  test('json: the contract', () => {
    const folder = club({ 'short.taskplan': SHORT });
    const { out, status } = legwise(['check', '--format', 'json', 'short.taskplan'], within(folder));
    expect(status).toBe(1);
    const [found] = JSON.parse(out).diagnostics;
    expect(found).toMatchObject({
      file: 'short.taskplan',
      line: 8,
      column: 3,
      endLine: 8,
      endColumn: 21,
      severity: 'error',
      code: 'below-reserve',
    });
    expect(JSON.parse(out).version).toBe(1);
  });

  test('paths: folders, patterns, .gitignore, spaces and other scripts, and none', () => {
    const folder = club({
      'plans/deep er/Überflug ☁.taskplan': SHORT.replace('"club.taskplan"', '"../../club.taskplan"'),
      'plans/left-out.taskplan': SHORT,
      'drafts/a.taskplan': SHORT,
      '.gitignore': 'drafts/\nplans/left-*\n',
    });
    const files = (args: string[]) => {
      const found = JSON.parse(legwise(['check', '--format', 'json', ...args], within(folder)).out);
      return [found.files, [...new Set(found.diagnostics.map((d: { file: string }) => d.file))]];
    };
    const plan = 'plans/deep er/Überflug ☁.taskplan';
    expect(files([])).toEqual([2, [plan]]);
    expect(files(['plans'])).toEqual([1, [plan]]);
    expect(files(['plans/**/*.taskplan'])).toEqual([1, [plan]]);
    expect(files([path.join(folder, plan)])).toEqual([1, [plan]]);
    // What is named is checked, ignored or not.
    expect(files(['drafts/a.taskplan'])).toEqual([1, ['drafts/a.taskplan']]);
  });

  test('the rules of the repository hold from wherever one asks, and not for whoever stands in what they leave out', () => {
    const folder = club({
      'plans/a.taskplan': '',
      'plans/old/b.taskplan': '',
      'plans/old/older/c.taskplan': '',
      'drafts/d.taskplan': '',
      '.gitignore': 'plans/old/\n/drafts\n',
    });
    mkdirSync(path.join(folder, '.git'));
    mkdirSync(path.join(folder, 'sub'));
    const count = (from: string, ...args: string[]) =>
      legwise(['check', ...args], within(path.join(folder, from))).out.match(/in (\d+) files?\n$/)?.[1];
    expect(count('.')).toBe('2');
    expect([count('plans'), count('plans', '**/*.taskplan'), count('plans', '../**/*.taskplan')]).toEqual([
      '1',
      '1',
      '2',
    ]);
    expect([count('sub', '../plans'), count('sub', '..'), count('sub', '../plans/**/*.taskplan')]).toEqual([
      '1',
      '2',
      '1',
    ]);
    expect([count('plans/old'), count('plans/old', 'older'), count('plans/old', '..')]).toEqual(['2', undefined, '1']);
    expect(legwise(['check', '../drafts'], within(path.join(folder, 'sub')))).toEqual({
      status: 2,
      out: '',
      err: 'legwise: no plan (*.taskplan) lies in ../drafts, but for what .gitignore leaves out\n',
    });
  });

  test('- is standard input', () => {
    const folder = club({});
    const { out, status } = legwise(['check', '-'], within(folder, { input: SHORT }));
    expect(status).toBe(1);
    expect(out).toContain('<stdin>:8:3  error  below-reserve');
  });

  test('a used file is found from a plan anywhere in its repository, and nothing outside it', () => {
    const folder = club({
      'inner/plans/a.taskplan': 'use "../../club.taskplan"\n',
      'inner/plans/b.taskplan': 'use "../fine.taskplan"\n',
      'inner/fine.taskplan': '',
    });
    mkdirSync(path.join(folder, 'inner/.git'));
    expect(legwise(['check', path.join(folder, 'inner/plans/a.taskplan')]).out).toContain('use-outside');
    expect(legwise(['check', path.join(folder, 'inner/plans/b.taskplan')]).out).not.toContain('use-outside');
    expect(legwise(['check', '--workspace', folder, path.join(folder, 'inner/plans/a.taskplan')]).out).not.toContain(
      'use-outside',
    );
  });

  test('a link that leads out of the workspace is not followed', () => {
    const outside = folderWith({ 'secret.taskplan': 'field Secret at 47 N 19 E\n  elevation 1 m\n' });
    const folder = club({ 'a.taskplan': 'use "link.taskplan"\n' });
    symlinkSync(path.join(outside.folder, 'secret.taskplan'), path.join(folder, 'link.taskplan'));
    const { out } = legwise(['check', 'a.taskplan'], within(folder));
    outside.remove();
    expect(out).toContain('use-outside');
  });

  test('bad input of any kind is said, in its place, and costs nothing else', () => {
    const folder = club({
      'binary.taskplan': new Uint8Array([0xff, 0xfe, 0, 1, 2]),
      'nul.taskplan': 'field A\0',
      'short.taskplan': SHORT,
      'folder.taskplan/x': '',
    });
    const { out, err, status } = legwise(
      ['check', 'binary.taskplan', 'nul.taskplan', 'short.taskplan'],
      within(folder),
    );
    expect(status).toBe(2);
    expect(err).toContain('binary.taskplan is not UTF-8 text');
    expect(out).toContain('nul.taskplan:1:1  error  not-text');
    expect(out).toContain('below-reserve');
    const uses = club({
      'a.taskplan': 'use "folder.taskplan"\nuse "b.taskplan"\n',
      'folder.taskplan/x': '',
      'b.taskplan': new Uint8Array([0xff]),
    });
    const found = JSON.parse(legwise(['check', '--format', 'json', 'a.taskplan'], within(uses)).out).diagnostics;
    expect(found.map((d: { line: number; code: string }) => [d.line, d.code])).toEqual([
      [1, 'file-unreadable'],
      [2, 'file-unreadable'],
    ]);
  });

  test('a file that may not be read', () => {
    const folder = club({ 'a.taskplan': SHORT });
    chmodSync(path.join(folder, 'a.taskplan'), 0o000);
    const { status, err } = legwise(['check', 'a.taskplan'], within(folder));
    // The superuser reads everything.
    if (process.getuid?.() === 0) expect(status).toBe(1);
    else expect([status, err]).toEqual([2, 'legwise: a.taskplan cannot be read\n']);
  });

  test('--severity turns a finding down, an error to a warning at least', () => {
    const folder = club({ 'short.taskplan': SHORT, 'thin.taskplan': SOUND });
    expect(legwise(['check', '--severity', 'below-reserve=off', 'short.taskplan'], within(folder)).status).toBe(0);
    expect(legwise(['check', '--severity', 'below-reserve=off', 'short.taskplan'], within(folder)).out).toContain(
      'warning  below-reserve',
    );
    expect(legwise(['check', '--severity', 'nonsense=off', 'short.taskplan'], within(folder)).status).toBe(2);
  });

  test('nor can names of files, whatever is said of them', () => {
    const odd = (name: string) => `${name}\u001b]0;title\u0007\u001b[2J\u202e.taskplan`;
    const folder = club({
      [odd('bytes')]: new Uint8Array([0xff]),
      [odd('untidy')]: SOUND,
      [odd('empty')]: '',
      [odd('folder')]: '',
    });
    for (const args of [
      ['check', odd('bytes')],
      ['check', odd('nowhere')],
      ['check', '--cache', path.join(folder, odd('empty'))],
      ['format', '--check', odd('untidy'), odd('bytes')],
      ['format', odd('untidy')],
      ['budget', odd('empty')],
      ['budget', odd('untidy'), '--task', odd('none')],
      ['brief', odd('untidy'), '-o', odd('x')],
      ['brief', odd('empty'), '-o', 'x.html'],
      ['export', odd('untidy'), '--to', 'gpx', '-o', `${odd('no')}/${odd('where')}`],
      ['compare', odd('untidy'), odd('nowhere')],
      ['compare', odd('bytes'), odd('untidy')],
      ['import', odd('bytes'), '--from', 'csv'],
      [odd('command')],
      ['explain', odd('code')],
    ]) {
      const { out, err } = legwise(args, within(folder));
      expect([args[0], out + err]).toEqual([args[0], expect.stringContaining('␛]0;title␇␛[2J<U+202E>')]);
      // biome-ignore lint/suspicious/noControlCharactersInRegex: they are what is looked for.
      expect([args[0], out + err]).toEqual([args[0], expect.not.stringMatching(/[\u0000-\u0009\u000b-\u001f\u202e]/)]);
    }
  });

  test('names cannot steer the terminal', () => {
    const folder = club({ 'a.taskplan': 'field "\u001b[2J\u202Eevil" at 47 N 19 E\n  elevation 1\n' });
    const { out } = legwise(['check', 'a.taskplan'], within(folder));
    expect(out).not.toContain('\u001b');
    expect(out).not.toContain('\u202E');
  });
});

describe('budget', () => {
  test('json: every key of the contract, and the terms add up', () => {
    const folder = club({ 'short.taskplan': SHORT });
    const { out, status } = legwise(['budget', 'short.taskplan', '--format', 'json'], within(folder));
    expect(status).toBe(1);
    const report = JSON.parse(out);
    const [task] = report.tasks;
    expect(Object.keys(task)).toEqual(
      expect.arrayContaining(['name', 'file', 'aircraft', 'massKg', 'polar', 'legs', 'totals']),
    );
    expect(task).toMatchObject({ name: 'Home', file: 'short.taskplan', aircraft: 'Finch', massKg: 307 });
    const [leg] = task.legs;
    for (const key of 'number from to distanceM courseDeg speed departAltitudeM arriveAltitudeM arriveHeightM askedAltitudeM marginM requiredDepartAltitudeM timeS meanGroundSpeedMps meanHeadwindMps glideRatioOverGround budgetM fastestIndicatedMps bestGlideIndicatedMps reachesGroundAfterM'.split(
      ' ',
    )) {
      expect(leg).toHaveProperty(key);
    }
    expect(leg.speed).toEqual({ kind: 'indicated', indicatedMps: expect.closeTo(38.5833, 3) });
    const { stillAir, wind, sinkingAir, performance, reserve, altimeter, margin } = leg.budgetM;
    expect(stillAir + wind + sinkingAir + performance).toBeCloseTo(leg.departAltitudeM - leg.arriveAltitudeM, 6);
    expect(reserve + altimeter + margin).toBeCloseTo(leg.arriveHeightM, 6);
    expect(task.totals.distanceM).toBe(leg.distanceM);
    expect(report.diagnostics[0]).toMatchObject({ code: 'below-reserve', line: 8 });
  });

  test('text and markdown say what they are made with, and the caution', () => {
    const folder = club({ 'short.taskplan': SHORT });
    for (const format of ['text', 'markdown']) {
      const { out } = legwise(['budget', 'short.taskplan', '--format', format], within(folder));
      for (const said of ['QNH 1018 hPa', '70 % of the polar', 'flight manual', 'measured points', 'still air'])
        expect(out).toContain(said);
    }
  });

  test('--task picks one, and says which there are', () => {
    const folder = club({
      'two.taskplan': `${SOUND}\n${SOUND.replace('use "club.taskplan"\n', '').replace('task Home', 'task Back')}`,
    });
    expect(
      JSON.parse(legwise(['budget', 'two.taskplan', '--format', 'json', '--task', 'Back'], within(folder)).out).tasks,
    ).toHaveLength(1);
    const { status, err } = legwise(['budget', 'two.taskplan', '--task', 'Bakc'], within(folder));
    expect(status).toBe(2);
    expect(err).toContain('did you mean Back?');
  });
});

describe('format', () => {
  const untidy = 'TASK Home\n    aircraft   Finch   with pilot 82kg\n start Larkfield at 3200 FT msl   # up\n';

  test('rewrites, and --check only says so', () => {
    const folder = club({ 'a.taskplan': untidy });
    expect(legwise(['format', '--check', 'a.taskplan'], within(folder))).toMatchObject({
      status: 1,
      out: 'a.taskplan is not in the standard layout\n',
    });
    expect(readFileSync(path.join(folder, 'a.taskplan'), 'utf8')).toBe(untidy);
    expect(legwise(['format', 'a.taskplan'], within(folder)).status).toBe(0);
    expect(readFileSync(path.join(folder, 'a.taskplan'), 'utf8')).toBe(
      'task Home\n  aircraft  Finch with pilot 82 kg\n  start     Larkfield at 3200 ft MSL  # up\n',
    );
    expect(legwise(['format', '--check', 'a.taskplan'], within(folder)).status).toBe(0);
  });

  test('- formats standard input to standard output', () => {
    expect(legwise(['format', '-'], { input: untidy }).out).toMatch(/^task Home\n {2}aircraft {2}Finch/);
  });
});

describe('explain', () => {
  test('every code has its page, and the list has every code', () => {
    const list = legwise(['explain']).out;
    for (const { code } of RULES) expect(list).toContain(code);
    const page = legwise(['explain', 'below-reserve']).out;
    expect(page).toMatch(/^# below-reserve\n/);
    expect(page).toContain('```taskplan');
  });
});
