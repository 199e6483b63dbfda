/**
 * The sheet as HTML: one file that needs nothing else, without a script, made to be printed. Black on white, whatever
 * the reader's colours are: it is paper.
 */
import type { TaskEvaluation } from '../plan/task.ts';
import type { Understood } from '../plan/understand.ts';
import type { Workspace } from '../plan/workspace.ts';
import type { Finding } from '../rules/rule.ts';
import type { BriefCell, BriefRow, BriefTable, BriefText } from './brief-cells.ts';
import { planDrawing, sideDrawing } from './brief-draw.ts';
import { type BriefSheet, type BriefStamp, briefSheets, findingsTitle } from './brief-model.ts';
import { element, escapeXml } from './xml.ts';

export const PAPERS = ['a4', 'a5'] as const;
export type BriefPaper = (typeof PAPERS)[number];

/** Drawings as wide as their columns below. */
const DRAWINGS = {
  a4: { side: { width: 392, height: 135, fontSize: 8 }, plan: { width: 236, height: 150, fontSize: 8 } },
  a5: { side: { width: 262, height: 110, fontSize: 7 }, plan: { width: 165, height: 170, fontSize: 7 } },
};

const SHARES = [1, 0.97, 0.94, 0.91, 0.88, 0.85];
/** Of A4 between its margins, pt. */
const PAGE_PT = 780;

/** Sizes follow the paper: what is carried in the hand is held closer than what lies on a knee. */
const STYLE = (paper: BriefPaper): string => `
@page { size: ${paper === 'a4' ? 'A4' : 'A5'} portrait; margin: ${paper === 'a4' ? '9mm 11mm 11mm' : '7mm 8mm 9mm'};
  @bottom-right { content: counter(page) ' / ' counter(pages); font: 7.5pt Arial, sans-serif; } }
:root { color-scheme: only light; font-size: ${paper === 'a4' ? '9pt' : '7.4pt'}; }
* { box-sizing: border-box; }
body { margin: 0; background: #fff; color: #000; font-family: Arial, 'Liberation Sans', Helvetica, sans-serif; line-height: 1.25;
  -webkit-print-color-adjust: exact; print-color-adjust: exact; overflow-wrap: break-word; }
h1, .words, .rows .notes td, .findings, header div { overflow-wrap: anywhere; }
article { max-width: ${paper === 'a4' ? '188mm' : '132mm'}; margin: 0 auto; break-after: page; }
article:last-child { break-after: auto; }
.page { width: 100%; border-collapse: collapse; table-layout: fixed; }
.page > * > tr > td { padding: 0; vertical-align: top; }
.page > thead, .page > tfoot { break-inside: avoid; }
header { display: flex; justify-content: space-between; align-items: end; gap: 1.5em; border-bottom: 1.6pt solid #000; padding-bottom: .25em; margin-bottom: .5em; }
h1 { font-size: 2.1em; line-height: 1.05; margin: 0; }
header div { text-align: right; flex: none; max-width: 62%; }
h2 { font-size: 1.1em; margin: 0 0 .15em; text-align: left; }
footer { border-top: .8pt solid #000; margin-top: .5em; padding-top: .25em; font-size: .86em; }
.findings { border: 2pt solid #000; padding: .35em .6em; margin: 0 0 .6em; break-inside: avoid; }
.findings ul { margin: 0; padding: 0; list-style: none; }
.findings li { margin-top: .2em; font-size: 1.06em; }
.findings b { text-transform: uppercase; }
.sound { margin: 0 0 .5em; }
table.rows { width: 100%; border-collapse: collapse; margin: 0 0 .55em; font-variant-numeric: tabular-nums; }
table.rows caption { caption-side: top; text-align: left; }
.rows th, .rows td { padding: .12em ${paper === 'a4' ? '.45em' : '.25em'}; text-align: right; vertical-align: baseline; font-weight: normal; white-space: nowrap; }
.rows thead th, .rows .words, .rows .notes td { white-space: normal; }
.rows thead th { font-size: .86em; vertical-align: bottom; border-bottom: 1pt solid #000; line-height: 1.1; }
.rows .words { text-align: left; }
.rows tbody { break-inside: avoid; border-bottom: .5pt solid #777; }
.rows tbody th { text-align: left; font-weight: bold; }
.rows small, .rows .notes td, p.notes { font-size: .86em; }
.rows small { display: block; font-weight: normal; }
.rows .notes td { text-align: left; padding-top: 0; }
.rows td:first-child, .rows th:first-child { padding-left: 0; }
.rows td:last-child, .rows th:last-child { padding-right: 0; }
p.notes { margin: -.3em 0 .55em; }
.large td, .large tbody th { font-size: ${paper === 'a4' ? '1.45em' : '1.3em'}; line-height: 1.1; padding-top: .12em; }
.large small { font-size: .6em; line-height: 1.15; }
.large .notes td { font-size: .86em; padding: 0 0 .15em; line-height: 1.2; }
.large tbody th.words { min-width: 5.8em; }
.large .strong { font-weight: bold; font-size: ${paper === 'a4' ? '1.72em' : '1.55em'}; line-height: 1; }
.large .strong small { font-size: .5em; line-height: 1.2; }
.glide td, .glide tbody th { white-space: nowrap; text-align: right; padding-top: .05em; padding-bottom: .05em; }
.pair { display: grid; gap: 0 1.6em; align-items: start; break-inside: avoid; }
.pair.glides { grid-template-columns: ${paper === 'a4' ? '44mm' : '36mm'} minmax(0, 1fr); }
.pair.winds { grid-template-columns: minmax(0, 1fr) ${paper === 'a4' ? '36mm' : '30mm'}; gap: 0 1em; }
.pair.plans { grid-template-columns: minmax(0, 9fr) minmax(0, 11fr); }
figure { margin: 0 0 .5em; break-inside: avoid; }
figure svg { display: block; width: 100%; height: auto; }
.text { columns: 2; column-gap: 1.6em; font-size: .93em; }
.text.one { columns: 1; }
.text section { break-inside: avoid; margin-bottom: .35em; }
.text p { margin: 0; }
@media screen { body { padding: 1.5em; } article + article { margin-top: 3em; } }
`;

