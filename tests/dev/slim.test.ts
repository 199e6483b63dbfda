import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import esbuild from 'esbuild';
import fc from 'fast-check';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { TextDocument } from 'vscode-languageserver-textdocument';
import { parseFile } from '../../grammar/file.ts';
import { normalUri } from '../../server/files-of-session.ts';
import * as flight from '../../server/flight/index.ts';
import { resolvePath } from '../../server/plan/workspace.ts';
import { between } from '../flight/arbitraries.ts';
import { EVERYTHING } from '../grammar/example.ts';
import { anyText, mutated, plan } from '../grammar/plans.ts';

const root = path.resolve(import.meta.dirname, '../..');
const { slim } = (await import(path.join(root, '.dev/slim.mjs'))) as {
  slim(bundler: typeof esbuild, root: string): esbuild.Plugin[];
};
const folder = mkdtempSync(path.join(tmpdir(), 'slim-'));
let slimmed: typeof flight & {
  parseFile: typeof parseFile;
  normalUri: typeof normalUri;
  resolvePath: typeof resolvePath;
  TextDocument: typeof TextDocument;
};

beforeAll(async () => {
  const outfile = path.join(folder, 'slim.mjs');
  await esbuild.build({
    absWorkingDir: root,
    stdin: {
      contents: `export * from './server/flight/index.ts';
        export { parseFile } from './grammar/file.ts';
        export { normalUri } from './server/files-of-session.ts';
        export { resolvePath } from './server/plan/workspace.ts';
        export { TextDocument } from 'vscode-languageserver-textdocument';`,
      resolveDir: root,
    },
    bundle: true,
    format: 'esm',
    platform: 'browser',
    mainFields: ['browser', 'module', 'main'],
    minify: true,
    outfile,
    plugins: slim(esbuild, root),
  });
  slimmed = await import(/* @vite-ignore */ pathToFileURL(outfile).href);
});
afterAll(() => rmSync(folder, { recursive: true }));

/** What was read of a text, as text: forms and token types by their names. */
const told = (read: unknown): string =>
  JSON.stringify(read, (key, value) =>
    key === 'form'
      ? (value?.keyword ?? value?.id)
      : key === 'tokenType'
        ? value.name
        : key === 'tokenTypeIdx' // the library numbers them in the order in which they are made, its own too
          ? undefined
          : value,
  );

test('what is left out of the bundles makes no difference to what is read', () => {
  const isRead = (text: string) => told(slimmed.parseFile(text)) === told(parseFile(text));
  expect(isRead(EVERYTHING)).toBe(true);
  fc.assert(
    fc.property(fc.oneof(plan, mutated(plan), anyText), (text) => {
      expect(isRead(text)).toBe(true);
    }),
    { numRuns: 1000 },
  );
});

test('nor to what paths lead to, and to edited documents', () => {
  const part = fc.constantFrom('..', '.', 'a', 'b c', 'ä', '', 'plan.taskplan', '%41');
  const path = fc.array(part, { minLength: 1, maxLength: 6 }).map((parts) => parts.join('/'));
  fc.assert(
    fc.property(
      path,
      path,
      fc.constantFrom('file:///', 'untitled:', 'file://localhost/', 'x://y/'),
      (one, other, root) => {
        const uri = root + one.replace(/^\/+/, '');
        expect(slimmed.normalUri(uri)).toBe(normalUri(uri));
        expect(slimmed.resolvePath(uri, other, [root])).toEqual(resolvePath(uri, other, [root]));
      },
    ),
    { numRuns: 1000 },
  );
  const place = fc.record({ line: fc.nat(4), character: fc.nat(6) });
  const change = fc.record({
    range: fc.record({ start: place, end: place }),
    text: fc.constantFrom('', '\n', 'x', '\r\ny'),
  });
  fc.assert(
    fc.property(fc.string(), fc.array(change, { maxLength: 5 }), (text, changes) => {
      const edited = (of: typeof TextDocument) => of.update(of.create('a', 'b', 0, text), changes, 1).getText();
      expect(edited(slimmed.TextDocument)).toBe(edited(TextDocument));
    }),
    { numRuns: 1000 },
  );
});

const position = fc.record({
  latDeg: between(-90, 90),
  lonDeg: between(-180, 180),
});
const date = fc.record({
  year: fc.integer({ min: 2025, max: 2029 }),
  month: fc.integer({ min: 1, max: 12 }),
  day: fc.integer({ min: 1, max: 28 }),
});

test('nor to the Earth, the Sun and the magnetic field', () => {
  fc.assert(
    fc.property(position, position, date, (here, there, day) => {
      const [one, other] = [slimmed.track(here, there), flight.track(here, there)];
      expect([one.distanceM, one.initialCourseDeg, one.finalCourseDeg, one.positionAt(1000)]).toEqual([
        other.distanceM,
        other.initialCourseDeg,
        other.finalCourseDeg,
        other.positionAt(1000),
      ]);
      expect(slimmed.destination(here, 123, 45_678)).toEqual(flight.destination(here, 123, 45_678));
      expect(slimmed.sunTimes(here, day, 1)).toEqual(flight.sunTimes(here, day, 1));
      const noon = Date.UTC(day.year, day.month - 1, day.day, 12);
      expect(slimmed.sunHeightDeg(here, noon)).toBe(flight.sunHeightDeg(here, noon));
      expect(slimmed.magneticVariation(here, 500, day)).toEqual(flight.magneticVariation(here, 500, day));
    }),
    { numRuns: 1000 },
  );
});
