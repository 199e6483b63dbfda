/** All slips with one reading, mended as one, at the cost of a few looks at the plan however many slips it has. */
import { indexOfEntry, rowAt } from '../../../grammar/file.ts';
import { type EntrySyntax, linesOf } from '../../../grammar/syntax.ts';
import { LastFew } from '../../plan/last-few.ts';
import { meaningOf } from '../../plan/meaning.ts';
import type { Understood } from '../../plan/understand.ts';
import type { Finding } from '../../rules/rule.ts';
import { Disjoint, type Edit } from './edit.ts';
import { checkedAfter, type Fix, type FixContext, holds, losesNumber, newErrors } from './fix.ts';
import { fixesOf, waysOf, writesText } from './index.ts';

/**
 * The findings that are mended all at once: those whose only reading is plain. These are a detail that lost its
 * indentation, a name that wants quotes, a misspelt keyword with one that is near, a unit written by another word for
 * it, a missing unit where one alone makes sense, a path with backslashes, and a second line or entry that says the
 * same as the first; on a line that has nothing wrong besides. Never a datum, a height, a speed, a name or a date: those
 * are the pilot's.
 */
const SAFE: ReadonlySet<string> = new Set([
  'not-indented',
  'name-is-keyword',
  'syntax',
  'entry-unknown',
  'detail-unknown',
  'unit-unknown',
  'unit-missing',
  'file-missing',
  'detail-repeated',
  'defined-twice',
]);

/** A finding, and the way out of it that is taken. */
interface Mending {
  readonly finding: Finding;
  readonly fix: Fix;
}

/** Legs of which nobody thinks when a plan is long: a kilometre more costs as much as so many characters. */
const LONG_LEG_M = 300_000;
const CHARACTERS_A_KM = 80;

/** How often the plan may be looked at for one request: a look costs by the plan's length, and by that of long legs. */
export function mostLooks({ understood: { file, tasks } }: FixContext): number {
  const beyondM = tasks
    .flatMap(({ legs }) => legs)
    .reduce((sum, { result }) => sum + Math.max(0, (result?.distanceM ?? 0) - LONG_LEG_M), 0);
  const characters = file.syntax.text.length + (beyondM / 1000) * CHARACTERS_A_KM;
  return Math.max(4, Math.floor(1_000_000 / (characters + 1)));
}

/** How often something is there, by one of two keys and the other. */
class Tally<K> {
  private readonly of = new Map<K, Map<string, number>>();

  add(key: K, code: string): void {
    const own = this.of.get(key) ?? new Map<string, number>();
    this.of.set(key, own);
    own.set(code, (own.get(code) ?? 0) + 1);
  }

  count(key: K, code: string): number {
    return this.of.get(key)?.get(code) ?? 0;
  }

  codes(key: K): Iterable<string> {
    return this.of.get(key)?.keys() ?? [];
  }
}

/** Tells whether the line of an entry that an offset of the file lies in reads, and has values that can be read. */
function soundLines({ file: { syntax } }: Understood): (entry: number, offset: number) => boolean {
  const kept = new Map<number, ReadonlySet<number>>();
  const unsound = (index: number): ReadonlySet<number> => {
    let rows = kept.get(index);
    if (!rows) {
      const tree = syntax.trees[index] as EntrySyntax;
      const faults = new Set(meaningOf(tree).faults.map(({ line }) => line));
      const wrong = linesOf(tree).filter((line) => line.problems.length > 0 || faults.has(line));
      rows = new Set(wrong.map(({ span }) => rowAt(tree.lineStarts, span.start)));
      kept.set(index, rows);
    }
    return rows;
  };
  return (entry, offset) =>
    !unsound(entry).has(rowAt((syntax.trees[entry] as EntrySyntax).lineStarts, offset - syntax.placed.offsetOf(entry)));
}

/**
 * The menders of one file that are at fault when all are made at once: those in an entry of which more findings came
 * than went. Empty when none are; undefined when something is wrong that stands elsewhere.
 */
