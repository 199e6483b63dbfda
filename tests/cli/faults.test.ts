/** What goes wrong around the command line: files too large, not to be read or not to be written, and odd texts. */
import { spawnSync } from 'node:child_process';
import {
  chmodSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  symlinkSync,
  truncateSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterEach, describe, expect, test } from 'vitest';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { legwise, ROOT } from './run.ts';

const PROGRAM = path.join(ROOT, 'dist/legwise.cjs');
const SOUND = `use "club.taskplan"

task Home
  aircraft Finch with pilot 82 kg
  weather  Breezy
  reserve  Training
  start    "Withy Bridge" at 5200 ft MSL
  finish   Larkfield at best glide
`;

let folder = '';
afterEach(() => rmSync(folder, { recursive: true, force: true }));

function club(files: Record<string, string | Uint8Array> = {}): string {
  folder = mkdtempSync(path.join(tmpdir(), 'legwise-'));
  for (const [name, content] of Object.entries({ 'club.taskplan': EXAMPLE_CLUB, ...files })) {
    mkdirSync(path.dirname(path.join(folder, name)), { recursive: true });
    writeFileSync(path.join(folder, name), content);
  }
  return folder;
}

/** The superuser may read everything, so that the program is run as nobody then. */
function asNobody(args: readonly string[]) {
  chmodSync(folder, 0o755);
  // Node and the bundle must be within reach of nobody as well, wherever the checkout lies.
  const tools = path.join(folder, '.tools');
  const dist = path.dirname(PROGRAM);
  if (!existsSync(tools)) {
    mkdirSync(tools);
    for (const name of readdirSync(dist).filter((one) => one.endsWith('.cjs')))
      writeFileSync(path.join(tools, name), readFileSync(path.join(dist, name)));
    writeFileSync(path.join(tools, 'node'), readFileSync(process.execPath), { mode: 0o755 });
  }
  const nobody = process.getuid?.() === 0 ? { uid: 65534, gid: 65534 } : {};
  return spawnSync(path.join(tools, 'node'), [path.join(tools, 'legwise.cjs'), ...args], {
    cwd: folder,
    encoding: 'utf8',
    ...nobody,
  });
}

