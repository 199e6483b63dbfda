/**
 * The sheet as HTML: one file that needs nothing else, without a script, made to be printed. Black on white, whatever
 * the reader's colours are: it is paper.
 */
import type { TaskEvaluation } from '../plan/task.ts';
import type { Understood } from '../plan/understand.ts';
import type { Workspace } from '../plan/workspace.ts';
import type { Finding } from '../rules/rule.ts';
import type { BriefCell, BriefRow, BriefTable, BriefText } from './brief-cells.ts';
import { planDrawing, type Size, sideDrawing } from './brief-draw.ts';
import { Ink, LEAST_PT, LINE } from './brief-ink.ts';
import { SCREEN_LETTERS } from './brief-letters.ts';
import { type BriefSheet, type BriefStamp, briefSheets } from './brief-model.ts';
import { BELOW, type BriefPaper, drawingSizes, fitted, GAP, type Paper, SHARES, SHEETS } from './brief-set.ts';
import type { BriefSetting, BriefSide, BriefWords } from './brief-sides.ts';
import { ACROSS_EM, ACROSS_GAP_EM, acrossTitle, type Kind, layTable, sizesOf, titleInHead } from './brief-table.ts';
import { element, escapeXml } from './xml.ts';

export { type BriefPaper, PAPERS } from './brief-set.ts';

const MM = 72 / 25.4;
/** A thin rule in a browser: a pixel. */
const RULE_PT = 0.75;
/** Below the sheet, for the numbers of pages, mm. */
const NUMBERS_MM = 4;

/** Browsers break and space a little otherwise than what was measured. */
const SLACK_PT = 13;

/** The paper less the room for what a browser may set a little longer. */
function measured(paper: Paper): Paper {
  return { ...paper, bottom: paper.bottom + NUMBERS_MM * MM + SLACK_PT };
}

const pt = (value: number): string => `${Math.round(value * 100) / 100}pt`;
const share = (of: number): string => `max(${LEAST_PT}pt, calc(var(--em) * ${of}))`;

