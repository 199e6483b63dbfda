/**
 * What the project is made from: packages that are what they were when they were chosen, whose licences allow it, and
 * none that runs or talks to anybody by itself.
 */
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { expect, test } from 'vitest';

const ROOT = path.resolve(import.meta.dirname, '../..');
const DIST = path.join(ROOT, 'dist');
const read = (file: string) => readFileSync(path.join(ROOT, file), 'utf8');

interface Locked {
  readonly version?: string;
  readonly integrity?: string;
  readonly resolved?: string;
  readonly link?: boolean;
  readonly license?: string;
  readonly hasInstallScript?: boolean;
  readonly devDependencies?: Record<string, string>;
}

const manifest = JSON.parse(read('package.json'));
const { '': root = {}, ...locked } = JSON.parse(read('package-lock.json')).packages as Record<string, Locked>;

test('the lock file names every package with the hash of what it is, and none from elsewhere than a registry', () => {
  expect(root.devDependencies).toEqual(manifest.devDependencies);
  for (const [name, version] of Object.entries(manifest.devDependencies as Record<string, string>)) {
    expect([name, version]).toEqual([name, expect.stringMatching(/^\d+\.\d+\.\d+/)]);
    expect([name, locked[`node_modules/${name}`]?.version]).toEqual([name, version]);
  }
  const unsure = Object.entries(locked).filter(
    ([, { integrity, resolved, link }]) =>
      link ||
      !/^sha512-[\w+/]{86}==$/.test(integrity ?? '') ||
      (resolved !== undefined && !resolved.startsWith('https://registry.npmjs.org/')),
  );
  expect(unsure.map(([where]) => where)).toEqual([]);
});

/** The packages in a bundle, told by its source map: another witness than the list that the build itself makes. */
function packagesIn(map: string): { folders: string[]; inside: string[] } {
  const { sources } = JSON.parse(read(`dist/${map}`)) as { sources: string[] };
  const folders: string[] = [];
  const inside: string[] = [];
  for (const source of sources) {
    const name = /.*node_modules\/((?:@[^/]+\/)?[^/]+)/.exec(source);
    // A bundler's stand-in for a module that is not there holds nothing.
    if (!name || source.endsWith('/_empty.js')) continue;
    // What a package has bundled itself lies in no folder of ours.
    const folder = path.relative(ROOT, path.resolve(DIST, name[0])).split(path.sep).join('/');
    if (existsSync(path.join(ROOT, folder, 'package.json'))) folders.push(folder);
    else inside.push(name[1] as string);
  }
  return { folders, inside };
}

const maps = readdirSync(DIST).filter((file) => file.endsWith('.map'));
const found = maps.map(packagesIn);
const bundled = [...new Set(found.flatMap(({ folders }) => folders))].sort();
const broughtAlong = [...new Set(found.flatMap(({ inside }) => inside))];
/** Fonts go in as bytes, of which no source map tells. */
const BESIDE = ['node_modules/roboto-fontface'];

test('the notice has the licence of every package that is bundled, each of which allows it', () => {
  expect(maps.length).toBeGreaterThan(8);
  expect(bundled.length).toBeGreaterThan(30);
  const notice = read('dist/NOTICE.txt');
  for (const name of broughtAlong)
    expect(notice).toMatch(new RegExp(`\\n${name} \\S+ \\((MIT|ISC|BSD-[23]-Clause|Apache-2\\.0)\\)\\n`));
  // Each with its text, not its name alone. The shortest of these licences has more than 500 letters.
  for (const part of notice.split(`${'-'.repeat(80)}\n`).slice(1)) expect(part.length).toBeGreaterThan(500);
  for (const folder of [...bundled, ...BESIDE]) {
    const { name, version, license } = JSON.parse(read(`${folder}/package.json`)) as Record<string, string>;
    expect(notice).toContain(`\n${name} ${version} (${license})\n`);
    expect([folder, license]).toEqual([folder, expect.stringMatching(/^(MIT|ISC|BSD-[23]-Clause|Apache-2\.0)$/)]);
    expect([folder, version]).toEqual([folder, locked[folder]?.version]);
  }
});

test('nothing is fetched or run when the program or the extension is installed', () => {
  for (const kind of ['dependencies', 'optionalDependencies', 'peerDependencies', 'bundleDependencies'])
    expect([kind, manifest[kind]]).toEqual([kind, undefined]);
  expect(Object.keys(manifest.scripts).filter((name) => /^(pre|post)?(install|prepare|publish)/.test(name))).toEqual(
    [],
  );
  expect(bundled.filter((folder) => locked[folder]?.hasInstallScript)).toEqual([]);
  // Those that a build needs, each allowed or refused by name.
  const scripts = Object.entries(locked).filter(([, { hasInstallScript }]) => hasInstallScript);
  const known = Object.keys(manifest.allowScripts).map((name) => `node_modules/${name}`);
  const elsewhere = (folder: string) => !existsSync(path.join(ROOT, folder)); // a package of another system
  expect(scripts.map(([folder]) => folder).filter((folder) => !known.includes(folder) && !elsewhere(folder))).toEqual(
    [],
  );
});

test('no bundle can talk to a network', () => {
  const bundles = readdirSync(DIST).filter((file) => /\.c?js$/.test(file));
  expect(bundles.length).toBeGreaterThan(8);
  const modules = /\b(?:require|import)\(["'`](?:node:)?(https?|http2|net|tls|dgram|dns|quic|undici)(?:\/\w+)?["'`]\)/g;
  const ofBrowsers =
    /\bfetch\(|\b(?:XMLHttpRequest|WebSocket|WebTransport|EventSource|RTCPeerConnection|sendBeacon)\b/g;
  const talk: Record<string, string[]> = {};
  for (const file of bundles) {
    const text = read(`dist/${file}`);
    const all = [...text.matchAll(modules)].map(([, name]) => name as string);
    const words = [...text.matchAll(ofBrowsers)].map(([word]) => word);
    if (all.length + words.length > 0) talk[file] = [...new Set([...all, ...words])];
  }
  // The client's library can speak over a pipe or a port of this machine; ours starts a server on its standard streams.
  expect(talk).toEqual({ 'extension.cjs': ['net'] });
});
