// Packs the extension. The same sources give the same bytes, wherever, whenever and by whomever it is done: what a
// reader has can be compared with what the sources make.
//
//   node .dev/package.mjs [OUT]      OUT is dist/legwise.vsix unless said otherwise
import { spawnSync } from 'node:child_process';
import { cpSync, globSync, mkdirSync, mkdtempSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';

/** Every file in the package has this date: the second day that a zip file can tell, so in every time zone. */
const EPOCH_S = Date.UTC(1980, 0, 2) / 1000;

const CENTRAL_ENTRY = 0x02014b50;
const CENTRAL_END = 0x06054b50;
const MODE = 0o100644;

/** Gives every file in a zip the same permissions, whatever the umask of whoever made the files. Changes BYTES. */
export function samePermissions(bytes) {
  const end = bytes.lastIndexOf(Buffer.from([0x50, 0x4b, 0x05, 0x06]));
  if (end < 0 || bytes.readUInt32LE(end) !== CENTRAL_END) throw new Error('this is no zip file');
  let at = bytes.readUInt32LE(end + 16);
  for (let left = bytes.readUInt16LE(end + 10); left > 0; left--) {
    if (bytes.readUInt32LE(at) !== CENTRAL_ENTRY) throw new Error('the zip file has a broken list of files');
    bytes.writeUInt32LE((MODE << 16) >>> 0, at + 38);
    at += 46 + bytes.readUInt16LE(at + 28) + bytes.readUInt16LE(at + 30) + bytes.readUInt16LE(at + 32);
  }
  return bytes;
}

/** What of package.json is for working on the project, and for nobody who installs the extension. */
const OF_THE_PROJECT = ['scripts', 'devDependencies', 'allowScripts', 'files', 'bin'];

/** Copies what `files` of package.json names, and what the gallery asks for, from ROOT into the folder STAGE. */
function stage(root, folder) {
  const manifest = JSON.parse(readFileSync(path.join(root, 'package.json'), 'utf8'));
  for (const pattern of ['README.md', 'CHANGELOG.md', 'LICENSE', ...(manifest.files ?? [])]) {
    const found = globSync(pattern, { cwd: root }).sort();
    if (found.length === 0) throw new Error(`package.json names ${pattern} in \`files\`, and there is no such file`);
    for (const file of found) {
      mkdirSync(path.dirname(path.join(folder, file)), { recursive: true });
      cpSync(path.join(root, file), path.join(folder, file), { recursive: true });
    }
  }
  for (const key of OF_THE_PROJECT) delete manifest[key];
  // A browser takes the extension's own script for a module when the package is one, and cannot load it.
  delete manifest.type;
  manifest.engines = { vscode: manifest.engines.vscode };
  writeFileSync(path.join(folder, 'package.json'), `${JSON.stringify(manifest, null, 2)}\n`);
}

/** Packs the extension of ROOT into the file OUT; throws what the packer said when it refuses. */
export function pack(root, out) {
  const folder = mkdtempSync(path.join(tmpdir(), 'package-'));
  const draft = `${out}.${process.pid}`;
  const options = ['--no-dependencies', '--allow-missing-repository', '--no-rewrite-relative-links'];
  try {
    stage(root, folder);
    const vsce = path.join(root, 'node_modules/@vscode/vsce/vsce');
    const run = spawnSync(process.execPath, [vsce, 'package', ...options, '--out', draft], {
      cwd: folder,
      encoding: 'utf8',
      // A zip file holds local time, and its files are sorted as the locale has it.
      env: { ...process.env, SOURCE_DATE_EPOCH: String(EPOCH_S), TZ: 'UTC', LC_ALL: 'C' },
    });
    if (run.error) throw run.error;
    if (run.status !== 0) throw new Error(`vsce failed:\n${run.stdout}${run.stderr}`);
    writeFileSync(draft, samePermissions(readFileSync(draft)));
    renameSync(draft, out);
  } finally {
    rmSync(draft, { force: true });
    rmSync(folder, { recursive: true, force: true });
  }
}

if (process.argv[1] && fileURLToPath(import.meta.url) === path.resolve(process.argv[1])) {
  const root = path.resolve(path.dirname(fileURLToPath(import.meta.url)), '..');
  const out = path.resolve(process.argv[2] ?? path.join(root, 'dist/legwise.vsix'));
  try {
    pack(root, out);
    const kB = (readFileSync(out).length / 1024).toFixed(0);
    console.log(`${path.relative(process.cwd(), out)}  ${kB} kB`);
  } catch (error) {
    console.error(`package: ${error.message}`);
    process.exitCode = 1;
  }
}