/** Sizes in points, as on paper: what is measured before is what a browser then prints. */
const STYLE = (paper: BriefPaper): string => {
  const { side, top, bottom, width } = SHEETS[paper];
  return `
@page { size: ${paper.toUpperCase()} portrait; margin: ${pt(top)} ${pt(side)} ${pt(bottom + NUMBERS_MM * MM)};
  @bottom-right { content: counter(page) ' / ' counter(pages); font: ${LEAST_PT}pt Arial, sans-serif; vertical-align: top; } }
:root { color-scheme: only light; font-size: 9pt; }
* { box-sizing: border-box; }
body { margin: 0; background: #fff; color: #000; font-family: Arial, 'Liberation Sans', Helvetica, sans-serif; line-height: ${LINE};
  -webkit-print-color-adjust: exact; print-color-adjust: exact; overflow-wrap: break-word; }
h1, .words, .rows .notes td, .findings, header div { overflow-wrap: anywhere; }
article { max-width: ${pt(width - 2 * side)}; margin: 0 auto; break-after: page; font-size: var(--em); }
article:last-child { break-after: auto; }
.page { width: 100%; border-collapse: collapse; table-layout: fixed; }
.page > * > tr > td { padding: 0; vertical-align: top; }
.page > thead, .page > tfoot { break-inside: avoid; }
.reverse { break-before: page; }
header { display: flex; justify-content: space-between; align-items: end; border-bottom: 1.6pt solid #000; padding-bottom: 1.2pt; margin-bottom: 3pt; }
h1 { line-height: ${LINE}; margin: 0; max-width: 40%; }
header div { text-align: right; flex: none; max-width: 58%; }
h2 { font-size: ${share(SHARES.heading)}; margin: 0; text-align: left; }
footer { border-top: .8pt solid #000; margin-top: 2pt; padding-top: 2pt; font-size: ${share(SHARES.small)}; }
footer b { display: inline-block; }
.findings { border: 2pt solid #000; padding: ${pt(0.2 * 9)} .6em; margin: 0 0 var(--below); font-size: ${share(SHARES.finding)}; }
.findings ul { margin: 0; padding: 0; list-style: none; }
.findings li { margin-bottom: .1em; }
.findings b { text-transform: uppercase; }
.sound { margin: 0 0 var(--below); font-size: ${share(SHARES.finding)}; }
table.rows { width: 100%; table-layout: fixed; border-collapse: collapse; margin: 0 0 var(--below); font-variant-numeric: tabular-nums; font-size: ${share(1)}; }
table.rows caption { caption-side: top; text-align: left; }
table.titled caption, .across thead { position: absolute; clip-path: inset(50%); width: 1px; height: 1px; overflow: hidden; white-space: nowrap; }
.rows th, .rows td { padding: var(--pad) 0 var(--pad) var(--gap); text-align: right; vertical-align: baseline; font-weight: normal; white-space: nowrap; }
.rows thead th, .rows .words, .rows small, .rows .notes td { white-space: normal; }
.rows thead th { font-size: ${share(SHARES.small)}; vertical-align: bottom; border-bottom: 1pt solid #000; padding-top: 0; padding-bottom: .2em; }
.rows thead th b { display: block; }
.rows thead th.title { font-size: var(--em); font-weight: bold; }
.rows .words { text-align: left; }
.rows tbody { break-inside: avoid; border-bottom: .5pt solid #777; }
.rows tbody th { text-align: left; font-weight: bold; }
.rows td, .rows tbody th { font-size: var(--main); }
.rows .strong { font-weight: bold; font-size: var(--strong); }
.rows small { display: block; font-weight: normal; font-size: var(--under); }
.rows .notes td, p.notes { font-size: ${share(SHARES.small)}; }
.rows .notes td { text-align: left; padding: 0; }
.rows td:first-child, .rows th:first-child { padding-left: 0; }
p.notes { margin: calc(0pt - var(--below)) 0 var(--below); }
.glide tbody th, .across tbody th { text-align: right; }
.across { display: flex; flex-wrap: wrap; column-gap: ${ACROSS_GAP_EM}em; }
.across caption { flex: 0 0 100%; border-bottom: .5pt solid #777; font-weight: bold; }
.across h2 { font-size: ${share(1)}; }
.across tbody { border: 0; max-width: ${ACROSS_EM}em; }
.across tbody tr { display: flex; flex-direction: column; }
.across tbody th, .across tbody td { padding: 0; }
.across tbody th { display: contents; font-weight: normal; }
.across .value { font-size: var(--main); }
.across small { order: 3; text-align: right; }
.across td { order: 2; }
.pair { display: grid; column-gap: calc(var(--em) * ${GAP.loose}); align-items: start; }
.drawings { display: flex; justify-content: space-between; align-items: start; break-inside: avoid; }
figure { margin: 0 0 var(--below); break-inside: avoid; }
figure svg { display: block; width: 100%; height: auto; }
.text { font-size: ${share(SHARES.words)}; }
.text section { margin-bottom: calc(var(--em) * .35); }
.text p, .runin p { margin: 0; }
.runin { font-size: ${share(SHARES.words)}; }
.runin h3 { display: inline; font-size: 1em; margin: 0 .5em 0 0; }
.runin p { display: inline; }
.more { margin: 0 0 calc(var(--below) / 2); font-size: ${share(SHARES.words)}; font-weight: bold; }
@media screen { body { padding: 1.5em; } article + article { margin-top: 3em; } .reverse { margin-top: 2em; } }
`;
};

/** What a sheet is set with, and by which it is measured. */
interface Canvas {
  readonly sheet: BriefSheet;
  readonly setting: BriefSetting;
  readonly paper: Paper;
  /** Between the margins, pt. */
  readonly width: number;
  readonly ink: Ink;
  readonly id: string;
}

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

function headHtml({ title, heads }: BriefTable, titled: boolean): string {
  const cells = heads.map(({ text, unit, words }, i) =>
    titled && i === 0
      ? `<th scope="col" class="words title">${escapeXml(title)}</th>`
      : `<th scope="col"${words ? ' class="words"' : ''}>${escapeXml(text)}${unit === '' ? '' : ` ${element('b', unit)}`}</th>`,
  );
  return `<thead><tr>${cells.join('')}</tr></thead>`;
}

const notesHtml = ({ notes }: BriefTable): string[] => notes.map((note) => `<p class="notes">${escapeXml(note)}</p>`);

