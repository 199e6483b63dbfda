/**
 * Parts of the server that a worker loads once they are needed. A worker may not know where it was loaded from, so the
 * client hands it the text:
 *
 *   legwise/script  { name }  → the text of dist/server-web-NAME.js
 *
 * The build makes such a part from a module, less what the server holds already; the part puts
 * its exports where this looks for them.
 */
import type { Ask } from './files.ts';

/** The parts there are, each with the type of its module. */
export interface Chunks {
  readonly features: typeof import('../handlers.ts');
}

/** Where a part leaves its exports, by its name. */
const LOADED = 'legwiseChunks';

declare function importScripts(...addresses: string[]): void;

function partNamed<Name extends keyof Chunks>(name: Name): Chunks[Name] | undefined {
  return ((globalThis as Record<string, unknown>)[LOADED] as Partial<Chunks> | undefined)?.[name];
}

/** Loads parts through a client; asked again for one that is there, it only gives it. */
export function chunksThrough(ask: Ask): <Name extends keyof Chunks>(name: Name) => Promise<Chunks[Name]> {
  return async (name) => {
    const known = partNamed(name);
    if (known) return known;
    const text = await ask('legwise/script', { name });
    if (typeof text !== 'string') throw new Error(`the client gave no script ${name}`);
    const address = URL.createObjectURL(new Blob([text], { type: 'text/javascript' }));
    try {
      importScripts(address);
    } finally {
      URL.revokeObjectURL(address);
    }
    const found = partNamed(name);
    if (!found) throw new Error(`the script ${name} is another`);
    return found;
  };
}
