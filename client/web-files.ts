/**
 * Reads files for a server that cannot: one in a web worker. What it says of a file is what the server beside the files
 * would say; where this cannot be known (a link in a folder of the browser leads somewhere), the file counts as outside.
 */
import ignore, { type Ignore } from 'ignore';
import { isInside } from '../server/plan/inside.ts';
import type { Unreadable } from '../server/plan/workspace.ts';

/** The files of the window, by URI; the numbers of types are those of the editor: 1 a file, 2 a folder, 64 a link. */
export interface Files {
  stat(uri: string): Promise<{ readonly type: number; readonly size: number }>;
  readDirectory(uri: string): Promise<readonly (readonly [name: string, type: number])[]>;
  readFile(uri: string): Promise<Uint8Array>;
  /** The URI of what stands under a name in a folder. */
  join(folder: string, name: string): string;
}

export type Answer = { readonly bytes: Uint8Array } | { readonly why: Unreadable };

const FILE = 1;
const FOLDER = 2;
const LINK = 64;

/** More folders than this are not looked through: the repository may be anybody's, and each costs a request. */
const MOST_FOLDERS = 20_000;
/** Folders that are listed at once. */
const AT_ONCE = 16;

/** For how long a folder that is no link counts as none, in milliseconds: each file of a folder asks again. */
const FOLDER_KEPT_MS = 5000;

/** A folder of the browser that does not answer must not keep a plan waiting for ever. In milliseconds. */
const PATIENCE_MS = 30_000;

function whyNot(error: unknown): Unreadable {
  const code = (error as { code?: unknown } | undefined)?.code;
  if (code === 'FileNotFound' || code === 'FileNotADirectory') return 'missing';
  if (code === 'FileIsADirectory') return 'folder';
  return 'denied';
}

function strings(value: unknown): string[] {
  return Array.isArray(value) ? value.filter((one) => typeof one === 'string') : [];
}

export class WebFiles {
  readonly #files: Files;
  readonly #log: (what: string) => void;
  readonly #patienceMs: number;
  readonly #links = new Map<string, Promise<boolean>>();

  /** `log` is told of what is left out; an answer is waited for as long as `patienceMs`, in milliseconds. */
  constructor(files: Files, log: (what: string) => void, patienceMs = PATIENCE_MS) {
    this.#files = files;
    this.#log = log;
    this.#patienceMs = patienceMs;
  }

  /** A plan, no larger than asked. */
  read(params: unknown): Promise<Answer> {
    const { largest } = (params ?? {}) as { largest?: unknown };
    return this.#read(params, (size) => (typeof largest === 'number' && size <= largest ? undefined : 'too-large'));
  }

  /** An elevation tile, of one of the sizes asked. */
  readTile(params: unknown): Promise<Answer> {
    const { sizes } = (params ?? {}) as { sizes?: unknown };
    return this.#read(params, (size) => (Array.isArray(sizes) && sizes.includes(size) ? undefined : 'not-text'));
  }

  async #read(params: unknown, refuse: (size: number) => Unreadable | undefined): Promise<Answer> {
    const { uri, roots } = (params ?? {}) as { uri?: unknown; roots?: unknown };
    if (typeof uri !== 'string') return { why: 'denied' };
    const root = strings(roots).find((one) => isInside(uri, [one]));
    if (root === undefined) return { why: 'outside' };
    try {
      return await this.#soon(async () => {
        const found = await this.#files.stat(uri);
        if (found.type & FOLDER) return { why: 'folder' };
        if (found.type & LINK || (await this.#behindLink(uri, root))) return { why: 'outside' };
        if (!(found.type & FILE)) return { why: 'special' };
        const why = refuse(found.size);
        return why ? { why } : { bytes: await this.#files.readFile(uri) };
      });
    } catch (error) {
      const why = whyNot(error);
      if (why === 'denied') this.#log(`${uri} cannot be read: ${String(error)}`);
      return { why };
    }
  }

