/** What package.json promises an editor: files that are there, commands that are registered, a matcher that matches. */
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { stripVTControlCharacters } from 'node:util';
import { expect, test } from 'vitest';
import { fileNameFor } from '../../client/file-name.ts';
import { folderWith, legwise } from '../cli/run.ts';

const ROOT = path.join(import.meta.dirname, '../..');
const manifest = JSON.parse(readFileSync(path.join(ROOT, 'package.json'), 'utf8'));
const { contributes } = manifest;

/** Every text in a value, however deep. */
function textsIn(value: unknown): string[] {
  if (typeof value === 'string') return [value];
  return typeof value === 'object' && value !== null ? Object.values(value).flatMap(textsIn) : [];
}

/** The sources of the extension, as one text. */
const client = readdirSync(path.join(ROOT, 'client'), { recursive: true, encoding: 'utf8' })
  .filter((file) => file.endsWith('.ts'))
  .map((file) => readFileSync(path.join(ROOT, 'client', file), 'utf8'))
  .join('\n');

test('every file that is named is there', () => {
  const named = textsIn([contributes, manifest.icon]).filter((text) =>
    /^(\.\/)?(client|grammar)\/[\w./-]+$/.test(text),
  );
  expect(named.length).toBeGreaterThan(5);
  expect(named.filter((file) => !existsSync(path.join(ROOT, file)))).toEqual([]);
});

test('every file that an editor loads is packed', () => {
  const patterns = (manifest.files as string[]).map(
    (pattern) => new RegExp(`^${pattern.replaceAll('.', '\\.').replaceAll('*', '[^/]*')}$`),
  );
  const loaded = textsIn([contributes, manifest.icon, manifest.main, manifest.browser])
    .filter((text) => /^(\.\/)?(client|grammar|dist)\/[\w./-]+$/.test(text))
    .map((file) => path.posix.normalize(file));
  expect(loaded.filter((file) => !patterns.some((pattern) => pattern.test(file)))).toEqual([]);
});

test('the icon is a square of 256 pixels', () => {
  const png = readFileSync(path.join(ROOT, manifest.icon));
  expect(png.subarray(1, 4).toString()).toBe('PNG');
  expect([png.readUInt32BE(16), png.readUInt32BE(20)]).toEqual([256, 256]);
});

test('commands: each that is shown is registered, and each that is named elsewhere is shown', () => {
  const shown = (contributes.commands as { command: string }[]).map(({ command }) => command);
  expect(shown.filter((command) => !client.includes(`'${command}'`))).toEqual([]);
  const named = textsIn([contributes.menus, contributes.keybindings, contributes.viewsWelcome]).filter((text) =>
    /^legwise\.[\w.]+$/.test(text),
  );
  const linked = [...JSON.stringify(contributes.walkthroughs ?? []).matchAll(/(?:command:|onCommand:)(legwise\.\w+)/g)];
  const all = [...named, ...linked.map(([, command]) => command as string)];
  expect(all.filter((command) => !shown.includes(command))).toEqual([]);
});

test('every setting says what it does', () => {
  const settings = Object.entries(contributes.configuration.properties as Record<string, Record<string, unknown>>);
  expect(
    settings.filter(([, one]) => !one['description'] && !one['markdownDescription']).map(([name]) => name),
  ).toEqual([]);
  expect(settings.filter(([, one]) => one['default'] === undefined).map(([name]) => name)).toEqual([]);
});

interface Problem {
  file: string;
  line: number;
  column: number;
  severity: string;
  code: string;
  message: string;
}

/** What an editor makes of an output with the patterns of the matcher, each for the line after the one before. */
function matched(output: string): Problem[] {
  const patterns: { regexp: RegExp; [slot: string]: number | RegExp }[] = contributes.problemMatchers[0].pattern.map(
    (pattern: { regexp: string }) => ({ ...pattern, regexp: new RegExp(pattern.regexp) }),
  );
  const lines = stripVTControlCharacters(output).split(/\r?\n/);
  const problems: Problem[] = [];
  for (let at = 0; at < lines.length; at++) {
    const groups = patterns.map(({ regexp }, i) => regexp.exec(lines[at + i] ?? '\0'));
    if (groups.includes(null)) continue;
    const of = (slot: string) =>
      patterns.flatMap((pattern, i) => {
        const group = pattern[slot];
        return typeof group === 'number' ? [groups[i]?.[group] ?? ''] : [];
      });
    problems.push({
      file: of('file')[0] as string,
      line: Number(of('line')[0]),
      column: Number(of('column')[0]),
      severity: of('severity')[0] as string,
      code: of('code')[0] as string,
      message: of('message').join('\n').trim(),
    });
    at += patterns.length - 1;
  }
  return problems;
}

const PLANS = {
  'plans/late: home, 2nd (draft).taskplan': 'field Larkfield at 97.2031 N 19.4410 E\n  elevation 190 m\n',
  'plans/größe.taskplan': 'task T\n  finish Nowhere\n\ntask U\n    start Nowhere at 10 ft\n  finsih Nowhere\n',
  [`plans/${'long-'.repeat(20)}.taskplan`]: `field ${'"x'.repeat(200)}\nturnpoint A at 1.0 N 1.0 E\n  elevation 3 ft AGL\n`,
};

test('the problem matcher finds in the output of check what its JSON holds', () => {
  const { folder, remove } = folderWith(PLANS);
  try {
    const wanted = (JSON.parse(legwise(['check', '--format', 'json'], { folder }).out) as { diagnostics: Problem[] })
      .diagnostics;
    expect(wanted.length).toBeGreaterThan(6);
    expect(new Set(wanted.map(({ file }) => file)).size).toBe(3);
    const ofInterest = ({ file, line, column, severity, code, message }: Problem) => ({
      file,
      line,
      column,
      severity,
      code,
      // The sentence that says the way out stands on a line of its own.
      message: message.replaceAll('\n', ' '),
    });
    for (const env of [{}, { FORCE_COLOR: '1' }]) {
      const { out } = legwise(['check'], { folder, env });
      expect(matched(out).map(ofInterest)).toEqual(wanted.map(ofInterest));
      expect(matched(out.replaceAll('\n', '\r\n')).length).toBe(wanted.length);
    }
  } finally {
    remove();
  }
});

test('the problem matcher finds every finding of the samples', () => {
  const folder = path.join(ROOT, 'samples');
  const { diagnostics } = JSON.parse(legwise(['check', '--format', 'json'], { folder }).out) as {
    diagnostics: Problem[];
  };
  expect(matched(legwise(['check'], { folder }).out).length).toBe(diagnostics.length);
});

test('a file gets the name of its task, as far as a file can have it', () => {
  expect(fileNameFor('Withy Bridge and Corran Dam')).toBe('withy-bridge-and-corran-dam.taskplan');
  expect(fileNameFor('Größe 7', 2)).toBe('größe-7-2.taskplan');
  expect(fileNameFor('../../x: "y"')).toBe('x-y.taskplan');
  expect(fileNameFor('…')).toBe('plan.taskplan');
  expect(fileNameFor('a'.repeat(300))).toBe(`${'a'.repeat(40)}.taskplan`);
  expect(fileNameFor('word '.repeat(50)).length).toBeLessThan(80);
});
