/** Every finding that has a fix: applied, the finding is gone and no error has come. And any place of any sample. */

import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Range } from 'vscode-languageserver-types';
import { parseFile } from '../../grammar/file.ts';
import { linesOf } from '../../grammar/syntax.ts';
import { codeActions } from '../../server/features/code-actions.ts';
import { revealsOf } from '../../server/features/fixes/index.ts';
import { rangeOf } from '../../server/plan/places.ts';
import { type Understood, understand } from '../../server/plan/understand.ts';
import { createWorkspace, scopeOf, setFile, setUnreadable, type Workspace } from '../../server/plan/workspace.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { RULES } from '../../server/rules/index.ts';
import type { Finding } from '../../server/rules/rule.ts';
import { findingsIn, textsAfter, workspaceAfter } from './actions-helper.ts';
import { liesIn, samplePlaces, sampleWorkspace } from './marked.ts';

/** Errors of a flight, which may come to light when a plan can be read at last, or is made honest. */
const FLIGHT = new Set([
  'variation-unknown',
  ...RULES.filter(({ task, leg, line, entry, file }) => (task || leg) && !line && !entry && !file).map(
    ({ code }) => code,
  ),
]);
/** One family: an arrival that is too low by less has another code. */
const groupOf = (code: string) => (['below-turn-height', 'reaches-ground'].includes(code) ? 'below-reserve' : code);

const tally = (findings: readonly Finding[]) => {
  const counts = new Map<string, number>();
  for (const { code } of findings) counts.set(groupOf(code), (counts.get(groupOf(code)) ?? 0) + 1);
  return counts;
};