const line = ({ text }: BriefText): string => `<small>${escapeXml(text)}</small>`;

function cellHtml(cell: BriefCell, at: number, words: boolean): string {
  const kind = [words ? 'words' : '', cell.strong ? 'strong' : ''].filter((one) => one !== '').join(' ');
  const attributes = kind === '' ? '' : ` class="${kind}"`;
  const inner = `${escapeXml(cell.main.text)}${cell.under.map(line).join('')}`;
  return at === 0 ? `<th scope="row"${attributes}>${inner}</th>` : `<td${attributes}>${inner}</td>`;
}

function rowHtml({ cells, notes }: BriefRow, { heads }: BriefTable): string {
  const row = cells.map((cell, i) => cellHtml(cell, i, heads[i]?.words === true)).join('');
  const under =
    notes.length === 0
      ? ''
      : `<tr class="notes"><td colspan="${heads.length}">${notes.map(({ text }) => `<span>${escapeXml(text)}</span>`).join('; ')}</td></tr>`;
  return `<tbody><tr>${row}</tr>${under}</tbody>`;
}

function tableHtml(table: BriefTable | null, kind = ''): string {
  if (!table) return '';
  const { title, heads, rows, notes } = table;
  const head = heads.map(
    ({ text, unit, words }) =>
      `<th scope="col"${words ? ' class="words"' : ''}>${escapeXml(text)}${unit === '' ? '' : ` ${element('b', unit)}`}</th>`,
  );
  return [
    `<table class="rows${kind}"><caption><h2>${escapeXml(title)}</h2></caption>`,
    `<thead><tr>${head.join('')}</tr></thead>`,
    ...rows.map((row) => rowHtml(row, table)),
    '</table>',
    ...notes.map((note) => `<p class="notes">${escapeXml(note)}</p>`),
  ].join('\n');
}

function findingsHtml(sheet: BriefSheet): string {
  const title = findingsTitle(sheet.findings);
  if (sheet.findings.length === 0) return `<p class="sound">${escapeXml(title)}</p>`;
  const items = sheet.findings.map(
    ({ severity, line: at, message }) =>
      `<li><b>${severity}</b> ${escapeXml(message)}${at === null ? '' : ` <small>(line ${at})</small>`}</li>`,
  );
  return `<section class="findings"><h2>${escapeXml(title)}</h2><ul>${items.join('')}</ul></section>`;
}

function figureHtml(svg: string | undefined): string {
  return svg === undefined ? '' : `<figure>${svg}</figure>`;
}

const pair = (kind: string, one: string, other: string): string =>
  `<div class="pair ${kind}"><div>${one}</div><div>${other}</div></div>`;