describe('files that cannot be read', () => {
  test('one of 50 MB is said to be too large, and the next is checked', () => {
    club({ 'large.taskplan': '', 'sound.taskplan': SOUND });
    truncateSync(path.join(folder, 'large.taskplan'), 50 * 1024 * 1024);
    const { status, err, out } = legwise(['check', 'large.taskplan', 'sound.taskplan'], { folder });
    expect(status).toBe(2);
    expect(err).toContain('large.taskplan');
    expect(out).not.toContain('large.taskplan:');
  });

  test('one that may not be read is a finding of the plan that uses it', () => {
    club({ 'sound.taskplan': SOUND });
    chmodSync(path.join(folder, 'club.taskplan'), 0o000);
    const run = asNobody(['check', 'sound.taskplan']);
    expect(run.status).toBe(1);
    expect(run.stdout).toContain('file-unreadable');
    expect(run.stdout).toContain('may not be read');
  });

  test('folders that may not be looked into, or lie too deep for any path, are said, and the rest is checked', () => {
    club({ 'sound.taskplan': SOUND, 'left/out/a.taskplan': SOUND, '.gitignore': 'left\n' });
    for (const name of ['plans/secret', 'left/secret', 'node_modules/secret', '.hidden/secret'])
      mkdirSync(path.join(folder, name), { recursive: true });
    writeFileSync(path.join(folder, 'plans/sound.taskplan'), SOUND.replace('club', '../club'));
    for (const name of ['plans/secret', 'left/secret', 'node_modules/secret', '.hidden/secret'])
      chmodSync(path.join(folder, name), 0o000);
    const why = 'plans/secret cannot be looked into, and may hold plans: permission denied';
    const run = asNobody(['check']);
    expect([run.status, run.stdout, run.stderr]).toEqual([2, 'nothing to say in 3 files\n', `legwise: ${why}\n`]);
    const sarif = asNobody(['check', '--format', 'sarif']);
    expect([sarif.status, sarif.stdout]).toEqual([2, expect.stringContaining(why)]);
    const format = asNobody(['format', '--check', 'plans/**/*.taskplan']);
    expect([format.status, format.stderr]).toEqual([2, expect.stringContaining(`legwise: ${why}\n`)]);
    expect(asNobody(['check', 'plans/secret'])).toMatchObject({ status: 2, stderr: `legwise: ${why}\n` });
    expect(asNobody(['check', 'plans/secret/a.taskplan'])).toMatchObject({
      status: 2,
      stderr: 'legwise: plans/secret/a.taskplan cannot be read\n',
    });
    for (const name of ['plans/secret', 'left/secret', 'node_modules/secret', '.hidden/secret'])
      chmodSync(path.join(folder, name), 0o755);
    rmSync(folder, { recursive: true });

    club({ 'sound.taskplan': SOUND });
    const deep = `for i in $(seq 20); do mkdir ${'d'.repeat(250)}; cd ${'d'.repeat(250)}; done; touch x.taskplan`;
    spawnSync('bash', ['-c', deep], { cwd: folder });
    const { status, out, err } = legwise(['check'], { folder });
    expect([status, out]).toEqual([2, 'nothing to say in 2 files\n']);
    expect(err).toMatch(/^legwise: d[d/]+ cannot be looked into, and may hold plans: name too long\n$/);
    spawnSync('rm', ['-r', folder]);
  });

  test('what is no file at all, and a name that is not UTF-8, are called what they are', () => {
    club({ 'plans/uses.taskplan': 'use "../pipe.taskplan"\nuse "../round.taskplan"\n' });
    spawnSync('mkfifo', [path.join(folder, 'pipe.taskplan')]);
    symlinkSync('round.taskplan', path.join(folder, 'round.taskplan'));
    symlinkSync('/dev/zero', path.join(folder, 'zero.taskplan'));
    const uses = legwise(['check', 'plans/uses.taskplan', '--workspace', '.'], { folder }).out;
    expect(uses.match(/is a pipe, a device or a link in a circle/g)).toHaveLength(2);
    expect(uses).not.toContain('whoever owns');
    for (const name of ['pipe', 'round', 'zero'])
      for (const command of ['check', 'format'])
        expect(legwise([command, `${name}.taskplan`], { folder })).toMatchObject({
          status: 2,
          err: expect.stringContaining(`legwise: ${name}.taskplan is a pipe, a device or a link in a circle\n`),
        });

    const bytes = (text: string) => Buffer.from(`${folder}/plans/${text}`, 'latin1');
    writeFileSync(bytes('\xfc.taskplan'), SOUND);
    mkdirSync(bytes('\xe4'));
    writeFileSync(bytes('\xe4/a.taskplan'), SOUND);
    const { status, err } = legwise(['check', 'plans'], { folder });
    expect([status, err.trimEnd().split('\n').sort()]).toEqual([
      2,
      [
        'legwise: plans/\uFFFD cannot be looked into, and may hold plans: its name is not UTF-8',
        'legwise: plans/\uFFFD.taskplan is not there under that name; one that is not UTF-8 cannot be opened: rename the file',
      ],
    ]);
    expect(legwise(['check', 'plans/\uFFFD.taskplan'], { folder }).err).toContain(
      'a name that is not UTF-8 cannot be opened',
    );
  });

  test('a workspace that is not there is said, whatever is asked for', () => {
    club({ 'sound.taskplan': SOUND });
    for (const args of [
      ['check', 'sound.taskplan'],
      ['budget', 'sound.taskplan'],
      ['brief', 'sound.taskplan', '-o', 'x.html'],
      ['export', 'sound.taskplan', '--to', 'gpx'],
      ['compare', 'sound.taskplan', 'sound.taskplan'],
    ]) {
      expect(legwise([...args, '--workspace', '/nope'], { folder })).toEqual({
        status: 2,
        out: '',
        err: 'legwise: --workspace takes a folder, and /nope is not there\n',
      });
      expect(legwise([...args, '--workspace', 'sound.taskplan'], { folder }).err).toBe(
        'legwise: --workspace takes a folder, and sound.taskplan is none\n',
      );
    }
  });

  test('links that go round and round end the walk', () => {
    club({ 'plans/sound.taskplan': SOUND.replace('club.taskplan', '../club.taskplan') });
    symlinkSync('..', path.join(folder, 'plans/up'));
    symlinkSync('round.taskplan', path.join(folder, 'round.taskplan'));
    symlinkSync('b.taskplan', path.join(folder, 'plans/a.taskplan'));
    symlinkSync('a.taskplan', path.join(folder, 'plans/b.taskplan'));
    const { out } = legwise(['check', '.'], { folder });
    expect(out).toMatch(/in \d+ files?\s*$/);
    expect(out).not.toContain('up/');
  });
});

