/**
 * The highlighting grammar and the editor's settings against the vocabulary and the lexer. The grammar keeps to single
 * patterns that JavaScript's engine reads too, so a few lines here do what an editor does with it.
 */
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { parseFile } from '../../grammar/file.ts';
import { linesOf } from '../../grammar/syntax.ts';
import { UNITS } from '../../grammar/units.ts';
import { ENTRIES, KEYWORDS } from '../../grammar/vocabulary.ts';
import { EVERYTHING } from './example.ts';

interface Pattern {
  readonly match: string;
  readonly name?: string;
  readonly captures?: Readonly<Record<string, { readonly name: string }>>;
}
interface Grammar {
  readonly scopeName: string;
  readonly fileTypes: readonly string[];
  readonly patterns: readonly { readonly include: string }[];
  readonly repository: Readonly<Record<string, Pattern>>;
}

const read = (name: string): unknown =>
  JSON.parse(readFileSync(new URL(`../../grammar/${name}`, import.meta.url), 'utf8'));
const grammar = read('taskplan.tmLanguage.json') as Grammar;

const rules = grammar.patterns.map(({ include }) => {
  const pattern = grammar.repository[include.slice(1)] as Pattern;
  const loose = pattern.match.startsWith('(?i)');
  return { ...pattern, regex: new RegExp(loose ? pattern.match.slice(4) : pattern.match, loose ? 'dgiu' : 'dgu') };
});

/** The scope of every character of a line, as an editor gives it: the earliest match, of these the first pattern's. */
function scopes(line: string): string[] {
  const out = Array<string>(line.length).fill('');
  let at = 0;
  while (at < line.length) {
    let best: { found: RegExpExecArray; rule: (typeof rules)[number] } | undefined;
    for (const rule of rules) {
      rule.regex.lastIndex = at;
      const found = rule.regex.exec(line);
      if (found && found[0] !== '' && (!best || found.index < best.found.index)) best = { found, rule };
    }
    if (!best) break;
    const { found, rule } = best;
    out.fill(rule.name ?? '', found.index, found.index + found[0].length);
    for (const [index, { name }] of Object.entries(rule.captures ?? {})) {
      const place = found.indices?.[Number(index)];
      if (place) out.fill(name, place[0], place[1]);
    }
    at = found.index + found[0].length;
  }
  return out;
}

/** The scope of the only or first such part of a line. */
const scopeOf = (line: string, part: string) => {
  const all = scopes(line).slice(line.indexOf(part), line.indexOf(part) + part.length);
  return new Set(all.filter((_, i) => part[i] !== ' ')).size === 1 ? all[0] : all.join(',');
};