function sheetHtml(sheet: BriefSheet, paper: BriefPaper, id: string): string {
  const { side, plan: ground } = DRAWINGS[paper];
  const glide = tableHtml(sheet.glide, ' large glide');
  const wind = tableHtml(sheet.wind);
  const speeds = tableHtml(sheet.speeds);
  const beside = [
    figureHtml(sideDrawing(sheet.picture, side, id)),
    wind === '' || speeds === '' ? `${speeds}${wind}` : pair('winds', speeds, wind),
  ].join('');
  const text = sheet.words.map(
    ({ title, sentences }) => `<section><h2>${escapeXml(title)}</h2><p>${escapeXml(sentences.join(' '))}</p></section>`,
  );
  const plan = figureHtml(planDrawing(sheet.picture, ground, id));
  return [
    `<article style="font-size:${shareFitting(sheet, paper)}em"><table class="page" role="presentation">`,
    `<thead><tr><td><header>${element('h1', sheet.title)}<div>${sheet.summary.map(escapeXml).join('<br>')}</div></header></td></tr></thead>`,
    `<tfoot><tr><td><footer>${escapeXml(sheet.caution)}<br>${element('b', sheet.stamp)}</footer></td></tr></tfoot>`,
    '<tbody><tr><td>',
    findingsHtml(sheet),
    tableHtml(sheet.legs, ' large'),
    glide === '' ? beside : pair('glides', glide, beside),
    tableHtml(sheet.fields),
    plan === ''
      ? `<div class="text">${text.join('')}</div>`
      : pair('plans', plan, `<div class="text one">${text.join('')}</div>`),
    '</td></tr></tbody></table></article>',
  ].join('\n');
}

const lines = (length: number, perLine: number) => Math.ceil(length / perLine);

/** About how high a sheet is on A4, pt, with its text at a share of its size. A browser cannot be asked beforehand. */
function heightOf(sheet: BriefSheet, share: number): number {
  const em = 9 * share;
  const of = (table: BriefTable | null, row: number): number =>
    !table
      ? 0
      : (2.9 + 1.3 * table.notes.length) * em +
        table.rows.reduce(
          (sum, { cells, notes }) =>
            sum + (row + 1.1 * Math.max(...cells.map(({ under }) => under.length)) + (notes.length > 0 ? 1.2 : 0)) * em,
          0,
        );
  const { side, plan } = DRAWINGS.a4;
  const words = sheet.words.reduce(
    (sum, { sentences }) => sum + 1.8 + 1.16 * lines(sentences.join(' ').length * share, 70),
    0,
  );
  const findings = sheet.findings.reduce(
    (sum, { message }) => sum + 0.2 + 1.35 * lines(message.length * share, 105),
    2.6,
  );
  return (
    (9 + findings) * em +
    of(sheet.legs, 2) +
    Math.max(of(sheet.glide, 1.9), side.height + 8 + of(sheet.speeds, 1.5)) +
    of(sheet.fields, 1.5) +
    Math.max(plan.height + 8, words * em)
  );
}

/** The largest share of the usual size, down to what can still be read, at which a sheet fits its page; else all of it. */
function shareFitting(sheet: BriefSheet, paper: BriefPaper): number {
  return paper === 'a4' ? (SHARES.find((share) => heightOf(sheet, share) <= PAGE_PT) ?? 1) : 1;
}

/** The page of some sheets, a paper or more each; of none, that says so. */
export function briefPage(sheets: readonly BriefSheet[], paper: BriefPaper = 'a4'): string {
  const title = sheets.map((sheet) => sheet.title).join(', ');
  return [
    '<!DOCTYPE html>',
    '<html lang="en"><head><meta charset="utf-8">',
    `<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">`,
    '<meta name="viewport" content="width=device-width, initial-scale=1">',
    element('title', title === '' ? 'No task' : title),
    `<style>${STYLE(paper)}</style></head><body><main>`,
    ...(sheets.length === 0
      ? ['<p>This file holds no task.</p>']
      : sheets.map((sheet, i) => sheetHtml(sheet, paper, `s${i + 1}`))),
    '</main></body></html>',
    '',
  ].join('\n');
}

/**
 * The sheets of a file's tasks, or of those given, as one HTML page. `findings` are the file's, as `check` gives them.
 * Never throws for what a file holds.
 */
export function briefHtml(
  workspace: Workspace,
  understood: Understood,
  findings: readonly Finding[],
  stamp: BriefStamp,
  options: { readonly paper?: BriefPaper; readonly tasks?: readonly TaskEvaluation[] } = {},
): string {
  return briefPage(briefSheets(workspace, understood, findings, stamp, options.tasks), options.paper);
}
