/**
 * The files of a session in a web worker. A worker has no file system and may know nothing of the editor's: the client
 * reads for it, through requests of our own.
 *
 *   legwise/list      { roots }                   → every plan in the folders, as URIs
 *   legwise/read      { uri, roots, largest }     → { bytes } or { why }; `largest` in bytes
 *   legwise/readTile  { uri, roots, sizes }       → { bytes } or { why }; a file of any other size is no tile
 *
 * `bytes` is a Uint8Array: between a worker and its owner messages are structured clones.
 */
import { decode, LARGEST_FILE } from '../bytes.ts';
import type { Disk } from '../files-of-session.ts';
import { cornerOf, decodeTile, TILE_BYTES } from '../flight/index.ts';
import type { Unreadable } from '../plan/workspace.ts';

/** Sends a request to the client. */
export type Ask = (method: string, params: object) => Promise<unknown>;

const WHYS: ReadonlySet<unknown> = new Set<Unreadable>([
  'missing',
  'folder',
  'special',
  'denied',
  'too-large',
  'not-text',
  'outside',
]);

/** What the client gave: bytes, or why there are none. Anything else is a file that cannot be read. */
function given(answer: unknown): { readonly bytes: Uint8Array } | { readonly why: Unreadable } {
  const { bytes, why } = (answer ?? {}) as { bytes?: unknown; why?: unknown };
  if (bytes instanceof Uint8Array) return { bytes };
  return { why: WHYS.has(why) ? (why as Unreadable) : 'denied' };
}

/** A disk that the client reads from. */
export function diskThrough(ask: Ask): Required<Omit<Disk, 'links'>> {
  return {
    async list(roots) {
      const found = await ask('legwise/list', { roots });
      return Array.isArray(found) ? found.filter((uri) => typeof uri === 'string') : [];
    },
    async read(uri, roots) {
      const answer = given(await ask('legwise/read', { uri, roots, largest: LARGEST_FILE }));
      if ('why' in answer) return answer;
      if (answer.bytes.length > LARGEST_FILE) return { why: 'too-large' };
      const text = decode(answer.bytes);
      return text === undefined ? { why: 'not-text' } : { text };
    },
    async readTile(uri, roots) {
      const corner = cornerOf(decodeURIComponent(uri.slice(uri.lastIndexOf('/') + 1)));
      const answer = given(await ask('legwise/readTile', { uri, roots, sizes: TILE_BYTES }));
      if ('why' in answer) return answer.why;
      return (corner && decodeTile(answer.bytes, corner)) ?? 'not-text';
    },
  };
}