describe('highlighting', () => {
  test('is declared for the files of the language', () => {
    expect(grammar.scopeName).toBe('source.taskplan');
    expect(grammar.fileTypes).toEqual(['taskplan']);
    expect(new Set(grammar.patterns.map(({ include }) => include.slice(1)))).toEqual(
      new Set(Object.keys(grammar.repository)),
    );
  });

  test.each([
    EVERYTHING,
    EVERYTHING.replace(/"[^"\n]*"|#.*|[a-z]+/g, (part) => (/["#]/.test(part) ? part : part.toUpperCase())),
  ])('every token of the example is what the lexer says (%#)', (text) => {
    const seen = new Set<string>();
    for (const { syntax } of parseFile(text).entries) {
      const lines = syntax.text.split('\n');
      const scopeAt = (offset: number) => {
        const row = syntax.lineStarts.findLastIndex((start) => start <= offset);
        return scopes(lines[row] as string)[offset - (syntax.lineStarts[row] as number)] as string;
      };
      for (const line of linesOf(syntax)) {
        expect(line.problems).toEqual([]);
        for (const tok of line.tokens) {
          const lower = tok.image.toLowerCase();
          const scope = `${tok.image}: ${scopeAt(tok.startOffset)}`;
          const isName = Object.values(line.slots).some(
            (value) =>
              (value?.kind === 'name' || (value?.kind === 'word' && !KEYWORDS.has(lower))) &&
              value.span.start === tok.startOffset,
          );
          if (tok.image.startsWith('"'))
            expect(scope).toMatch(line === syntax.head && isName ? /: entity\.name/ : /: string/);
          else if (isName) expect(scope).toMatch(line === syntax.head ? /: entity\.name/ : /: $/);
          else if (lower === 'msl' || lower === 'agl') expect(scope).toMatch(/: constant\.language\.datum/);
          else if (KEYWORDS.has(lower))
            expect(scope).toMatch(line === syntax.head && tok === line.tokens[0] ? /: storage\.type/ : /: keyword/);
          else if (/^[NSEW]$/i.test(tok.image)) expect(scope).toMatch(/: constant\.language\.hemisphere/);
          else if (/^\d|^fl/i.test(tok.image)) expect(scope).toMatch(/: constant\.numeric/);
          else expect(scope).toMatch(/: keyword\.(other\.unit|operator)/);
          seen.add(lower);
        }
      }
      for (const comment of syntax.comments) expect(scopeAt(comment.startOffset)).toMatch(/^comment/);
    }
    expect([...KEYWORDS].filter((keyword) => !seen.has(keyword))).toEqual([]);
  });

  test('every keyword of every form, where it leads', () => {
    for (const { keyword, head, details } of ENTRIES) {
      expect(scopeOf(`${keyword} X`, keyword)).toBe('storage.type.entry.taskplan');
      for (const { id } of details) {
        const scope = scopes(`  ${id} X`).slice(2, 2 + id.length);
        for (const [i, part] of scope.entries())
          if (id[i] !== ' ') expect([id, part]).toEqual([id, expect.stringMatching(/^keyword/)]);
      }
      expect(head.id).toBe(keyword);
    }
  });

  test('every unit, close to its number or not, in any case', () => {
    for (const { text } of UNITS) {
      for (const word of [text, text.toLowerCase(), text.toUpperCase()]) {
        for (const line of [`  x 24${word} y`, `  x 24 ${word} y`])
          expect([line, scopeOf(line, word)]).toEqual([line, 'keyword.other.unit.taskplan']);
      }
    }
  });

  test('no part of a longer word', () => {
    for (const word of ['turnip', 'to-day', 'at_1', 'FL65x', 'Fields'])
      expect(scopes(`  x ${word} y`).join('')).toBe('');
    expect(scopes('  turnip A').join('')).toBe('');
    expect(scopes('fields A').join('')).toBe('');
    expect(scopeOf('  turn "at 60 kt # no" at 60 kt', '"at 60 kt # no"')).toBe('string.quoted.double.taskplan');
  });
});

describe("the editor's settings", () => {
  interface Settings {
    readonly comments: { readonly lineComment: string };
    readonly wordPattern: { readonly pattern: string; readonly flags: string };
    readonly folding: { readonly offSide: boolean };
    readonly indentationRules: Readonly<Record<string, { readonly pattern: string; readonly flags: string }>>;
    readonly onEnterRules: readonly {
      readonly beforeText: { readonly pattern: string; readonly flags: string };
      readonly action: { readonly indent: string };
    }[];
  }
  const settings = read('language-configuration.json') as Settings;
  const regex = ({ pattern, flags }: { pattern: string; flags: string }, more = '') =>
    new RegExp(pattern, flags + more);

  test('words are what a reader takes for one', () => {
    const words = (text: string) => text.match(regex(settings.wordPattern, 'g'));
    expect(words('turn Withy-Bridge at 60.5 km/h ± 4 °C')).toEqual([
      'turn',
      'Withy-Bridge',
      'at',
      '60.5',
      'km/h',
      '±',
      '4',
      '°C',
    ]);
    expect(words('"club/fields.taskplan" 09L/27R 14:30Z FL65 Öland 70 %')).toEqual([
      'club/fields.taskplan',
      '09L/27R',
      '14:30Z',
      'FL65',
      'Öland',
      '70',
      '%',
    ]);
    expect(regex(settings.wordPattern).test('')).toBe(false);
  });

  test('Enter behind a first line indents, behind a detail keeps the indentation', () => {
    const indent = (line: string) =>
      settings.onEnterRules.find((rule) => regex(rule.beforeText).test(line))?.action.indent;
    for (const { keyword, details } of ENTRIES) {
      expect(indent(`${keyword} X`)).toBe(details.length > 0 ? 'indent' : undefined);
      expect(
        regex(settings.indentationRules['increaseIndentPattern'] as never).test(`${keyword.toUpperCase()} X`),
      ).toBe(details.length > 0);
      for (const { id } of details) {
        expect(indent(`  ${id} X`)).toBe('none');
        for (const rule of Object.values(settings.indentationRules)) expect(regex(rule).test(`  ${id} X`)).toBe(false);
      }
    }
    expect(indent('')).toBeUndefined();
  });

  test('comments and folding', () => {
    expect(settings.comments.lineComment).toBe('#');
    expect(settings.folding.offSide).toBe(true);
  });
});
