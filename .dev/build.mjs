// Bundles the command line, the language server and the extension into dist/, with the licences of what is bundled.
//
//   node .dev/build.mjs [--parts]
//
// --parts also says what each bundle is made of.

import { createHash } from 'node:crypto';
import { chmodSync, existsSync, mkdirSync, readdirSync, readFileSync, renameSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { buildInParts } from './parts.mjs';
import { slim } from './slim.mjs';

const SOURCES = ['grammar', 'server', 'client'];
const BUILT_WITH = [
  'package-lock.json',
  '.dev/build.mjs',
  '.dev/parts.mjs',
  '.dev/slim.mjs',
  'package.json',
  'tsconfig.json',
];

// The bundles may meet an older Node than the pinned one, in an editor or in a user's shell, and an older browser.
const GROUP_BY =
  'Object.groupBy||=function(items,key){const groups=Object.create(null);let i=0;for(const item of items){(groups[key(item,i++)]||=[]).push(item)}return groups};';
const IN_NODE = {
  format: 'cjs',
  platform: 'node',
  target: 'node20',
  // Some packages' `main` is UMD whose `require` calls esbuild cannot follow; their `module` build it can.
  mainFields: ['module', 'main'],
  define: { 'import.meta.url': '__importMetaUrl' },
  // A part of a program is required, by what `server/node/compiled.ts` gives for that.
  supported: { 'dynamic-import': false },
};
const NODE_BANNER = `${GROUP_BY}const __importMetaUrl=require("node:url").pathToFileURL(__filename).href;`;
const IN_BROWSER = {
  format: 'cjs', // what the editor loads an extension as
  platform: 'browser',
  target: 'es2022',
  mainFields: ['browser', 'module', 'main'],
};

/** The script of a web view or of a worker, which is loaded as no module. */
const IN_SCRIPT = { ...IN_BROWSER, format: 'iife' };

/** The command line has the server and the maker of PDF files in bundles of their own, which a check does not load. */
const BESIDE = {
  name: 'beside',
  setup: (build) => {
    build.onResolve({ filter: /^\.\/node\.ts$/ }, () => ({ path: './server.cjs', external: true }));
    build.onResolve({ filter: /\/node\/brief-pdf\.ts$/ }, () => ({ path: './brief-pdf.cjs', external: true }));
  },
};

/** A PDF file of ours holds no picture in pixels: what reads them stays out. */
const NO_PIXELS = {
  name: 'no-pixels',
  setup: (build) => {
    build.onResolve({ filter: /^png-js$/ }, () => ({ path: 'png-js', namespace: 'none' }));
    build.onLoad({ filter: /.*/, namespace: 'none' }, () => ({ contents: 'export default undefined' }));
  },
};

/**
 * The client library matches file names by `minimatch`, whose licence is none of those that what is bundled may have:
 * picomatch finds the same (`tests/dev/globs.test.ts`).
 */
export const GLOBS = {
  name: 'globs',
  setup: (build) => {
    build.onResolve({ filter: /^minimatch$/ }, () => ({ path: 'minimatch', namespace: 'globs' }));
    build.onLoad({ filter: /.*/, namespace: 'globs' }, () => ({
      contents: `import picomatch from 'picomatch';
export class Minimatch {
  constructor(glob, { dot, nocase, noext } = {}) {
    this.match = picomatch(glob, { dot, nocase, noextglob: noext });
  }
  makeRe() {
    return true;
  }
}`,
      resolveDir: path.resolve(import.meta.dirname, '..'),
    }));
  },
};

/** Of package.json the programs want to know the version, and nothing else of it need go along. */
const VERSION_ALONE = {
  name: 'version-alone',
  setup: (build) =>
    build.onLoad({ filter: /[\\/]package\.json$/ }, ({ path: file }) =>
      file.includes('node_modules')
        ? undefined
        : {
            contents: JSON.stringify({ version: JSON.parse(readFileSync(file, 'utf8')).version }),
            loader: 'json',
          },
    ),
};

/**
 * V8 holds a script that has but one letter beyond Latin-1 at two bytes a letter. The bundler writes such letters of a
 * string as escapes, and leaves those of a regular expression.
 */
const AS_ESCAPES = {
  name: 'as-escapes',
  setup: (build) =>
    build.onLoad({ filter: /[\\/](?:grammar|server)[\\/].*\.ts$/ }, ({ path: file }) =>
      // What splits a program in parts has its own way with the rules.
      /[\\/]rules[\\/]/.test(file)
        ? undefined
        : {
            contents: readFileSync(file, 'utf8').replace(
              /[\u0100-\uffff]/g,
              (letter) => `\\u${letter.charCodeAt(0).toString(16).padStart(4, '0')}`,
            ),
            loader: 'ts',
          },
    ),
};

const BUNDLES = [
  { entry: 'server/cli.ts', out: 'legwise-main.cjs', start: 'legwise.cjs', plugins: [BESIDE] },
  {
    entry: 'server/node.ts',
    out: 'server-main.cjs',
    start: 'server.cjs',
    // Its space for new objects stays as small as it starts: grown, it costs 30 to 100 MB, and no collection of it takes
    // less time.
    flags: ['--semi-space-growth-factor=1'],
    plugins: [BESIDE],
    part: { name: 'features', entry: 'server/handlers.ts', out: 'server-features.cjs' },
  },
  { entry: 'server/node/brief-pdf.ts', out: 'brief-pdf.cjs', plugins: [NO_PIXELS] },
  { entry: 'client/extension.ts', out: 'extension.cjs', external: ['vscode'], plugins: [GLOBS] },
  {
    entry: 'server/worker.ts',
    out: 'server-web.js',
    web: true,
    part: { name: 'features', entry: 'server/handlers.ts', out: 'server-web-features.js' },
  },
  { entry: 'client/web.ts', out: 'extension-web.js', web: true, external: ['vscode'], plugins: [GLOBS] },
  { entry: 'client/view/main.ts', out: 'view.js', page: true },
  { entry: 'client/view/view.css', out: 'view.css', page: true },
];

/** What every program is started by. */
const STARTER = 'server/start.ts';

/** Makes the file that a program is started by. */
const starter = (esbuild, root, { out, start, flags = [], version }) =>
  esbuild.build({
    absWorkingDir: root,
    bundle: true,
    ...IN_NODE,
    entryPoints: [STARTER],
    outfile: `dist/${start}`,
    define: { PROGRAM: JSON.stringify({ main: out, version, flags }) },
    minify: true,
    write: false,
    logLevel: 'warning',
  });

/** The most that a bundle may have, in thousands of bytes: what a browser has to load before it can check a plan. */
const MOST_KB = { 'server-web.js': 435 };

/** Every source that something is bundled from. */
export const ENTRIES = [STARTER, ...BUNDLES.flatMap(({ entry, part }) => (part ? [entry, part.entry] : [entry]))];

/** Licences that allow a bundled copy as long as their text goes with it. */
const ALLOWED = /^(MIT|ISC|0BSD|BSD-[23]-Clause|Apache-2\.0)$/;

const buildStamp = (root) => path.join(root, 'dist/.ready');

/** A hash of everything that the bundles are made from. */
export function buildKey(root) {
  const hash = createHash('sha256');
  const add = (file) =>
    hash
      .update(file)
      .update('\0')
      .update(readFileSync(path.join(root, file)))
      .update('\0');
  for (const file of BUILT_WITH) if (existsSync(path.join(root, file))) add(file);
  const walk = (folder) => {
    const entries = readdirSync(path.join(root, folder), {
      withFileTypes: true,
    });
    for (const entry of entries.sort((a, b) => (a.name < b.name ? -1 : 1))) {
      const file = `${folder}/${entry.name}`;
      if (entry.isDirectory()) walk(file);
      else if (/\.(ts|json|css|html|svg)$/.test(entry.name)) add(file);
    }
  };
  for (const folder of SOURCES) if (existsSync(path.join(root, folder))) walk(folder);
  return hash.digest('hex');
}

/** Whether dist/ was built from the sources as they stand, and still holds every file that the build wrote. */
export function isBuilt(root) {
  if (!existsSync(buildStamp(root))) return false;
  try {
    const { key, files } = JSON.parse(readFileSync(buildStamp(root), 'utf8'));
    return key === buildKey(root) && files.every((file) => existsSync(path.join(root, 'dist', file)));
  } catch {
    return false; // a stamp that cannot be read is no stamp
  }
}

/** Writes through a new file and a rename, so that a program that runs meanwhile reads the old file or the new one. */
function writeWhole(file, content) {
  const draft = `${file}.${process.pid}`;
  writeFileSync(draft, content);
  renameSync(draft, file);
}

/** The folder of the package that a bundled file belongs to. */
function packageFolder(file) {
  const parts = file.split('/');
  const at = parts.lastIndexOf('node_modules');
  return parts.slice(0, at + (parts[at + 1]?.startsWith('@') ? 3 : 2)).join('/');
}

const WITHOUT_WARRANTY = {
  MIT: `THE SOFTWARE IS PROVIDED "AS IS", WITHOUT WARRANTY OF ANY KIND, EXPRESS OR
IMPLIED, INCLUDING BUT NOT LIMITED TO THE WARRANTIES OF MERCHANTABILITY,
FITNESS FOR A PARTICULAR PURPOSE AND NONINFRINGEMENT. IN NO EVENT SHALL THE
AUTHORS OR COPYRIGHT HOLDERS BE LIABLE FOR ANY CLAIM, DAMAGES OR OTHER
LIABILITY, WHETHER IN AN ACTION OF CONTRACT, TORT OR OTHERWISE, ARISING FROM,
OUT OF OR IN CONNECTION WITH THE SOFTWARE OR THE USE OR OTHER DEALINGS IN THE
SOFTWARE.`,
  ISC: `THE SOFTWARE IS PROVIDED "AS IS" AND THE AUTHOR DISCLAIMS ALL WARRANTIES WITH
REGARD TO THIS SOFTWARE INCLUDING ALL IMPLIED WARRANTIES OF MERCHANTABILITY AND
FITNESS. IN NO EVENT SHALL THE AUTHOR BE LIABLE FOR ANY SPECIAL, DIRECT,
INDIRECT, OR CONSEQUENTIAL DAMAGES OR ANY DAMAGES WHATSOEVER RESULTING FROM LOSS
OF USE, DATA OR PROFITS, WHETHER IN AN ACTION OF CONTRACT, NEGLIGENCE OR OTHER
TORTIOUS ACTION, ARISING OUT OF OR IN CONNECTION WITH THE USE OR PERFORMANCE OF
THIS SOFTWARE.`,
};

/** The terms of a package that comes without their text, with its author's name. Source: the SPDX list of licences. */
const TERMS = {
  MIT: (holder) => `MIT License

Copyright (c) ${holder}

Permission is hereby granted, free of charge, to any person obtaining a copy of
this software and associated documentation files (the "Software"), to deal in
the Software without restriction, including without limitation the rights to
use, copy, modify, merge, publish, distribute, sublicense, and/or sell copies of
the Software, and to permit persons to whom the Software is furnished to do so,
subject to the following conditions:

The above copyright notice and this permission notice shall be included in all
copies or substantial portions of the Software.

${WITHOUT_WARRANTY.MIT}`,
  ISC: (holder) => `ISC License

Copyright (c) ${holder}

Permission to use, copy, modify, and/or distribute this software for any purpose
with or without fee is hereby granted, provided that the above copyright notice
and this permission notice appear in all copies.

${WITHOUT_WARRANTY.ISC}`,
};

/** Packages that a package brings along inside its own file, where nobody sees them: by the one that holds them. */
const BROUGHT_ALONG = {
  'vscode-uri': [{ name: 'path-browserify', version: '1.0.1', license: 'MIT', holder: '2013 James Halliday' }],
};

const noticeOf = ({ name, version, license }, text) =>
  `${'-'.repeat(80)}\n${name} ${version} (${license})\n\n${text.replaceAll('\r\n', '\n')}\n`;

/** The licence texts of everything under node_modules that ended in a bundle. */
function notice(root, inputs) {
  const folders = [...new Set(inputs.filter((file) => file.includes('node_modules/')).map(packageFolder))].sort();
  const parts = ['What Legwise bundles, and on what terms.\n'];
  for (const folder of folders) {
    const manifest = JSON.parse(readFileSync(path.join(root, folder, 'package.json'), 'utf8'));
    const { name, version, license, author } = manifest;
    if (!ALLOWED.test(license ?? ''))
      throw new Error(`${name} ${version} is bundled, but its licence is ${license ?? 'not given'}`);
    const file = readdirSync(path.join(root, folder)).find((entry) => /^(licen[cs]e|copying)/i.test(entry));
    const terms = TERMS[license]?.(author?.name ?? author ?? `the authors of ${name}`);
    if (!file && !terms) throw new Error(`${name} ${version} is bundled, and comes without the text of ${license}`);
    parts.push(noticeOf(manifest, file ? readFileSync(path.join(root, folder, file), 'utf8').trim() : terms));
    for (const one of BROUGHT_ALONG[name] ?? []) parts.push(noticeOf(one, TERMS[one.license](one.holder)));
  }
  return parts.join('\n');
}

/** What a bundle is made of, largest first: bytes by package, and of our own by folder. */
function partsOf(inputs) {
  const parts = new Map();
  for (const [file, { bytesInOutput }] of Object.entries(inputs)) {
    const part = file.includes('node_modules/')
      ? packageFolder(file).split('node_modules/').at(-1)
      : file.split('/').slice(0, -1).join('/') || file;
    parts.set(part, (parts.get(part) ?? 0) + bytesInOutput);
  }
  return [...parts].filter(([, bytes]) => bytes > 0).sort(([, one], [, other]) => other - one);
}

/** Builds into ROOT/dist; returns the bundles with their sizes in bytes, and what they are made of. */
export async function build(root) {
  const esbuild = createRequire(path.join(root, 'package.json'))('esbuild');
  const key = buildKey(root); // before reading the sources: an edit made meanwhile leaves the build stale
  const dist = path.join(root, 'dist');
  const built = [];
  const files = [];
  const inputs = new Set();
  mkdirSync(dist, { recursive: true });
  for (const { entry, out, start, flags, web, page, part, plugins = [], external = [] } of BUNDLES) {
    const inNode = !web && !page;
    const options = {
      absWorkingDir: root,
      bundle: true,
      // Scripts of one worker share its global names, so each keeps its own to itself.
      ...(page || (web && part) ? IN_SCRIPT : web ? IN_BROWSER : IN_NODE),
      external,
      plugins: [
        VERSION_ALONE,
        ...(entry.startsWith('server/') ? slim(esbuild, root) : []),
        ...plugins,
        ...(inNode ? [AS_ESCAPES] : []),
      ],
      loader: { '.ttf': 'binary' },
      minify: true,
      sourcemap: 'linked',
      legalComments: 'none',
      charset: inNode ? 'ascii' : 'utf8',
      banner: { js: page ? '' : web ? GROUP_BY : NODE_BANNER },
      metafile: true,
      write: false,
      logLevel: 'warning',
    };
    const results = part
      ? await buildInParts(esbuild, root, options, { entry, out, web, part })
      : [await esbuild.build({ ...options, entryPoints: [entry], outfile: `dist/${out}` })];
    for (const { outputFiles, metafile } of results) {
      for (const file of outputFiles) {
        if (inNode && file.path.endsWith('.cjs') && /[^\0-\xff]/.test(file.text))
          throw new Error(`${file.path} has a letter for which V8 holds all of it at two bytes a letter`);
        writeWhole(file.path, file.contents);
        files.push(path.basename(file.path));
      }
      for (const input of Object.keys(metafile.inputs)) inputs.add(input);
      for (const [file, { bytes, inputs: from }] of Object.entries(metafile.outputs))
        if (!file.endsWith('.map')) built.push({ out: path.basename(file), bytes, parts: partsOf(from) });
    }
    if (start) {
      const { version } = JSON.parse(readFileSync(path.join(root, 'package.json'), 'utf8'));
      const made = await starter(esbuild, root, { out, start, flags, version });
      writeWhole(path.join(dist, start), made.outputFiles[0].contents);
      chmodSync(path.join(dist, start), 0o755);
      files.push(start);
    }
  }
  for (const { out, bytes } of built) {
    const most = MOST_KB[out];
    if (bytes > most * 1000)
      throw new Error(
        `dist/${out} has ${Math.ceil(bytes / 1000)} kB, more than ${most}: let what a plan can be checked without be loaded once it is asked for (server/handlers.ts)`,
      );
  }
  writeWhole(path.join(dist, 'NOTICE.txt'), notice(root, [...inputs]));
  files.push('NOTICE.txt');
  writeWhole(buildStamp(root), JSON.stringify({ key, files })); // last: it vouches for the others
  return built;
}

if (process.argv[1] && fileURLToPath(import.meta.url) === path.resolve(process.argv[1])) {
  try {
    const inParts = process.argv.includes('--parts');
    const kB = (bytes) => `${(bytes / 1000).toFixed(0)} kB`;
    for (const { out, bytes, parts } of await build(path.resolve(path.dirname(fileURLToPath(import.meta.url)), '..'))) {
      console.log(`dist/${out}  ${kB(bytes)}`);
      if (inParts) for (const [part, of] of parts) if (of >= 500) console.log(`  ${kB(of).padStart(8)}  ${part}`);
    }
  } catch (error) {
    console.error(`build: ${error.message}`);
    process.exitCode = 1;
  }
}
