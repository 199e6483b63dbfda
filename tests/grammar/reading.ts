/** What the tests of the grammar share: plain views of a parsed file, that two readings can be compared by. */
import { type FileSyntax, type PlacedEntry, parseFile } from '../../grammar/file.ts';
import { type EntrySyntax, type LineSyntax, linesOf, type SyntaxProblem } from '../../grammar/syntax.ts';
import type { Token } from '../../grammar/tokens.ts';

export const lines = (file: FileSyntax): LineSyntax[] => file.entries.flatMap(({ syntax }) => linesOf(syntax));

export const problemsIn = (text: string): SyntaxProblem[] => lines(parseFile(text)).flatMap((line) => line.problems);

/** All that there is of an entry, whether it was read already or not. */
function all({ text, form, head, name, details, comments, lineStarts, span, isSound }: EntrySyntax): EntrySyntax {
  return { text, form, head, name, details, comments, lineStarts, span, isSound };
}

/** Everything in a tree, with forms and token types by name, as text. */
export function plain({ entries }: Pick<FileSyntax, 'entries'>): string {
  const read = entries.map(({ syntax, offset, line }) => ({ syntax: all(syntax), offset, line }));
  return JSON.stringify(read, (key, value) => {
    if (key === 'tokenType') return (value as Token['tokenType']).name;
    if (key === 'tokenTypeIdx') return undefined;
    if (key === 'form' || key === 'entry') return value?.id ?? value?.keyword;
    return value;
  });
}

/** What a file means, without places and spelling: the written digits count, the spelling of a unit does not. */
export function meaning(file: FileSyntax): unknown {
  const spelled = new Set(['unit', 'datum', 'hemisphere']);
  const strip = (value: unknown, parent: string): unknown => {
    if (typeof value !== 'object' || value === null) return value;
    const out: Record<string, unknown> = {};
    for (const [key, inner] of Object.entries(value)) {
      if (key === 'span') continue;
      if (key === 'text' && spelled.has(parent))
        out[key] = String(inner).toLowerCase().replace(/^c$/, '°c').replace(/^f$/, '°f').replace(/\s/g, '');
      else if (key === 'text' && ('notation' in value || 'zoneMinutes' in value || 'ends' in value)) {
        out[key] = String(inner)
          .toLowerCase()
          .replace(/\s/g, '')
          .replace(/''|′′|[″”]/g, '"')
          .replace(/[′’]/g, "'");
      } else out[key] = strip(inner, key);
      if (parent === 'ends' || (key === 'text' && 'letter' in value)) out[key] = String(inner).toLowerCase();
    }
    return out;
  };
  const holding = file.entries.filter(({ syntax }) => linesOf(syntax).length + syntax.comments.length > 0);
  return holding.map(({ syntax }) => ({
    entry: syntax.form?.keyword,
    lines: linesOf(syntax).map((line) => ({
      form: line.form?.id,
      problems: line.problems.map((problem) => problem.kind),
      flags: Object.keys(line.flags).sort(),
      slots: Object.fromEntries(
        Object.entries(line.slots).map(([name, value]) => [
          name,
          value?.kind === 'unit' || (value?.kind === 'word' && name === 'circuit')
            ? value.text.toLowerCase()
            : strip(Array.isArray(value) ? [...value] : value, name),
        ]),
      ),
    })),
    comments: syntax.comments.map((comment) => comment.image.trimEnd()),
  }));
}

/** A finding as text below its line, as an editor shows it. */
export function underlined(text: string): string {
  const file = parseFile(text);
  const out: string[] = [];
  const say = (placed: PlacedEntry, line: LineSyntax) => {
    const { syntax } = placed;
    const start = syntax.lineStarts.findLast((at) => at <= line.span.start) as number;
    for (const problem of line.problems) {
      const { span, kind } = problem;
      const words = [
        'expected' in problem && problem.expected ? `expected ${problem.expected}` : '',
        'found' in problem ? `found ${problem.found ?? 'the end of the line'}` : '',
      ];
      out.push(syntax.text.slice(start, line.span.end));
      out.push(
        `${' '.repeat(span.start - start)}${'^'.repeat(span.end - span.start)} ${[kind, ...words.filter(Boolean)].join('; ')}`,
      );
    }
  };
  for (const placed of file.entries) for (const line of linesOf(placed.syntax)) say(placed, line);
  return out.join('\n');
}
