/** Tables of a sheet on paper: columns as wide as what they hold, rows that are never cut. */
import type { BriefCell, BriefTable } from './brief-cells.ts';
import type { Ink, Style } from './brief-pdf-ink.ts';

/** What is read at arm's length, the heights of the last glide, and what is looked up. */
export type Kind = 'large' | 'glide' | 'small';

/** Sizes as shares of the plain text's. */
const SIZES: Readonly<Record<Kind, { main: number; strong: number; under: number }>> = {
  large: { main: 1.45, strong: 1.72, under: 0.87 },
  glide: { main: 1.45, strong: 1.72, under: 0.87 },
  small: { main: 1, strong: 1, under: 0.86 },
};
const HEAD = 0.86;
const NOTE = 0.86;
const GAP = 0.9;

/** Words that take more lines than this in their column leave it. */
const MOST_LINES = 5;
/** So many lines below a value, and no more, stand in its column. */
const MOST_UNDER = 8;
/** Of what stands below a value: so much makes its column wider, in em; the rest is broken. */
const MOST_UNDER_EM = 12;

interface LaidCell {
  readonly lines: readonly { readonly text: string; readonly style: Style; readonly y: number }[];
  readonly height: number;
}

export interface LaidRow {
  /** Words that are too long for their columns, over the whole width above the cells. */
  readonly above: readonly string[];
  readonly cells: readonly LaidCell[];
  readonly cellsHeight: number;
  readonly notes: readonly string[];
  /** The rule below included. */
  readonly height: number;
}

export interface LaidTable {
  readonly width: number;
  readonly em: number;
  readonly widths: readonly number[];
  readonly heads: readonly LaidCell[];
  /** The title included. */
  readonly headHeight: number;
  /** The title left out. */
  readonly plainHeadHeight: number;
  readonly rows: readonly LaidRow[];
  readonly notes: readonly string[];
  readonly aboveStyle: Style;
  readonly noteStyle: Style;
  /** Draws the cells of a row alone; gives the y below them. */
  cells(row: LaidRow, x: number, y: number): number;
  /** Draws a row; gives the y below it. */
  row(row: LaidRow, x: number, y: number): number;
}

const alignOf = (table: BriefTable, i: number): 'left' | 'right' => (table.heads[i]?.words ? 'left' : 'right');

/** The width that a column would take if nothing in it were broken; its head may be. */
function naturalOf(ink: Ink, table: BriefTable, i: number, kind: Kind, em: number): number {
  const sizes = SIZES[kind];
  const head = table.heads[i];
  const words = `${head?.text ?? ''} ${head?.unit ?? ''}`.split(' ');
  let widest = Math.max(...words.map((word) => ink.widthOf(word, { size: em * HEAD, bold: true })));
  for (const { cells } of table.rows) {
    const cell = cells[i];
    if (!cell) continue;
    const main = em * (cell.strong ? sizes.strong : sizes.main);
    widest = Math.max(widest, ink.widthOf(cell.main.text, { size: main, bold: i === 0 || cell.strong === true }));
    for (const { text } of cell.under)
      widest = Math.max(widest, Math.min(ink.widthOf(text, { size: em * sizes.under }), em * MOST_UNDER_EM));
  }
  return widest;
}

/** Words give way first, down to a third of the table; where that is not enough, everything is set smaller. */
function widthsOf(
  ink: Ink,
  table: BriefTable,
  kind: Kind,
  width: number,
  em: number,
): { widths: number[]; em: number } {
  for (let size = em; ; size *= 0.94) {
    const gap = size * GAP;
    const natural = table.heads.map((_, i) => naturalOf(ink, table, i, kind, size));
    const words = natural.map((w, i) => (table.heads[i]?.words ? w : 0));
    const fixed = natural.reduce((sum, w, i) => sum + (table.heads[i]?.words ? 0 : w), 0);
    const room = width - gap * (natural.length - 1) - fixed;
    const wanted = words.reduce((sum, w) => sum + w, 0);
    if (wanted <= room) {
      const more = (room - wanted) / natural.length;
      return { widths: natural.map((w) => w + more), em: size };
    }
    const count = words.filter((w) => w > 0).length;
    const enough = Math.min(wanted, (width / 4) * Math.min(count, 2));
    if ((count > 0 && room >= enough) || size < em * 0.5) {
      // The wide ones give what the narrow ones do not need.
      const shares = words.map((w) => Math.min(w, Math.max(room, width / 5) / Math.max(count, 1)));
      let left = Math.max(room, width / 5) - shares.reduce((sum, w) => sum + w, 0);
      const widths = natural.map((w, i) => {
        const share = shares[i] as number;
        if (!table.heads[i]?.words) return w;
        const more = Math.min(left, w - share);
        left -= more;
        return share + more;
      });
      return { widths, em: size };
    }
  }
}

function layCell(ink: Ink, cell: BriefCell, width: number, style: Style, under: Style): LaidCell {
  const lines: { text: string; style: Style; y: number }[] = [];
  let y = 0;
  const add = (text: string, of: Style): void => {
    for (const line of ink.lines(text, width, of)) {
      lines.push({ text: line, style: of, y });
      y += ink.lineHeight(of);
    }
  };
  add(cell.main.text, style);
  for (const { text } of cell.under) add(text, under);
  return { lines, height: y };
}