describe('a disk that takes no more', () => {
  /** A shell that lets a program write so many kilobytes to a file, and no more: the write fails as on a full disk. */
  const full = (command: string) =>
    spawnSync('bash', ['-c', `trap '' XFSZ; ulimit -f 0; exec "${process.execPath}" "${PROGRAM}" ${command}`], {
      cwd: folder,
      encoding: 'utf8',
    });

  test('leaves the exported file that was there, and nothing beside it', () => {
    club({ 'sound.taskplan': SOUND, 'out.gpx': 'the old one\n' });
    const before = readdirSync(folder);
    const { status, stderr } = full('export sound.taskplan --to gpx --output out.gpx');
    expect([status, stderr]).toEqual([2, expect.stringContaining('out.gpx')]);
    expect(readFileSync(path.join(folder, 'out.gpx'), 'utf8')).toBe('the old one\n');
    expect(readdirSync(folder)).toEqual(before);
  });

  test('a folder where the file should be, and a folder that is not there, are said', () => {
    club({ 'sound.taskplan': SOUND, 'out.gpx/note.txt': 'kept\n' });
    for (const out of ['out.gpx', 'nowhere/out.gpx', '/dev/full/out.gpx']) {
      const before = readdirSync(folder);
      const { status, err } = legwise(['export', 'sound.taskplan', '--to', 'gpx', '--output', out], { folder });
      expect([out, status, err]).toEqual([out, 2, expect.stringContaining(out)]);
      expect(err.trim().split('\n')).toHaveLength(1);
      expect(readdirSync(folder)).toEqual(before);
    }
    expect(readFileSync(path.join(folder, 'out.gpx/note.txt'), 'utf8')).toBe('kept\n');
  });

  test('leaves a plan as it was that was to be formatted', () => {
    const unformatted = SOUND.replace('aircraft Finch', 'aircraft      Finch');
    club({ 'plan.taskplan': unformatted });
    const before = readdirSync(folder);
    const { status } = full('format plan.taskplan');
    expect(status).not.toBe(0);
    expect(readFileSync(path.join(folder, 'plan.taskplan'), 'utf8')).toBe(unformatted);
    expect(readdirSync(folder)).toEqual(before);
  });
});