/** A table in a width, pt, its columns as wide as they are measured. */
function tableHtml(table: BriefTable | null, kind: Kind, width: number, { setting, ink }: Canvas): string {
  if (!table) return '';
  const laid = layTable(ink, table, kind, width, setting);
  const sizes = sizesOf(kind, setting.tight);
  const titled = titleInHead(kind, setting.tight);
  const at = (of: number) => pt(Math.max(laid.floor, laid.em * of));
  const all = laid.widths.reduce((sum, one) => sum + one, 0) + laid.gap * (laid.widths.length - 1);
  const columns = laid.widths.map((one, i) => {
    const share = ((one + (i === 0 ? 0 : laid.gap)) / all) * 100;
    return `<col style="width:${Math.round(share * 1000) / 1000}%">`;
  });
  const style = [
    `--main:${at(sizes.main)}`,
    `--strong:${at(sizes.strong)}`,
    `--under:${at(sizes.under)}`,
    `--gap:${pt(laid.gap)}`,
    // A rule between two rows takes a pixel of the padding that it is measured with.
    `--pad:${pt(Math.max(0, laid.pad - RULE_PT / 2))}`,
  ].join(';');
  return [
    `<table class="rows ${kind}${titled ? ' titled' : ''}" style="${style}"><caption><h2>${escapeXml(table.title)}</h2></caption>`,
    `<colgroup>${columns.join('')}</colgroup>`,
    headHtml(table, titled),
    ...table.rows.map((row) => rowHtml(row, table)),
    '</table>',
    ...notesHtml(table),
  ].join('\n');
}

/** A table of two columns, each row of it a column. */
function acrossHtml(table: BriefTable | null, { setting: { em } }: Canvas): string {
  if (!table) return '';
  const sizes = sizesOf('glide', true);
  const at = (of: number) => pt(Math.max(LEAST_PT, em * of));
  const style = `--main:${at(sizes.main)};--strong:${at(sizes.strong)};--under:${at(sizes.under)}`;
  const rows = table.rows.map(
    ({ cells: [first, second] }) =>
      `<tbody><tr><th scope="row"><span class="value">${escapeXml(first?.main.text ?? '')}</span>${(first?.under ?? []).map(line).join('')}</th><td class="strong">${escapeXml(second?.main.text ?? '')}</td></tr></tbody>`,
  );
  return [
    `<table class="rows across" style="${style}"><caption><h2>${escapeXml(acrossTitle(table))}</h2></caption>`,
    headHtml(table, false),
    ...rows,
    '</table>',
    ...notesHtml(table),
  ].join('\n');
}

function findingsHtml({ findings, findingsTitle: title }: BriefSide): string {
  if (title === null) return '';
  if (findings.length === 0) return `<p class="sound">${escapeXml(title)}</p>`;
  const items = findings.map(
    ({ severity, line: at, message }) =>
      `<li><b>${severity}</b>: ${escapeXml(message)}${at === null ? '' : ` (line ${at})`}</li>`,
  );
  return `<section class="findings"><h2>${escapeXml(title)}</h2><ul>${items.join('')}</ul></section>`;
}

function figureHtml(svg: string | undefined, width?: number): string {
  const style = width === undefined ? '' : ` style="width:${pt(width)}"`;
  return svg === undefined ? '' : `<figure${style}>${svg}</figure>`;
}

const pair = (first: number, one: string, other: string): string =>
  `<div class="pair" style="grid-template-columns:${pt(first)} minmax(0, 1fr)"><div>${one}</div><div>${other}</div></div>`;

const paragraphs = (words: readonly BriefWords[]): string =>
  `<div class="text">${words.map(({ title, sentences }) => `<section><h2>${escapeXml(title)}</h2><p>${escapeXml(sentences.join(' '))}</p></section>`).join('')}</div>`;

const runIn = (words: readonly BriefWords[]): string =>
  words
    .map(
      ({ title, sentences }) =>
        `<section class="runin"><h3>${escapeXml(title)}</h3><p>${escapeXml(sentences.join(' '))}</p></section>`,
    )
    .join('');