/** Lays a table out in a width. */
export function layTable(ink: Ink, table: BriefTable, kind: Kind, width: number, plainEm: number): LaidTable {
  const { widths, em } = widthsOf(ink, table, kind, width, plainEm);
  const sizes = SIZES[kind];
  const pad = em * 0.14;
  const heads = table.heads.map(({ text, unit }, i): LaidCell => {
    const align = alignOf(table, i);
    const cell = { main: { text, si: null }, under: unit === '' ? [] : [{ text: unit, si: null }] };
    return layCell(ink, cell, widths[i] as number, { size: em * HEAD, align }, { size: em * HEAD, bold: true, align });
  });
  const plainHeadHeight = Math.max(...heads.map(({ height }) => height)) + em * 0.2;
  const headHeight = ink.height(table.title, width, { size: plainEm * 1.1, bold: true }) + plainHeadHeight;
  const noteStyle: Style = { size: em * NOTE };
  const aboveStyle: Style = { size: em, bold: true };
  const rows = table.rows.map(({ cells: given, notes }): LaidRow => {
    const above: string[] = [];
    const below: string[] = [];
    const cells = given.map((cell, i): BriefCell => {
      const width = widths[i] as number;
      const size = em * (cell.strong ? sizes.strong : sizes.main);
      const long = ink.lines(cell.main.text, width, { size, bold: true }).length > MOST_LINES;
      if (long) above.push(cell.main.text);
      const fits = (text: string, n: number) =>
        n < MOST_UNDER && ink.lines(text, width, { size: em * sizes.under }).length <= MOST_LINES;
      below.push(...cell.under.filter(({ text }, n) => !fits(text, n)).map(({ text }) => text));
      return {
        ...cell,
        main: long ? { text: '', si: null } : cell.main,
        under: cell.under.filter(({ text }, n) => fits(text, n)),
      };
    });
    const tallest = em * Math.max(...cells.map(({ strong }) => (strong ? sizes.strong : sizes.main)));
    const laid = cells.map((cell, i): LaidCell => {
      const size = em * (cell.strong ? sizes.strong : sizes.main);
      const align = alignOf(table, i);
      const style: Style = { size, bold: i === 0 || cell.strong === true, align };
      const made = layCell(ink, cell, widths[i] as number, style, { size: em * sizes.under, align });
      // Words of every size stand on one line.
      const down = (tallest - size) * 0.95;
      return { lines: made.lines.map((line) => ({ ...line, y: line.y + down })), height: made.height + down };
    });
    const under = [...below, ...notes.map(({ text }) => text)];
    const underLines = under.length === 0 ? [] : ink.lines(under.join('; '), width, noteStyle);
    const aboveLines = above.flatMap((text) => ink.lines(text, width, aboveStyle));
    const cellsHeight = Math.max(...laid.map((cell) => cell.height));
    const height =
      aboveLines.length * ink.lineHeight(aboveStyle) +
      cellsHeight +
      underLines.length * ink.lineHeight(noteStyle) +
      2 * pad;
    return { above: aboveLines, cells: laid, cellsHeight, notes: underLines, height };
  });
  const cells = (laid: LaidRow, x: number, y: number): number => {
    cellsAt(ink, laid.cells, widths, em, x, y);
    return y + laid.cellsHeight;
  };
  const row = (laid: LaidRow, x: number, y: number): number => {
    const at = cells(laid, x, y + pad + ink.block(laid.above, x, y + pad, width, aboveStyle));
    ink.block(laid.notes, x, at, width, noteStyle);
    ink.rule(x, y + laid.height, width, 0.5, '#777');
    return y + laid.height;
  };
  return {
    width,
    em,
    widths,
    heads,
    headHeight,
    plainHeadHeight,
    rows,
    notes: table.notes,
    aboveStyle,
    noteStyle,
    cells,
    row,
  };
}

function cellsAt(
  ink: Ink,
  cells: readonly LaidCell[],
  widths: readonly number[],
  em: number,
  x: number,
  y: number,
): void {
  let left = x;
  for (const [i, cell] of cells.entries()) {
    const width = widths[i] as number;
    for (const line of cell.lines) ink.line(line.text, left, y + line.y, width, line.style);
    left += width + em * GAP;
  }
}

const notesHeight = (ink: Ink, { notes, width, em }: LaidTable) =>
  notes.reduce((sum, note) => sum + ink.height(note, width, { size: em * NOTE }), 0);

/** How high a table is, its title and notes included. */
export function heightOfTable(ink: Ink, table: LaidTable): number {
  return table.headHeight + table.rows.reduce((sum, { height }) => sum + height, 0) + notesHeight(ink, table);
}

/** Draws a table under a title; gives the y below it. */
export function drawTable(ink: Ink, table: LaidTable, title: string, x: number, y: number): number {
  const { width, em, heads, widths } = table;
  const tallest = Math.max(...heads.map(({ height }) => height));
  const bottom = y + table.headHeight - em * 0.2;
  ink.write(title, x, y, width, { size: em * 1.1, bold: true });
  // Heads stand on the rule.
  const lowered = heads.map((head) => ({
    ...head,
    lines: head.lines.map((line) => ({ ...line, y: line.y + tallest - head.height })),
  }));
  cellsAt(ink, lowered, widths, em, x, bottom - tallest);
  ink.rule(x, y + table.headHeight, width, 1);
  let at = y + table.headHeight;
  for (const row of table.rows) at = table.row(row, x, at);
  for (const note of table.notes) at += ink.write(note, x, at, width, { size: em * NOTE });
  return at;
}
