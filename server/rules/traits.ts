/** What there is in an entry that a rule may ask for: most entries are in order, and most rules find nothing there. */
import type { EntrySyntax, LineSyntax } from '../../grammar/syntax.ts';
import { ENTRIES } from '../../grammar/vocabulary.ts';
import { mayHide } from '../plan/hidden.ts';
import { type Meaning, meaningOf } from '../plan/meaning.ts';
import { RULES } from './index.ts';
import type { Rule, Trait } from './rule.ts';

const hasProblem = ({ problems }: LineSyntax): boolean => problems.length > 0;

function namesKeyword({ slots }: LineSyntax): boolean {
  for (const name in slots) {
    const node = slots[name];
    if (node?.kind === 'name' && node.keyword) return true;
  }
  return false;
}

/** Whether a line of an entry, its head included, is so. */
function someLine({ head, details }: EntrySyntax, is: (line: LineSyntax) => boolean): boolean {
  return (head !== undefined && is(head)) || details.some(is);
}

const requiredIn = new Map(ENTRIES.map((form) => [form, form.details.filter(({ required }) => required)]));

function lacks({ form, details }: EntrySyntax): boolean {
  const required = form && requiredIn.get(form);
  return required?.some((asked) => !details.some((line) => line.form === asked)) === true;
}

function repeats({ details }: EntrySyntax): boolean {
  return details.some(
    (line, i) => line.form?.once === true && details.findIndex((other) => other.form === line.form) < i,
  );
}

type Kind = Exclude<Meaning['kind'], 'none'>;

const ASKED: readonly (readonly [Exclude<Trait, Kind>, (entry: EntrySyntax, meaning: Meaning) => boolean])[] = [
  ['faults', (_, { faults }) => faults.length > 0],
  ['problems', (entry) => !entry.isSound && someLine(entry, hasProblem)],
  ['lacks', lacks],
  ['repeats', repeats],
  ['hides', ({ text }) => mayHide(text)],
  ['keyword-named', (entry) => someLine(entry, namesKeyword)],
];

const OF_ENTRIES = RULES.filter(({ line, entry }) => line || entry);

function rulesWith(kind: Meaning['kind'], has: readonly Trait[]): readonly Rule[] {
  return OF_ENTRIES.filter(
    ({ needs }) => !needs || [needs].flat().some((trait) => trait === kind || has.includes(trait)),
  );
}

/** By kind, and then by what there is, a bit for each of `ASKED`. */
const kept = new Map<Meaning['kind'], (readonly Rule[] | undefined)[]>();

/** The rules that may find something in an entry or in its lines. */
export function rulesOf(entry: EntrySyntax): readonly Rule[] {
  const meaning = meaningOf(entry);
  let bits = 0;
  for (let i = 0; i < ASKED.length; i++) if (ASKED[i]?.[1](entry, meaning)) bits |= 1 << i;
  let ofKind = kept.get(meaning.kind);
  if (!ofKind) {
    ofKind = [];
    kept.set(meaning.kind, ofKind);
  }
  let rules = ofKind[bits];
  if (!rules) {
    rules = rulesWith(
      meaning.kind,
      ASKED.flatMap(([trait], i) => (bits & (1 << i) ? [trait] : [])),
    );
    ofKind[bits] = rules;
  }
  return rules;
}