function atFault(
  mendings: readonly Mending[],
  before: readonly Finding[],
  context: FixContext,
): ReadonlySet<Mending> | undefined {
  // What is tried here is tried once.
  const after = checkedAfter(
    { ...context, trials: new LastFew(1) },
    mendings.flatMap(({ fix }) => fix.edits),
  );
  if (!after) return undefined;
  const wrong = new Set(newErrors(before, after.findings, 'flight'));
  const all = '';
  const [was, now, own] = [new Tally<unknown>(), new Tally<unknown>(), new Tally<unknown>()];
  for (const { code } of before) was.add(all, code);
  for (const { code } of after.findings) now.add(all, code);
  for (const { finding } of mendings) own.add(all, finding.code);
  for (const code of own.codes(all))
    if (now.count(all, code) > was.count(all, code) - own.count(all, code)) wrong.add(code);

  // Where each stands afterwards: edits and entries are gone through side by side.
  const { uri } = context.understood.file;
  const { syntax } = after.understood.file;
  const starts = mendings.map((mending) => ({ mending, edit: mending.fix.edits[0] as Edit }));
  const edits = mendings.flatMap(({ fix }) => fix.edits).toSorted((a, b) => a.start - b.start);
  const entryOf = new Map<Mending, number>();
  let shift = 0;
  let done = 0;
  let entry = 0;
  const faulty = new Set<Mending>();
  const isSound = soundLines(after.understood);
  for (const { mending, edit } of starts.toSorted((a, b) => a.edit.start - b.edit.start)) {
    for (; done < edits.length && (edits[done] as Edit).end <= edit.start && edits[done] !== edit; done++) {
      const { start, end, text } = edits[done] as Edit;
      shift += text.length - (end - start);
    }
    while (entry + 1 < syntax.trees.length && syntax.placed.offsetOf(entry + 1) <= edit.start + shift) entry++;
    entryOf.set(mending, entry);
    // What is done without a look leaves nothing to mend on its line.
    if (writesText(mending.finding.code) && !isSound(entry, edit.start + shift)) faulty.add(mending);
  }
  if (wrong.size === 0) return faulty;

  const seen = new Map<Finding['at']['entry'], number>();
  for (const [{ finding }, index] of entryOf) {
    own.add(index, finding.code);
    seen.set(finding.at.entry, index);
  }
  for (const { at, code } of before) {
    const index = at.uri === uri ? seen.get(at.entry) : undefined;
    if (index !== undefined) was.add(index, code);
  }
  for (const { at, code } of after.findings) if (at.uri === uri) now.add(indexOfEntry(syntax, at.entry), code);
  for (const [mending, index] of entryOf) {
    for (const code of wrong)
      if (now.count(index, code) > was.count(index, code) - own.count(index, code)) faulty.add(mending);
  }
  return faulty.size > 0 ? faulty : undefined;
}

/** The safe fixes of all findings; of two that touch one place the first. */
export function safeFixes(findings: readonly Finding[], context: FixContext): Fix[] {
  const { uri } = context.understood.file;
  const safe = findings.filter(({ code }) => SAFE.has(code));
  const places = new Disjoint();
  const together: Mending[] = [];
  for (const finding of safe) {
    const fix = waysOf(finding, context).find(({ preferred }) => preferred);
    if (!fix?.safe || fix.created || fix.edits.some((edit) => edit.uri !== uri)) continue;
    if (writesText(finding.code) && losesNumber(fix, context)) continue;
    if (places.take(fix.edits)) together.push({ finding, fix });
  }

  let looks = mostLooks(context);
  const chosen = new Map<Finding, Fix>();
  /** Tries fixes at once, without those that are at fault; where none can be named, each half by itself. */
  const settle = (mendings: readonly Mending[]): void => {
    let left = mendings;
    while (left.length > 0 && looks > 0) {
      looks--;
      const faulty = atFault(left, findings, context);
      if (!faulty) {
        if (left.length === 1) return;
        const half = left.length >> 1;
        settle(left.slice(0, half));
        settle(left.slice(half));
        return;
      }
      if (faulty.size === 0) {
        for (const { finding, fix } of left) chosen.set(finding, fix);
        return;
      }
      left = left.filter((mending) => !faulty.has(mending));
    }
  };
  settle(together);

  // What was in the way of others, or had a better way, is tried by itself, as long as that does not take too long.
  const taken = new Disjoint();
  for (const fix of chosen.values()) taken.take(fix.edits);
  for (const finding of safe) {
    if (looks <= 0) break;
    if (chosen.has(finding)) continue;
    looks--;
    const fix = fixesOf(finding, findings, context).find(({ safe: isSafe, preferred }) => isSafe && preferred);
    // Nothing but the flight may come to light by what is done without a look.
    if (!fix || !holds(fix, finding, findings, context, 'flight')) continue;
    if (taken.take(fix.edits)) chosen.set(finding, fix);
  }
  return safe.flatMap((finding) => chosen.get(finding) ?? []);
}