describe('odd texts', () => {
  test('kinds of line end and the mark at the start stay what they are when formatted', () => {
    const plan = SOUND.replaceAll('aircraft Finch', 'aircraft    Finch');
    for (const [name, text] of Object.entries({
      windows: plan.replaceAll('\n', '\r\n'),
      marked: `\uFEFF${plan}`,
    })) {
      club({ 'plan.taskplan': text });
      expect([name, legwise(['format', 'plan.taskplan'], { folder }).status]).toEqual([name, 0]);
      const after = readFileSync(path.join(folder, 'plan.taskplan'), 'utf8');
      expect(after).not.toBe(text);
      expect([name, after.match(/\r\n|\n|\r/g)]).toEqual([name, text.match(/\r\n|\n|\r/g)]);
      expect(after.startsWith('\uFEFF')).toBe(text.startsWith('\uFEFF'));
      rmSync(folder, { recursive: true });
    }
  });

  test('the mark at the start is in no column and in no line that is shown', () => {
    club({ 'marked.taskplan': '\uFEFFbogus x\nbogus y\n', 'plain.taskplan': 'bogus x\nbogus y\n' });
    for (const format of ['text', 'json', 'sarif', 'github', 'junit'])
      expect(
        legwise(['check', '--format', format, 'marked.taskplan'], { folder }).out.replaceAll('marked', 'plain'),
      ).toBe(legwise(['check', '--format', format, 'plain.taskplan'], { folder }).out);
  });

  test('ends of several kinds, or of a kind that no program writes today, become one, and no word is lost', () => {
    const plan = SOUND.replaceAll('aircraft Finch', 'aircraft    Finch');
    const formatted = [plan, plan.replaceAll('\n', '\r'), plan.replace('Breezy\n', 'Breezy\r\n')].map((text) => {
      club({ 'plan.taskplan': text });
      expect(legwise(['format', 'plan.taskplan'], { folder }).status).toBe(0);
      const after = readFileSync(path.join(folder, 'plan.taskplan'), 'utf8');
      rmSync(folder, { recursive: true });
      return after;
    });
    expect(formatted[0]?.split(/\s+/)).toEqual(plan.split(/\s+/));
    expect(formatted).toEqual([formatted[0], formatted[0], formatted[0]]);
  });

  test('mixed line ends number the lines as an editor does', () => {
    club({ 'mixed.taskplan': '# one\r\n# two\r# three\nfeild X\r\n' });
    expect(legwise(['check', 'mixed.taskplan'], { folder }).out).toContain('mixed.taskplan:4:1');
  });

  test('half a character in a file is no text, and said', () => {
    // U+D800 as three bytes, which UTF-8 does not have. Source: RFC 3629, section 3.
    club({ 'half.taskplan': new Uint8Array([0x23, 0xed, 0xa0, 0x80, 0x0a]) });
    const { status, err } = legwise(['check', 'half.taskplan'], { folder });
    expect([status, err]).toEqual([2, expect.stringContaining('half.taskplan is not UTF-8 text')]);
  });

  test('numbers of a million digits are out of sense, in a message one can read', () => {
    club({
      'long.taskplan': `field A at ${'1'.repeat(1e6)} N 19 E\n  elevation ${'9'.repeat(1e6)} m\n`,
    });
    const { status, out } = legwise(['check', 'long.taskplan', '--format', 'jsonl'], { folder });
    expect(status).toBe(1);
    const found = out
      .trim()
      .split('\n')
      .map((line) => JSON.parse(line) as { code: string; message: string });
    expect(found.map(({ code }) => code)).toEqual(['value-out-of-sense', 'value-out-of-sense']);
    for (const { message } of found) expect(message.length).toBeLessThanOrEqual(1000);
  });
});

describe('much of it', () => {
  test('a chain of 10,000 files, each of which uses the next, is read to its end', () => {
    const files: Record<string, string> = { 'f9999.taskplan': EXAMPLE_CLUB };
    for (let i = 0; i < 9999; i++) files[`f${i}.taskplan`] = `use "f${i + 1}.taskplan"\n`;
    club({ ...files, 'plan.taskplan': SOUND.replace('club', 'f0') });
    const { status, out, err } = legwise(['check', 'plan.taskplan'], { folder });
    expect([status, out, err]).toEqual([0, 'nothing to say in 1 file\n', '']);
  });

  test('3,000 files that one file uses are read by a program that may open few', () => {
    const files: Record<string, string> = {};
    for (let i = 0; i < 3000; i++) files[`w${i}.taskplan`] = `field W${i} at 47.2 N 19.4 E\n  elevation 190 m\n`;
    const uses = Array.from({ length: 3000 }, (_, i) => `use "w${i}.taskplan"\n`).join('');
    club({ ...files, 'plan.taskplan': `${uses}\nlimits Local\n  within 5 NM of W2999\n` });
    const run = spawnSync(
      'bash',
      ['-c', `ulimit -n 128; exec "${process.execPath}" "${PROGRAM}" check plan.taskplan`],
      {
        cwd: folder,
        encoding: 'utf8',
      },
    );
    expect([run.status, run.stdout]).toEqual([0, 'nothing to say in 1 file\n']);
  });

  test('a file of 100,000 lines that a plan uses', () => {
    let fields = '';
    for (let i = 0; i < 50_000; i++) {
      const north = (40 + i / 10_000).toFixed(4);
      fields += `field F${i} at ${north} N 10.${String(i % 1000).padStart(3, '0')} E\n  elevation ${i % 900} m\n`;
    }
    club({ 'fields.taskplan': fields, 'plan.taskplan': `use "fields.taskplan"\n${SOUND}` });
    const { status, out } = legwise(['check', 'plan.taskplan'], { folder });
    expect([status, out]).toEqual([0, 'nothing to say in 1 file\n']);
  });
});
