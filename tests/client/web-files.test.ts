/** What the browser's client says of files, against what the server beside the files says of the same ones. */
import { cpSync, mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { lstat, readdir, readFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { URI, Utils } from 'vscode-uri';
import { type Files, WebFiles } from '../../client/web-files.ts';
import { LARGEST_FILE } from '../../server/bytes.ts';
import { TILE_BYTES } from '../../server/flight/index.ts';
import { listPlans, readPlan, readTile } from '../../server/node/files.ts';
import { diskThrough } from '../../server/worker/files.ts';

let home: string;
let root: string;
beforeAll(() => {
  home = mkdtempSync(path.join(tmpdir(), 'web-files-'));
  root = path.join(home, 'club');
  cpSync(path.resolve(import.meta.dirname, '../../samples'), root, { recursive: true });
  const put = (file: string, content: string | Uint8Array) => {
    mkdirSync(path.dirname(path.join(home, file)), { recursive: true });
    writeFileSync(path.join(home, file), content);
  };
  put('elsewhere/far.taskplan', '# not ours\n');
  put('club/node_modules/dep/x.taskplan', '');
  put('club/.hidden/x.taskplan', '');
  put('club/.gitignore', 'made/\n*.old.taskplan\n!kept.old.taskplan\nshut/\nHangar/\n');
  put('club/made/x.taskplan', '');
  put('club/plans/gone.old.taskplan', '');
  put('club/plans/kept.old.taskplan', '');
  put('club/made/.gitignore', '!x.taskplan\n');
  put('club/hangar/x.taskplan', '');
  put('club/plans/.gitignore', '!shut/\n');
  put('club/plans/shut/x.taskplan', '');
  put('club/plans/inner/.gitignore', '/secret.taskplan\n');
  put('club/plans/inner/secret.taskplan', '');
  put('club/plans/inner/deep/secret.taskplan', '');
  put('club/notes.txt', 'no plan');
  put('club/bytes.taskplan', new Uint8Array([0xff, 0xfe, 0x41]));
  put('club/bom.taskplan', '\uFEFF# a byte order mark stays\r\n');
  put('club/größe & 100%.taskplan', '# a name with more than letters\n');
  put('club/large.taskplan', new Uint8Array(LARGEST_FILE + 1));
  put('club/ground/N47E019.hgt', new Uint8Array(TILE_BYTES[1] as number));
  put('club/ground/N48E019.hgt', new Uint8Array(100));
  put('club/ground/there.hgt', new Uint8Array(TILE_BYTES[1] as number));
  mkdirSync(path.join(root, 'folder.taskplan'));
  symlinkSync(path.join(home, 'elsewhere/far.taskplan'), path.join(root, 'away.taskplan'));
  symlinkSync(path.join(home, 'elsewhere'), path.join(root, 'away'));
  symlinkSync(root, path.join(root, 'plans/round'));
});
afterAll(() => rmSync(home, { recursive: true, force: true }));

class FileError extends Error {
  readonly code: string;
  constructor(code: string) {
    super(code);
    this.code = code;
  }
}

const CODES: Readonly<Record<string, string>> = {
  ENOENT: 'FileNotFound',
  ENOTDIR: 'FileNotADirectory',
  EISDIR: 'FileIsADirectory',
  EACCES: 'NoPermissions',
};
async function asEditor<T>(work: Promise<T>): Promise<T> {
  try {
    return await work;
  } catch (error) {
    throw new FileError(CODES[(error as NodeJS.ErrnoException).code ?? ''] ?? 'Unknown');
  }
}
const typeOf = (found: { isFile(): boolean; isDirectory(): boolean; isSymbolicLink(): boolean }) =>
  (found.isFile() ? 1 : 0) | (found.isDirectory() ? 2 : 0) | (found.isSymbolicLink() ? 64 : 0);
const at = (uri: string) => URI.parse(uri).fsPath;

/** The disk as an editor gives it: with the types and the errors of its interface. */
const DISK: Files = {
  stat: (uri) => asEditor(lstat(at(uri)).then((found) => ({ type: typeOf(found), size: found.size }))),
  readDirectory: (uri) =>
    asEditor(
      readdir(at(uri), { withFileTypes: true }).then((all) => all.map((entry) => [entry.name, typeOf(entry)] as const)),
    ),
  readFile: (uri) => asEditor(readFile(at(uri)).then((bytes) => new Uint8Array(bytes))),
  join: (folder, name) => Utils.joinPath(URI.parse(folder), name).toString(),
};

/** A worker's disk, through the client; messages are cloned on the way, as between a worker and its owner. */
function throughClient(files: Files = DISK, logged: string[] = [], patienceMs = 10_000) {
  const client = new WebFiles(files, (what) => logged.push(what), patienceMs);
  const answers: Readonly<Record<string, (params: unknown) => Promise<unknown>>> = {
    'legwise/list': (params) => client.list(params),
    'legwise/read': (params) => client.read(params),
    'legwise/readTile': (params) => client.readTile(params),
  };
  return diskThrough(async (method, params) => structuredClone(await answers[method]?.(structuredClone(params))));
}

const uriOf = (file: string) => URI.file(path.join(root, file)).toString();
const roots = () => [URI.file(root).toString()];

test.each([
  'plans/leg-home.taskplan',
  'bom.taskplan',
  'größe & 100%.taskplan',
  'bytes.taskplan',
  'large.taskplan',
  'folder.taskplan',
  'no-such.taskplan',
  'notes.txt/below-a-file.taskplan',
  '../elsewhere/far.taskplan',
  'away.taskplan',
  'away/far.taskplan',
])('%s is read as beside the files', async (file) => {
  expect(await throughClient().read(uriOf(file), roots())).toEqual(await readPlan(uriOf(file), roots()));
});

test('a link that stays inside is not followed: a browser cannot tell where it leads', async () => {
  const file = uriOf('plans/round/plans/leg-home.taskplan');
  expect(await throughClient().read(file, roots())).toEqual({ why: 'outside' });
});

test.each(['N47E019.hgt', 'N48E019.hgt', 'N49E019.hgt', 'there.hgt', '../../elsewhere/far.taskplan'])(
  'the tile %s is read as beside the files',
  async (file) => {
    const uri = uriOf(`ground/${file}`);
    const [here, there] = [await throughClient().readTile(uri, roots()), await readTile(uri, roots())];
    const plain = (tile: typeof here) =>
      typeof tile === 'string' ? tile : { ...tile, posts: tile.posts.byteLength, at: tile.posts.getInt16(0) };
    expect(plain(here)).toEqual(plain(there));
  },
);

test('the plans found are those that are found beside the files', async () => {
  const found = await throughClient().list(roots());
  expect(found).toEqual([...(await listPlans(roots()))].sort());
  expect(found).toContain(uriOf('plans/kept.old.taskplan'));
  expect(found).not.toContain(uriOf('made/x.taskplan'));
});

test('what cannot be read is denied, and the log says why', async () => {
  const logged: string[] = [];
  const refuses: Files = { ...DISK, readFile: async () => Promise.reject(new FileError('NoPermissions')) };
  const plan = uriOf('plans/leg-home.taskplan');
  expect(await throughClient(refuses, logged).read(plan, roots())).toEqual({ why: 'denied' });
  expect(logged.join()).toContain('leg-home.taskplan cannot be read');
});

test('a file system that never answers keeps nobody waiting', async () => {
  const hangs: Files = { ...DISK, readFile: () => new Promise(() => {}), readDirectory: () => new Promise(() => {}) };
  const disk = throughClient(hangs, [], 50);
  expect(await disk.read(uriOf('plans/leg-home.taskplan'), roots())).toEqual({ why: 'denied' });
  expect(await disk.list(roots())).toEqual([]);
});

test.each([undefined, null, 7, {}, { uri: 7 }, { uri: 'file:///x', roots: 'file:///' }])(
  'a request that makes no sense (%o) reads nothing',
  async (params) => {
    const client = new WebFiles(DISK, () => {});
    expect(await client.read(params)).toHaveProperty('why');
    expect(await client.readTile(params)).toHaveProperty('why');
    expect(await client.list(params)).toEqual([]);
  },
);

test.each([undefined, null, 'text', { bytes: 'text' }, { why: 'because' }])(
  'an answer that makes no sense (%o) is a file that cannot be read',
  async (answer) => {
    const disk = diskThrough(async () => answer);
    expect(await disk.read(uriOf('x.taskplan'), roots())).toEqual({ why: 'denied' });
    expect(await disk.readTile(uriOf('N47E019.hgt'), roots())).toBe('denied');
    expect(await disk.list(roots())).toEqual([]);
  },
);
