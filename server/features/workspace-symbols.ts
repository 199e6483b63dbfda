/** Entries of all files by a part of their name, the best match first. */
import type { WorkspaceSymbol } from 'vscode-languageserver-types';
import type { EntryKeyword } from '../../grammar/vocabulary.ts';
import { harmless } from '../plan/text.ts';
import { type Defined, fileName, type SourceFile, tableOf, type Workspace } from '../plan/workspace.ts';
import { nameRange } from './defined-ranges.ts';
import { SYMBOL_KINDS } from './document-symbols.ts';

/** How many are offered: more than anyone reads, and few enough to send while one types. */
export const MOST_SYMBOLS = 200;

/** What a character of the query is worth where it is found. */
const VALUE = { anywhere: 1, sameCase: 1, contiguous: 5, wordStart: 7, nameStart: 10 } as const;

/** Most names hold nothing that needs a closer look. */
const PLAIN = /^[ -~]*$/;

const WORD_CHARACTER = /[\p{L}\p{N}]/u;

const isWordCharacter = (c: string): boolean =>
  (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || (c > '~' && WORD_CHARACTER.test(c));

/** A name made ready to be looked through. */
interface Candidate {
  readonly defined: Defined;
  /** Without accents. */
  readonly letters: string;
  readonly lower: string;
  /** What each place of the name is worth by itself. */
  readonly worth: readonly number[];
}

const withoutAccents = (text: string): string =>
  PLAIN.test(text) ? text : text.normalize('NFD').replace(/\p{M}/gu, '');

/** In lower case and just as long. */
function lowerOf(text: string): string {
  const lower = text.toLowerCase();
  if (lower.length === text.length) return lower;
  return text.replace(/./gsu, (c) => (c.toLowerCase().length === c.length ? c.toLowerCase() : c));
}

function candidateOf(defined: Defined): Candidate {
  const letters = withoutAccents(defined.meaning.name);
  const lower = lowerOf(letters);
  const worth = Array.from({ length: letters.length }, (_, i) => {
    if (i === 0) return VALUE.nameStart;
    const before = letters[i - 1] as string;
    const startsWord = isWordCharacter(letters[i] as string) && !isWordCharacter(before);
    const startsHump = letters[i] !== lower[i] && before === lower[i - 1];
    return startsWord || startsHump ? VALUE.wordStart : VALUE.anywhere;
  });
  return { defined, letters, lower, worth };
}

const kept = new WeakMap<SourceFile, readonly Candidate[]>();

function candidatesOf(file: SourceFile): readonly Candidate[] {
  const known = kept.get(file);
  if (known) return known;
  const all = [...tableOf(file).values()].flatMap((names) => [...names.values()].flat());
  const candidates = all.sort((a, b) => a.placed.offset - b.placed.offset).map(candidateOf);
  kept.set(file, candidates);
  return candidates;
}

/**
 * How well a name holds the characters of a query, in order: by the places that suit best. Undefined when it does not.
 * Spaces in the query mean nothing, so that it can be typed as the name is read.
 */
function scoreOf(candidate: Candidate, query: string, lowerQuery: string): number | undefined {
  const { letters, lower, worth } = candidate;
  let at = 0;
  for (let i = 0; i < lowerQuery.length; i++) {
    at = lower.indexOf(lowerQuery[i] as string, at) + 1;
    if (at === 0) return undefined;
  }
  const none = Number.NEGATIVE_INFINITY;
  // `ends[j]`: the best score of the query so far with its last character at j. One list is written over for each character.
  const ends = new Array<number>(lower.length).fill(none);
  for (let i = 0; i < query.length; i++) {
    let best = i === 0 ? 0 : none;
    let before = none;
    for (let j = 0; j < lower.length; j++) {
      const was = ends[j] as number;
      const own = (worth[j] as number) + (letters[j] === query[i] ? VALUE.sameCase : 0);
      ends[j] = lower[j] === lowerQuery[i] ? Math.max(best, before + VALUE.contiguous) + own : none;
      if (i > 0) best = Math.max(best, was);
      before = was;
    }
  }
  const best = ends.reduce((most, one) => Math.max(most, one), none);
  // Of two names that hold the query alike, the one with less besides it is meant.
  return best - letters.length / 100;
}

function symbolOf({ defined }: Candidate): WorkspaceSymbol {
  const { file, placed, meaning } = defined;
  return {
    name: harmless(meaning.name),
    kind: SYMBOL_KINDS[placed.syntax.form?.keyword as EntryKeyword],
    containerName: harmless(fileName(file.uri)),
    location: { uri: file.uri, range: nameRange(defined) },
  };
}

/** The named entries that hold the characters of a query in order, the best first; for an empty query the first there are. */
export function workspaceSymbols(workspace: Workspace, query: string): WorkspaceSymbol[] {
  const letters = withoutAccents(query).replace(/\s+/gu, '');
  const lower = lowerOf(letters);
  const files = [...workspace.files.values()].sort((a, b) => (a.uri < b.uri ? -1 : 1));
  const found: { candidate: Candidate; score: number }[] = [];
  for (const file of files) {
    for (const candidate of candidatesOf(file)) {
      const score = letters === '' ? 0 : scoreOf(candidate, letters, lower);
      if (score !== undefined) found.push({ candidate, score });
    }
    if (letters === '' && found.length >= MOST_SYMBOLS) break;
  }
  // The sort keeps the order of files and lines among equals.
  if (letters !== '') found.sort((a, b) => b.score - a.score);
  return found.slice(0, MOST_SYMBOLS).map(({ candidate }) => symbolOf(candidate));
}
