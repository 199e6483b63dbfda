/**
 * What chevrotain finds out about the grammar before it parses: which token leads where, and where to go on behind a
 * part that cannot be read. It takes longer than reading a plan, and comes to the same each time, so the build makes it
 * once and keeps it in the bundle (`analysed.ts`), without the parts of the library that made it.
 */
import { EOF, type TokenType } from 'chevrotain';

/** Token types are given by their place in the parser's vocabulary, where EOF is the last; rules by their place too. */
export interface Analysis {
  /** By rule, and then by the key of a choice in it: the tokens that enter an optional part, or those of each branch. */
  readonly choices: readonly Readonly<Record<number, readonly number[] | readonly (readonly number[])[]>>[];
  /** A rule, its place in the rule that calls it, that rule, and the tokens that follow it there. */
  readonly follows: readonly (readonly number[])[];
}

/** Tells by the next token which way to take: whether into an optional part, or into which branch. */
type Choice = (this: { LA_FAST(howMuch: number): { tokenTypeIdx: number } }) => boolean | number | undefined;

/** What of chevrotain's parser an analysis ends in. A test and the build compare what they get from it. */
interface Analysed {
  selfAnalysisDone: boolean;
  readonly tokensMap: Readonly<Record<string, TokenType>>;
  readonly shortRuleNameToFull: readonly string[];
  /** By rule, then by key. */
  lookAheadFuncsCache: Choice[][];
  /** By the names that `followName` makes. */
  resyncFollows: Record<string, readonly TokenType[]>;
}

const followName = (rule: string, index: number, caller: string): string => `${rule}${index}_~IN~_${caller}`;

function vocabularyOf({ tokensMap }: Analysed): TokenType[] {
  return [...Object.values(tokensMap).filter((type) => type !== EOF), EOF];
}

/** What the analysis of a parser found. */
export function analysisOf(parser: object): Analysis {
  const analysed = parser as Analysed;
  const types = vocabularyOf(analysed);
  const names = analysed.shortRuleNameToFull;
  const places = new Map(types.map((type, i) => [type, i]));
  const taken = (choice: Choice) => {
    const found = types.map((type) =>
      choice.call({ LA_FAST: () => ({ tokenTypeIdx: type.tokenTypeIdx as number }) } as never),
    );
    const numbers = found.filter((way) => typeof way === 'number');
    const leadingTo = (wanted: boolean | number) => found.flatMap((way, i) => (way === wanted ? [i] : []));
    return numbers.length === 0
      ? leadingTo(true)
      : Array.from({ length: Math.max(...numbers) + 1 }, (_, branch) => leadingTo(branch));
  };
  const choices = names.map((_, rule) =>
    Object.fromEntries(
      Object.entries(analysed.lookAheadFuncsCache[rule] ?? []).map(([key, choice]) => [key, taken(choice)]),
    ),
  );
  const follows: number[][] = [];
  for (const [name, after] of Object.entries(analysed.resyncFollows)) {
    const [called = '', caller = ''] = name.split('_~IN~_');
    const digits = /\d+$/.exec(called)?.[0] ?? '';
    const rule = names.indexOf(called.slice(0, called.length - digits.length));
    follows.push([rule, Number(digits), names.indexOf(caller), ...after.map((type) => places.get(type) as number)]);
  }
  return { choices, follows };
}

/** Has an object's properties where they are found fastest: the parser gets one for each rule, and would be slow. */
function quicken(object: object): void {
  function Quick() {}
  Quick.prototype = object;
  new (Quick as unknown as new () => object)();
}

/** Has a parser go by an analysis that was made before, in place of making one. */
export function analyse(parser: object, { choices, follows }: Analysis): void {
  const analysed = parser as Analysed;
  const types = vocabularyOf(analysed);
  const names = analysed.shortRuleNameToFull;
  quicken(parser);
  analysed.selfAnalysisDone = true;
  analysed.lookAheadFuncsCache = choices.map((ofRule) => {
    const made: Choice[] = [];
    for (const [key, ways] of Object.entries(ofRule)) {
      const leads: (boolean | number)[] = [];
      const mark = (places: readonly number[], way: boolean | number) => {
        for (const place of places) leads[types[place]?.tokenTypeIdx as number] = way;
      };
      const branches = ways.filter((way) => typeof way !== 'number');
      for (const [branch, places] of branches.entries()) mark(places, branch);
      const isOption = branches.length === 0;
      if (isOption) mark(ways as readonly number[], true);
      made[Number(key)] = isOption
        ? function () {
            return leads[this.LA_FAST(1).tokenTypeIdx] === true;
          }
        : function () {
            return leads[this.LA_FAST(1).tokenTypeIdx];
          };
    }
    return made;
  });
  analysed.resyncFollows = {};
  for (const [rule, index, caller, ...after] of follows)
    analysed.resyncFollows[
      followName(names[rule as number] as string, index as number, names[caller as number] as string)
    ] = after.map((place) => types[place] as TokenType);
}
