// The same workbench with no server behind it, as a browser shows it to somebody who has nothing installed: web
// extensions alone, in a web worker, on a folder that only a file system of its own scheme gives.
import { createReadStream, mkdirSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { mkdir, readdir, readFile, rename, rm, stat, writeFile } from 'node:fs/promises';
import { createServer, type IncomingMessage, type Server, type ServerResponse } from 'node:http';
import { createRequire } from 'node:module';
import type { AddressInfo } from 'node:net';
import path from 'node:path';
import { buffer } from 'node:stream/consumers';

/** The scheme under which the folder is seen. */
export const SCHEME = 'webfs';

const TYPES: Readonly<Record<string, string>> = {
  '.js': 'text/javascript',
  '.mjs': 'text/javascript',
  '.css': 'text/css',
  '.html': 'text/html',
  '.json': 'application/json',
  '.svg': 'image/svg+xml',
  '.ttf': 'font/ttf',
  '.wasm': 'application/wasm',
  '.png': 'image/png',
};

const SETTINGS = {
  'workbench.startupEditor': 'none',
  'workbench.tips.enabled': false,
  'workbench.secondarySideBar.defaultVisibility': 'hidden',
  'chat.disableAIFeatures': true,
  'telemetry.telemetryLevel': 'off',
  'editor.accessibilitySupport': 'off',
  'files.autoSave': 'off', // in a browser it is on
  'extensions.ignoreRecommendations': true,
};

/** An extension that gives a folder of this machine as `webfs:/NAME`, through requests to the server below. */
const FILE_SYSTEM = {
  'package.json': JSON.stringify({
    name: 'webfs',
    publisher: 'local',
    version: '0.0.1',
    engines: { vscode: '^1.91.0' },
    browser: './main.js',
    activationEvents: [`onFileSystem:${SCHEME}`],
    extensionKind: ['web'],
  }),
  'main.js': `
const vscode = require('vscode');
exports.activate = (context) => {
  const base = context.extensionUri.with({ path: '/files' }).toString(true);
  const changed = new vscode.EventEmitter();
  const call = async (what, uri, init) => {
    const answer = await fetch(base + '?what=' + what + '&path=' + encodeURIComponent(uri.path), init);
    if (answer.status === 404) throw vscode.FileSystemError.FileNotFound(uri);
    if (!answer.ok) throw vscode.FileSystemError.Unavailable(uri);
    return answer;
  };
  const tell = (type, uri) => changed.fire([{ type, uri }]);
  context.subscriptions.push(vscode.workspace.registerFileSystemProvider('${SCHEME}', {
    onDidChangeFile: changed.event,
    watch: () => ({ dispose() {} }),
    stat: async (uri) => (await call('stat', uri)).json(),
    readDirectory: async (uri) => (await call('list', uri)).json(),
    readFile: async (uri) => new Uint8Array(await (await call('read', uri)).arrayBuffer()),
    writeFile: async (uri, body) => { await call('write', uri, { method: 'POST', body }); tell(vscode.FileChangeType.Changed, uri); },
    createDirectory: async (uri) => { await call('folder', uri, { method: 'POST' }); tell(vscode.FileChangeType.Created, uri); },
    delete: async (uri) => { await call('delete', uri, { method: 'POST' }); tell(vscode.FileChangeType.Deleted, uri); },
    rename: async (from, to) => {
      await call('rename', from, { method: 'POST', body: to.path });
      tell(vscode.FileChangeType.Deleted, from);
      tell(vscode.FileChangeType.Created, to);
    },
  }, { isCaseSensitive: true }));
};
`,
};

interface ZipEntry {
  readonly fileName: string;
}
interface Zip {
  on(event: 'entry', told: (entry: ZipEntry) => void): void;
  on(event: 'end', told: () => void): void;
  on(event: 'error', told: (error: Error) => void): void;
  readEntry(): void;
  openReadStream(
    entry: ZipEntry,
    then: (error: Error | null, stream: NodeJS.ReadableStream & AsyncIterable<Uint8Array>) => void,
  ): void;
}
interface Yauzl {
  open(file: string, options: { lazyEntries: true }, then: (error: Error | null, zip: Zip) => void): void;
}

/** Unpacks what a packaged extension installs into FOLDER. `vscode` is a folder whose packages can read such a file. */
function unpack(vscode: string, vsix: string, folder: string): Promise<void> {
  const { open } = createRequire(path.join(vscode, 'package.json'))('yauzl') as Yauzl;
  rmSync(folder, { recursive: true, force: true });
  return new Promise((resolve, reject) => {
    open(vsix, { lazyEntries: true }, (failed, zip) => {
      if (failed) return reject(failed);
      zip.on('error', reject);
      zip.on('end', resolve);
      zip.on('entry', (entry) => {
        const inside = /^extension\/(.+[^/])$/.exec(entry.fileName)?.[1];
        if (!inside) return zip.readEntry();
        zip.openReadStream(entry, (unreadable, stream) => {
          if (unreadable) return reject(unreadable);
          const file = path.join(folder, inside);
          mkdirSync(path.dirname(file), { recursive: true });
          buffer(stream).then((content) => {
            writeFileSync(file, content);
            zip.readEntry();
          }, reject);
        });
      });
      zip.readEntry();
    });
  });
}

/** A path below a folder, whatever it holds. */
function below(base: string, relative: string): string {
  return path.join(base, path.normalize(`/${relative}`));
}

export class WebWorkbench {
  readonly url: string;
  /** The URI of the folder. */
  readonly folderUri: string;
  readonly #server: Server;

  private constructor(server: Server, folder: string) {
    this.#server = server;
    this.url = `http://127.0.0.1:${(server.address() as AddressInfo).port}/`;
    this.folderUri = `${SCHEME}:/${path.basename(folder)}`;
  }

  /** Serves FOLDER with the packaged extension. INSTALLED holds what install() put there; UNPACKED is made anew. */
  static async start(installed: string, vsix: string, folder: string, unpacked: string): Promise<WebWorkbench> {
    const codeServer = path.join(installed, 'node_modules/code-server');
    const vscode = path.join(codeServer, 'lib/vscode');
    await unpack(vscode, vsix, unpacked);
    const workbench = withoutServer(
      readFileSync(path.join(vscode, 'out/vs/code/browser/workbench/workbench.js'), 'utf8'),
    );
    const served = { codeServer, vscode, workbench, folder, unpacked };
    const server = createServer((request, response) => {
      answer(request, response, served).catch((error: NodeJS.ErrnoException) => {
        response.writeHead(error.code === 'ENOENT' || error.code === 'ENOTDIR' ? 404 : 500).end(error.message);
      });
    });
    await new Promise<void>((resolve, reject) => server.once('error', reject).listen(0, '127.0.0.1', resolve));
    return new WebWorkbench(server, folder);
  }

  async stop(): Promise<void> {
    this.#server.closeAllConnections();
    await new Promise((resolve) => this.#server.close(resolve));
  }
}

interface Served {
  readonly codeServer: string;
  readonly vscode: string;
  readonly workbench: string;
  readonly folder: string;
  readonly unpacked: string;
}

/**
 * code-server's workbench always connects to a server and keeps the user's data there; VS Code's own, without a server,
 * keeps them in the browser. Two places are put back as VS Code has them.
 */
function withoutServer(workbench: string): string {
  let text = workbench;
  for (const [from, to] of [
    [
      /get userRoamingDataHome\(\)\{return \w+\((\w+)\.file\(this\.userDataPath\)\.with\(\{scheme:(\w+)\.vscodeRemote\}\),"User"\)\}/g,
      'get userRoamingDataHome(){return $1.file("/User").with({scheme:$2.vscodeUserData})}',
    ],
    [/\{\.\.\.JSON\.parse\((\w+)\),remoteAuthority:location\.host\}/g, 'JSON.parse($1)'],
  ] as const) {
    const found = text.match(from)?.length ?? 0;
    if (found !== 1) throw new Error(`expected ${from} once in workbench.js, found it ${found} times`);
    text = text.replace(from, to);
  }
  return text;
}

function page({ vscode, folder }: Served, authority: string, settings: object): string {
  const product = JSON.parse(readFileSync(path.join(vscode, 'product.json'), 'utf8')) as object;
  const at = (where: string) => ({ scheme: 'http', authority, path: where });
  const config = {
    folderUri: { $mid: 1, scheme: SCHEME, path: `/${path.basename(folder)}` },
    additionalBuiltinExtensions: [at('/webfs'), at('/extension')],
    userDataPath: '/unused',
    isEnabledFileDownloads: true,
    isEnabledFileUploads: true,
    isEnabledCoderGettingStarted: false,
    enableWorkspaceTrust: false,
    callbackRoute: '/callback',
    webviewEndpoint: `http://${authority}/static/out/vs/workbench/contrib/webview/browser/pre`,
    productConfiguration: {
      ...product,
      extensionsGallery: undefined,
      rootEndpoint: '.',
      serviceWorker: undefined,
      enableTelemetry: false,
      webEndpointUrlTemplate: undefined,
      webviewContentExternalBaseUrlTemplate: undefined,
    },
    configurationDefaults: { ...SETTINGS, ...settings },
  };
  const escaped = (text: string) => text.replaceAll('&', '&amp;').replaceAll('"', '&quot;').replaceAll('<', '&lt;');
  const values: Readonly<Record<string, string>> = {
    WORKBENCH_WEB_CONFIGURATION: escaped(JSON.stringify(config)),
    WORKBENCH_WEB_BASE_URL: '/static',
    WORKBENCH_NLS_FALLBACK_URL: '/static/out/nls.messages.js',
    WORKBENCH_NLS_URL: '/static/out/nls.messages.js',
  };
  const template = readFileSync(path.join(vscode, 'out/vs/code/browser/workbench/workbench.html'), 'utf8');
  return template.replace(/\{\{(\w+)\}\}/g, (_, key: string) => values[key] ?? '');
}

async function answer(request: IncomingMessage, response: ServerResponse, served: Served): Promise<void> {
  const url = new URL(request.url ?? '/', 'http://host');
  const send = (body: string | Uint8Array, type = 'text/plain', status = 200) =>
    response.writeHead(status, { 'content-type': type, 'cache-control': 'no-store' }).end(body);
  const file = (found: string) => {
    if (!statSync(found, { throwIfNoEntry: false })?.isFile()) return send('not found', 'text/plain', 404);
    response.writeHead(200, { 'content-type': TYPES[path.extname(found)] ?? 'application/octet-stream' });
    return createReadStream(found).pipe(response);
  };
  const [, first = '', ...rest] = decodeURIComponent(url.pathname).split('/');
  const inner = rest.join('/');
  if (url.pathname === '/' && url.searchParams.get('payload')?.includes('vscode-remote:')) {
    // The page is opened as if there were a server: the files of the folder have another scheme here.
    const payload = url.searchParams
      .get('payload')
      ?.replace(/vscode-remote:\/\/[^/]+/, `${SCHEME}:/${path.basename(served.folder)}`);
    url.searchParams.set('payload', payload ?? '');
    response.writeHead(302, { location: `/?${url.searchParams}` }).end();
  } else if (url.pathname === '/') {
    const settings = JSON.parse(url.searchParams.get('settings') ?? '{}') as object;
    send(page(served, request.headers.host ?? '', settings), 'text/html');
  } else if (url.pathname === '/static/out/vs/code/browser/workbench/workbench.js')
    send(served.workbench, TYPES['.js']);
  else if (url.pathname === '/manifest.json') send('{"name":"VS Code"}', TYPES['.json']);
  else if (first === '_static') file(below(served.codeServer, inner));
  else if (first === 'static') file(below(served.vscode, inner));
  else if (first === 'extension') file(below(served.unpacked, inner));
  else if (first === 'webfs' && inner in FILE_SYSTEM)
    send(FILE_SYSTEM[inner as keyof typeof FILE_SYSTEM], TYPES[path.extname(inner)]);
  else if (first === 'files') await files(request, url.searchParams, served.folder, send);
  else send('not found', 'text/plain', 404);
}

/** What the file system of the page asks for. */
async function files(
  request: IncomingMessage,
  asked: URLSearchParams,
  folder: string,
  send: (body: string | Uint8Array, type?: string, status?: number) => void,
): Promise<void> {
  const place = (of: string): string | undefined => {
    const [, top, ...inside] = of.split('/');
    return top === path.basename(folder) ? below(folder, inside.join('/')) : undefined;
  };
  const where = place(asked.get('path') ?? '');
  if (!where) return send('not found', 'text/plain', 404);
  const typeOf = (found: { isDirectory(): boolean; isFile(): boolean }) =>
    found.isDirectory() ? 2 : found.isFile() ? 1 : 0;
  switch (asked.get('what')) {
    case 'stat': {
      const found = await stat(where);
      const { ctimeMs: ctime, mtimeMs: mtime, size } = found;
      return send(JSON.stringify({ type: typeOf(found), ctime, mtime, size }), TYPES['.json']);
    }
    case 'list': {
      const found = await readdir(where, { withFileTypes: true });
      return send(JSON.stringify(found.map((entry) => [entry.name, typeOf(entry)])), TYPES['.json']);
    }
    case 'read':
      return send(await readFile(where), 'application/octet-stream');
    case 'write':
      await writeFile(where, await buffer(request));
      return send('');
    case 'folder':
      await mkdir(where, { recursive: true });
      return send('');
    case 'delete':
      await rm(where, { recursive: true });
      return send('');
    case 'rename': {
      const to = place((await buffer(request)).toString());
      if (!to) return send('not found', 'text/plain', 404);
      await rename(where, to);
      return send('');
    }
    default:
      return send('not found', 'text/plain', 404);
  }
}

/** The names of what a packaged extension installed. */
export function installedFiles(unpacked: string): string[] {
  return readdirSync(unpacked, { recursive: true, encoding: 'utf8' })
    .filter((file) => statSync(path.join(unpacked, file)).isFile())
    .sort();
}