function sideHtml(side: BriefSide, canvas: Canvas): string {
  const { sheet, setting, paper, width, id } = canvas;
  const { em, tight } = setting;
  const sizes: { side: Size; plan: Size } = drawingSizes(setting, paper, width, side.glide !== null, side.plan);
  const view = side.side ? sideDrawing(sheet.picture, sizes.side, id) : undefined;
  const plan = side.plan ? planDrawing(sheet.picture, sizes.plan, !tight, id) : undefined;
  const legs = [findingsHtml(side), tableHtml(side.legs, 'large', width, canvas)];
  if (tight) {
    const drawings = figureHtml(view, sizes.side.width) + figureHtml(plan, sizes.plan.width);
    return [
      ...legs,
      acrossHtml(side.glide, canvas),
      drawings === '' ? '' : `<div class="drawings">${drawings}</div>`,
      tableHtml(side.speeds, 'small', width, canvas),
      tableHtml(side.fields, 'small', width, canvas),
      side.more === '' ? '' : `<p class="more">${escapeXml(side.more)}</p>`,
      runIn(side.words),
    ].join('\n');
  }
  const rest = side.glide ? width - paper.glide - em * GAP.loose : width;
  const speedWidth = side.wind ? rest - paper.wind - em * GAP.loose : rest;
  const speeds = tableHtml(side.speeds, 'small', speedWidth, canvas);
  const wind = tableHtml(side.wind, 'small', paper.wind, canvas);
  const beside = `${figureHtml(view)}${speeds === '' || wind === '' ? speeds + wind : pair(speedWidth, speeds, wind)}`;
  const glide = tableHtml(side.glide, 'glide', paper.glide, canvas);
  const text = paragraphs(side.words);
  return [
    ...legs,
    glide === '' ? beside : pair(paper.glide, glide, beside),
    tableHtml(side.fields, 'small', width, canvas),
    plan === undefined ? text : pair(sizes.plan.width, figureHtml(plan), text),
  ].join('\n');
}

function sheetHtml(sheet: BriefSheet, name: BriefPaper, ink: Ink, id: string): string {
  const paper = measured(SHEETS[name]);
  const sides = fitted(sheet, paper, ink);
  const width = paper.width - 2 * paper.side;
  const canvas: Canvas = { sheet, setting: sides, paper, width, ink, id };
  const { em, tight } = sides;
  const large: number = tight ? 1.8 : 2.1;
  const title = { size: em * large, bold: true };
  const long = ink.lines(sheet.title, width * 0.4, title).length > 2;
  const summary = tight ? SHARES.small : 1;
  return [
    `<article style="--em:${pt(em)};--below:${pt(em * (tight ? BELOW.tight : BELOW.loose))}"><table class="page" role="presentation">`,
    `<thead><tr><td><header><h1 style="font-size:${pt(em * (long ? 1.2 : large))}">${escapeXml(sheet.title)}</h1><div style="font-size:${share(summary)}">${sheet.summary.map(escapeXml).join('<br>')}</div></header></td></tr></thead>`,
    `<tfoot><tr><td><footer>${escapeXml(sheet.caution)} ${element('b', sheet.stamp)}</footer></td></tr></tfoot>`,
    '<tbody><tr><td>',
    sideHtml(sides.front, canvas),
    sides.reverse
      ? `<section class="reverse">${sideHtml(sides.reverse, { ...canvas, id: `${id}-reverse` })}</section>`
      : '',
    '</td></tr></tbody></table></article>',
  ].join('\n');
}

/** The page of some sheets, a paper or more each; of none, that says so. */
export function briefPage(sheets: readonly BriefSheet[], paper: BriefPaper = 'a4'): string {
  const title = sheets.map((sheet) => sheet.title).join(', ');
  const ink = new Ink(SCREEN_LETTERS);
  return [
    '<!DOCTYPE html>',
    '<html lang="en"><head><meta charset="utf-8">',
    `<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">`,
    '<meta name="viewport" content="width=device-width, initial-scale=1">',
    element('title', title === '' ? 'No task' : title),
    `<style>${STYLE(paper)}</style></head><body><main>`,
    ...(sheets.length === 0
      ? ['<p>This file holds no task.</p>']
      : sheets.map((sheet, i) => sheetHtml(sheet, paper, ink, `s${i + 1}`))),
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