/** Applies every fix of every finding of a file; how many there were, by code. */
function applyAll(workspace: Workspace, understood: Understood): Map<string, number> {
  const findings = findingsIn(workspace, understood);
  const { uri } = understood.file;
  const tried = new Map<string, number>();
  for (const finding of findings) {
    const range = rangeOf(workspace, finding.at) as Range;
    const actions = codeActions(
      workspace,
      understood,
      range,
      [finding, ...findings.filter((one) => one !== finding)],
      ['quickfix'],
    );
    const own = actions.filter(({ diagnostics }) =>
      diagnostics?.some(({ code, message }) => code === finding.code && message === finding.message),
    );
    expect(
      own.filter(({ isPreferred }) => isPreferred).length,
      `${finding.code}: one is preferred at most`,
    ).toBeLessThanOrEqual(1);
    tried.set(finding.code, (tried.get(finding.code) ?? 0) + own.length);
    for (const action of own) {
      const what = `${finding.code}: ${action.title}`;
      expect(action.title, what).toMatch(/^[A-Z][^\n`*]*[^\s.]$/u);
      const texts = textsAfter(workspace, action.edit);
      expect(texts.size, what).toBeGreaterThan(0);
      if (action.isPreferred && OF_WRITING.has(finding.code)) {
        const now = texts.get(uri) ?? '';
        expect(gone(numbersOf(understood.file.syntax.text), numbersOf(now)), `${what} keeps numbers`).toEqual([]);
      }
      const after = workspaceAfter(workspace, texts, uri);
      const [before, now] = [tally(findings), tally(after.findings)];
      // Of a line that could not be read the next mistake may come to light.
      const alike = (all: readonly Finding[]) => all.filter(({ message }) => message === finding.message).length;
      const other = revealsOf(finding.code) === 'anything' && alike(after.findings) < alike(findings);
      if (groupOf(finding.code) === finding.code && !other)
        expect(now.get(finding.code) ?? 0, `${what} takes it away`).toBeLessThan(before.get(finding.code) ?? 0);
      if (revealsOf(finding.code) === 'anything') continue;
      const errors = new Set(
        after.findings.filter(({ severity }) => severity === 'error').map(({ code }) => groupOf(code)),
      );
      for (const code of errors) {
        if (revealsOf(finding.code) === 'flight' && FLIGHT.has(code)) continue;
        expect(now.get(code), `${what} brings no ${code}`).toBeLessThanOrEqual(before.get(code) ?? 0);
      }
    }
  }
  return tried;
}

/** Findings of how something is written: what mends it keeps what the pilot wrote. */
const OF_WRITING: ReadonlySet<string> = new Set([
  'syntax',
  'entry-unknown',
  'detail-unknown',
  'not-indented',
  'name-is-keyword',
  'number-unclear',
  'unit-missing',
  'unit-unknown',
  'unit-wrong-kind',
  'datum-missing',
  'datum-wrong',
  'coordinates-incomplete',
  'zone-missing',
]);

/** The numbers of a text, each by its digits: a comma may become a point, and an hour or a zone gets its two digits. */
const numbersOf = (text: string) =>
  (text.match(/\d[\d.,]*/g) ?? []).map((number) => number.replace(/\D/g, '').replace(/^0(?=\d$)/, ''));

/** Those of some words that are not among others, as often. */
function gone(before: readonly string[], after: readonly string[]): string[] {
  const left = [...after];
  return before.filter((word) => {
    const at = left.indexOf(word);
    if (at >= 0) left.splice(at, 1);
    return at < 0;
  });
}

/** What a height is counted from, by the words that pilots use: above the sea, the ground, or the standard pressure. */
const datumsOf = (text: string) =>
  (text.match(/\b(?:A?MSL|QNH|AGL|AAL|GND|QFE|SFC|STD)\b/g) ?? []).map((word) =>
    /MSL|QNH/.test(word) ? 'sea' : word === 'STD' ? word : 'ground',
  );
const unitsOf = (text: string) =>
  text.match(/(?<=\d\s?)(?:ft\/min|km\/h|m\/s|ft|kt|km|NM|mi|mph|kg|lb|hPa|inHg|min|MHz|%|h|m)(?![\p{L}/])/gu) ?? [];

/** Findings whose page's example has no fix: the number itself is wrong, or the file, the day or the pilot is another. */
const WITHOUT = new Set([
  'not-text',
  'detail-outside-entry',
  'file-unreadable',
  'use-outside',
  'polar-refused',
  'polar-poor-fit',
  'variation-unknown',
  'not-computed',
  'pilot-weight',
  'wind-extrapolated',
  'climb-rate-unknown',
  // These have fixes, though not for the example of their page: another value is wrong, or no ballast is on board.
  'value-out-of-sense',
  'defined-twice',
  'overweight',
]);

describe('every fix takes its finding away and brings no error', () => {
  test.each(RULES.map(({ code, page }) => [code, page.bad] as const))('of the page of %s', (code, bad) => {
    const root = 'file:///plans';
    const workspace = createWorkspace([root]);
    setFile(workspace, `${root}/club.taskplan`, EXAMPLE_CLUB);
    setFile(workspace, `${root}/round.taskplan`, 'use "plan.taskplan"\n');
    setFile(workspace, `${root}/photo.taskplan`, 'not text\0');
    const file = setFile(workspace, `${root}/plan.taskplan`, bad.replaceAll('␀', '\0'));
    for (const wanted of scopeOf(workspace, file).wanted) setUnreadable(workspace, wanted, 'missing');
    const tried = applyAll(workspace, understand(workspace, file));
    if (revealsOf(code) === undefined) expect(tried.get(code) ?? 0).toBe(0);
    else if (!WITHOUT.has(code)) expect(tried.get(code), 'the example has a fix').toBeGreaterThan(0);
  });

  test('of the samples', () => {
    const { workspace } = sampleWorkspace();
    for (const file of workspace.files.values()) applyAll(workspace, understand(workspace, file));
  });
});

/** Lines that cannot be read. */
const unread = (text: string) =>
  parseFile(text)
    .entries.flatMap(({ syntax }) => linesOf(syntax))
    .filter(({ problems }) => problems.length > 0).length;

test('anywhere in any sample it answers, inside the document, with edits that leave it as readable as it was', () => {
  for (const { workspace, understood, text, positions } of samplePlaces(3)) {
    const findings = findingsIn(workspace, understood);
    const seen = new Set<string>();
    const before = unread(text);
    let line = -1;
    for (const position of positions) {
      // The fixes of a line cost more, and are those of its findings, which are all applied above.
      const only = position.line === line ? ['refactor'] : ['refactor', 'quickfix'];
      line = position.line;
      for (const action of codeActions(workspace, understood, { start: position, end: position }, findings, only)) {
        const { edit, title } = action;
        const key = `${position.line} ${title}`;
        if (seen.has(key)) continue;
        seen.add(key);
        for (const [uri, edits] of Object.entries(edit?.changes ?? {})) {
          const own = workspace.files.get(uri)?.syntax.text ?? '';
          for (const { range } of edits) expect(liesIn(own, range), title).toBe(true);
        }
        const now = textsAfter(workspace, edit).get(understood.file.uri);
        if (now !== undefined) expect(unread(now), title).toBeLessThanOrEqual(before);
      }
    }
  }
});

test('a file that is not text, an empty one and one without line ends have answers', () => {
  for (const text of ['', '\0', 'task', 'field A', '\ufeffuse "x"', 'task T\r\n  start A at 1,000', '  elevation 1']) {
    const workspace = createWorkspace(['file:///plans']);
    const file = setFile(workspace, 'file:///plans/plan.taskplan', text);
    for (const wanted of scopeOf(workspace, file).wanted) setUnreadable(workspace, wanted, 'missing');
    const understood = understand(workspace, file);
    const end = { line: 1, character: 20 };
    expect(() =>
      codeActions(workspace, understood, { start: { line: 0, character: 0 }, end }, findingsIn(workspace, understood), [
        '',
      ]),
    ).not.toThrow();
  }
});

/** What a hand leaves behind. */
const PIECES = [
  '',
  ' ',
  '\n',
  '\r\n',
  '"',
  '#',
  ',',
  '-',
  '0',
  '9',
  'at ',
  'ft',
  'MSL',
  ' AGL',
  'kt',
  'use "',
  '\ntask T\n',
  '\n  climb to ',
  'é',
  '\ufeff',
  '\u2028',
];

test('in a sample spoilt anywhere every fix still holds its word', () => {
  const { workspace, texts } = sampleWorkspace();
  const uris = [...texts.keys()];
  const edit = fc.record({ at: fc.nat(1_000_000), cut: fc.nat(12), piece: fc.constantFrom(...PIECES) });
  fc.assert(
    fc.property(fc.constantFrom(...uris), fc.array(edit, { minLength: 1, maxLength: 3 }), (uri, edits) => {
      let text = texts.get(uri) as string;
      for (const { at, cut, piece } of edits) {
        const from = at % (text.length + 1);
        text = text.slice(0, from) + piece + text.slice(from + cut);
      }
      const spoilt = workspaceAfter(workspace, new Map([[uri, text]]), uri);
      applyAll(spoilt.workspace, spoilt.understood);
      const { understood, findings } = spoilt;
      for (const action of codeActions(
        spoilt.workspace,
        understood,
        { start: { line: 0, character: 0 }, end: { line: 999, character: 0 } },
        findings,
        ['source', 'refactor'],
      )) {
        const now = textsAfter(spoilt.workspace, action.edit).get(uri);
        if (now === undefined || action.kind?.startsWith('refactor')) continue;
        const after = workspaceAfter(spoilt.workspace, new Map([[uri, now]]), uri);
        expect(unread(now), action.title).toBeLessThanOrEqual(unread(text));
        const errors = (all: readonly Finding[]) =>
          all.filter(({ severity, code }) => severity === 'error' && !FLIGHT.has(code)).length;
        if (action.kind === 'source.organizeImports')
          expect(errors(after.findings), action.title).toBeLessThanOrEqual(errors(findings));
      }
    }),
    { numRuns: 40 },
  );
}, 60_000);

/** Lines with a value, and what a hand puts in its place: a number, glued to or beside what may be a unit or a datum. */
const LINES: readonly (readonly [string, string])[] = [
  ['reserve A\n  arrive 1000 ft AGL\n', 'performance ~'],
  ['reserve A\n', 'arrive ~'],
  ['weather A\n', 'qnh ~'],
  ['weather A\n', 'cloudbase ~'],
  ['weather A\n', 'wind ~ from ~ at ~'],
  ['weather A\n', 'temperature ~ at ~'],
  ['weather A\n', 'lift ~ to ~'],
  ['weather A\n', 'thermals ~ to ~'],
  ['field A at 47.25 N 19.52 E\n  elevation 140 m\n', 'frequency ~'],
  ['field A at 47.25 N 19.52 E\n', 'elevation ~'],
  ['field A at 47.25 N 19.52 E\n  elevation 140 m\n', 'runway 18/36 ~'],
  ['turnpoint A at 47.25 N 19.52 E\n', 'radius ~'],
  ['aircraft A\n', 'pilot ~ to ~'],
  ['aircraft A\n', 'pilot ~'],
  ['limits A\n', 'duration ~'],
  ['limits A\n', 'distance ~'],
  ['limits A\n', 'land ~ before sunset'],
  ['task A\n', 'takeoff ~'],
  ['task A\n', 'climb to ~ after ~'],
  ['task A\n', 'start A at ~'],
];
const NUMBERS = '0.7 .7 1 0 7 70 8 82 055 122.905 230 1018 29.92 1,000 3 000 -5 14:30 2:30 2h30 47.25'.split(' ');
const WORDS =
  '% ‰ percent ft m FT feet kts kt sm NM m/min fpm ft/min min h hr mb in hPa inHg kg lb kilo MHz deg ° °T °C MSL AGL AAL GND QFE QNH STD Z UTC PM +2 +02:00 - – , . x at to from'.split(
    ' ',
  );

/** Values with one slip or none. */
const LIKELY =
  '29.92|1018 mb|1018|70|70 percent|8 kts|8 kt|8|230 deg|230°|230|5200 ft|5200 ft MSL|1000 ft AGL|1000 feet AGL|45 minutes|2 hours|122.905|82 kilograms|82|24 °C|24|3 kts|14:30|14:30Z|12 km|12 kilometers'.split(
    '|',
  );

test('what mends a line of values keeps its numbers, its datums and its units', () => {
  const slip = fc
    .array(fc.tuple(fc.constantFrom(...NUMBERS, ...WORDS, ...WORDS), fc.constantFrom(' ', ' ', '')), {
      minLength: 1,
      maxLength: 4,
    })
    .chain((rest) =>
      fc.tuple(fc.constantFrom(...NUMBERS), fc.constantFrom(' ', '')).map((first) => [first, ...rest].flat().join('')),
    );
  const value = fc.oneof(slip, fc.constantFrom(...LIKELY));
  let offered = 0;
  let all = 0;
  fc.assert(
    fc.property(fc.constantFrom(...LINES), fc.array(value, { minLength: 3, maxLength: 3 }), ([head, line], values) => {
      let next = 0;
      const written = `  ${line.replaceAll('~', () => values[next++] as string)}`;
      const text = `${head}${written}\n`;
      const workspace = createWorkspace(['file:///plans']);
      const file = setFile(workspace, 'file:///plans/plan.taskplan', text);
      const understood = understand(workspace, file);
      const findings = findingsIn(workspace, understood);
      const range = { start: { line: 0, character: 0 }, end: { line: 99, character: 0 } };
      for (const action of codeActions(workspace, understood, range, findings, ['quickfix', 'source.fixAll'])) {
        const isAll = action.kind === 'source.fixAll';
        if (!isAll && !(action.isPreferred && action.diagnostics?.every(({ code }) => OF_WRITING.has(String(code)))))
          continue;
        const now = textsAfter(workspace, action.edit).get(file.uri) ?? '';
        const what = `${written} => ${now} (${action.title})`;
        expect(gone(numbersOf(text), numbersOf(now)), what).toEqual([]);
        expect(gone(datumsOf(text), datumsOf(now)), what).toEqual([]);
        // The `m` of `2h30m` is minutes.
        expect(gone(unitsOf(text.replace(/(\dh\d{1,2})m(?![\p{L}/])/giu, '$1')), unitsOf(now)), what).toEqual([]);
        // The line that was mended can be read, and no share of one became one of a hundred.
        expect(unread(now), what).toBeLessThanOrEqual(unread(text));
        if (!text.includes('percent')) expect(now, what).not.toMatch(/ (?:0?\.\d+|1) %/);
        if (isAll) {
          all++;
          const after = workspaceAfter(workspace, new Map([[file.uri, now]]), file.uri).findings;
          const left = after.filter(({ code, at }) => OF_WRITING.has(code) && at.span.start > head.length);
          expect(
            left.map(({ message }) => message),
            what,
          ).toEqual([]);
        } else offered++;
      }
    }),
    { numRuns: 3000 },
  );
  expect(Math.min(offered, all)).toBeGreaterThan(20);
});
