/** Texts that once broke something, or that reach what few do: the fuzzer starts from them, and the tests hold them. */
import { readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';

const FOLDER = path.join(import.meta.dirname, 'corpus');

/** As JSON, so that half characters and every kind of line end stay what they are; `before` is what an edit came from. */
export interface CorpusText {
  readonly name: string;
  readonly text: string;
  readonly before?: string;
  readonly why: string;
}

export function corpusTexts(): CorpusText[] {
  return readdirSync(FOLDER)
    .filter((name) => name.endsWith('.json'))
    .sort()
    .map((name) => ({ name, ...JSON.parse(readFileSync(path.join(FOLDER, name), 'utf8')) }));
}