  #soon<T>(work: () => Promise<T>): Promise<T> {
    let timer: ReturnType<typeof setTimeout> | undefined;
    const late = new Promise<never>((_, reject) => {
      timer = setTimeout(() => reject(new Error(`no answer within ${this.#patienceMs / 1000} s`)), this.#patienceMs);
    });
    return Promise.race([work(), late]).finally(() => clearTimeout(timer));
  }

  /** Whether a folder between the root and the file is a link. */
  async #behindLink(uri: string, root: string): Promise<boolean> {
    const below = uri.slice(root.length).split('/').filter(Boolean).slice(0, -1);
    let folder = root.replace(/\/$/, '');
    for (const step of below) {
      folder = `${folder}/${step}`;
      if (await this.#isLink(folder)) return true;
    }
    return false;
  }

  #isLink(folder: string): Promise<boolean> {
    const known = this.#links.get(folder);
    if (known) return known;
    const asked = this.#files.stat(folder).then(({ type }) => (type & LINK) !== 0);
    this.#links.set(folder, asked);
    const forget = () => this.#links.delete(folder);
    asked.then(() => setTimeout(forget, FOLDER_KEPT_MS), forget);
    return asked;
  }

  /** The URIs of every plan in the folders; sorted. What `.gitignore` names is left out, as is what starts with a dot. */
  async list(params: unknown): Promise<string[]> {
    const { roots } = (params ?? {}) as { roots?: unknown };
    const found: string[] = [];
    let waiting = strings(roots).map((root) => ({ uri: root, rules: [] as { rules: Ignore; below: string[] }[] }));
    let folders = 0;
    while (waiting.length > 0) {
      const now = waiting.splice(0, AT_ONCE);
      folders += now.length;
      if (folders > MOST_FOLDERS) {
        this.#log(
          `more than ${MOST_FOLDERS} folders: plans in the rest are read once a plan uses them or they are opened`,
        );
        break;
      }
      const more = await Promise.all(
        now.map(async ({ uri, rules }) => {
          const deeper: typeof waiting = [];
          const entries = await this.#soon(() => this.#files.readDirectory(uri)).catch((error: unknown) => {
            this.#log(`${uri} cannot be listed: ${String(error)}`);
            return [];
          });
          const own = entries.some(([name, type]) => name === '.gitignore' && type & FILE)
            ? await this.#rulesIn(uri)
            : undefined;
          const here = own ? [...rules, { rules: own, below: [] }] : rules;
          for (const [name, type] of entries) {
            if (name.startsWith('.') || type & LINK) continue;
            const isFolder = (type & FOLDER) !== 0;
            if (isFolder ? name === 'node_modules' : !name.endsWith('.taskplan')) continue;
            if (isIgnored(here, isFolder ? `${name}/` : name)) continue;
            const inner = this.#files.join(uri, name);
            if (!isFolder) found.push(inner);
            else deeper.push({ uri: inner, rules: here.map((one) => ({ ...one, below: [...one.below, name] })) });
          }
          return deeper;
        }),
      );
      waiting = [...waiting, ...more.flat()];
    }
    return found.sort();
  }

  async #rulesIn(folder: string): Promise<Ignore | undefined> {
    try {
      const uri = this.#files.join(folder, '.gitignore');
      // Which names are the same, a folder of the browser does not tell: a plan is rather shown than left out.
      return ignore({ ignorecase: false }).add(
        new TextDecoder().decode(await this.#soon(() => this.#files.readFile(uri))),
      );
    } catch {
      return undefined;
    }
  }
}

/** Whether the rules of the folders above, outermost first, leave a name out; a later folder's rule counts more. */
function isIgnored(rules: readonly { rules: Ignore; below: readonly string[] }[], name: string): boolean {
  let ignored = false;
  for (const one of rules) {
    const result = one.rules.test([...one.below, name].join('/'));
    // What they leave out with its folder, which others take in again, they do not name itself.
    const withFolder = () => one.below.length > 0 && one.rules.ignores(`${one.below.join('/')}/`);
    if (result.ignored && !withFolder()) ignored = true;
    else if (result.unignored) ignored = false;
  }
  return ignored;
}
