/** Tables of a sheet on paper: columns as wide as what they hold, rows that are never cut. */
import type { BriefCell, BriefTable } from './brief-cells.ts';
import { type Ink, LEAST_PT, type Style } from './brief-ink.ts';
import type { BriefSetting } from './brief-sides.ts';

/** What is read at arm's length, the heights of the last glide, and what is looked up. */
export type Kind = 'large' | 'glide' | 'small';

/** Shares of the plain text's size. */
export interface Sizes {
  readonly main: number;
  readonly strong: number;
  readonly under: number;
}

const LOOSE: Readonly<Record<Kind, Sizes>> = {
  large: { main: 1.45, strong: 1.72, under: 0.87 },
  glide: { main: 1.45, strong: 1.72, under: 0.87 },
  small: { main: 1, strong: 1, under: 0.87 },
};
const TIGHT: Readonly<Record<Kind, Sizes>> = {
  large: { main: 1.25, strong: 1.5, under: 0.87 },
  glide: { main: 1.1, strong: 1.38, under: 0.87 },
  small: { main: 0.93, strong: 0.93, under: 0.87 },
};
export const sizesOf = (kind: Kind, tight: boolean): Sizes => (tight ? TIGHT : LOOSE)[kind];

const HEAD = 0.87;
const NOTE = 0.87;
const gapOf = (tight: boolean) => (tight ? 0.65 : 0.9);
/** Above and below a row. */
const padOf = (tight: boolean) => (tight ? 0.06 : 0.14);

/** So that what just fits is not broken by a rounding of whoever sets it. */
const ROUNDING_PT = 0.5;

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
  /** Empty where it stands in the first head. */
  readonly title: string;
  readonly em: number;
  /** No letter is smaller. */
  readonly floor: number;
  readonly gap: number;
  /** Above and below a row. */
  readonly pad: number;
  readonly widths: readonly number[];
  readonly heads: readonly LaidCell[];
  /** The title included. */
  readonly headHeight: number;
  /** The title left out. */
  readonly plainHeadHeight: number;
  readonly rows: readonly LaidRow[];
  readonly notes: readonly string[];
  readonly titleStyle: Style;
  readonly aboveStyle: Style;
  readonly noteStyle: Style;
  /** Draws the cells of a row alone; gives the y below them. */
  cells(row: LaidRow, x: number, y: number): number;
  /** Draws a row; gives the y below it. */
  row(row: LaidRow, x: number, y: number): number;
}

/** Where room is short the title stands in the head of the first column. */
export const titleInHead = (kind: Kind, tight: boolean): boolean => tight && kind !== 'glide';

const alignOf = (table: BriefTable, i: number): 'left' | 'right' => (table.heads[i]?.words ? 'left' : 'right');

/** The size of letters in a table: a share of its em, with what is left of the least size that is read. */
interface Scale {
  readonly em: number;
  readonly floor: number;
}
const at = ({ em, floor }: Scale, share: number): number => Math.max(floor, em * share);

/** The width that a column would take if nothing in it were broken; its head may be. */
function naturalOf(ink: Ink, table: BriefTable, i: number, sizes: Sizes, scale: Scale, titled: boolean): number {
  const head = table.heads[i];
  const words = titled && i === 0 ? [] : `${head?.text ?? ''} ${head?.unit ?? ''}`.split(' ');
  let widest = Math.max(0, ...words.map((word) => ink.widthOf(word, { size: at(scale, HEAD), bold: true })));
  const under: Style = { size: at(scale, sizes.under) };
  for (const { cells } of table.rows) {
    const cell = cells[i];
    if (!cell) continue;
    const main = at(scale, cell.strong ? sizes.strong : sizes.main);
    widest = Math.max(widest, ink.widthOf(cell.main.text, { size: main, bold: i === 0 || cell.strong === true }));
    for (const { text } of cell.under)
      widest = Math.max(widest, Math.min(ink.widthOf(text, under), scale.em * MOST_UNDER_EM));
  }
  return widest + ROUNDING_PT;
}

/** Words give way first; where that is not enough, everything is set smaller, down to what can still be read. */
function widthsOf(
  ink: Ink,
  table: BriefTable,
  kind: Kind,
  width: number,
  { em, tight }: BriefSetting,
): { widths: number[]; scale: Scale; gap: number } {
  const sizes = sizesOf(kind, tight);
  const titled = titleInHead(kind, tight);
  for (let size = em, floor = LEAST_PT; ; size *= 0.96) {
    // Below what can be read only where a table has room for nothing else.
    if (size < em * 0.5 && floor === LEAST_PT) {
      size = em;
      floor = 0;
    }
    const scale: Scale = { em: size, floor };
    const gap = size * gapOf(tight);
    const natural = table.heads.map((_, i) => naturalOf(ink, table, i, sizes, scale, titled));
    const words = natural.map((w, i) => (table.heads[i]?.words ? w : 0));
    const fixed = natural.reduce((sum, w, i) => sum + (table.heads[i]?.words ? 0 : w), 0);
    const room = width - gap * (natural.length - 1) - fixed;
    const wanted = words.reduce((sum, w) => sum + w, 0);
    if (wanted <= room) {
      const more = (room - wanted) / natural.length;
      return { widths: natural.map((w) => w + more), scale, gap };
    }
    const count = words.filter((w) => w > 0).length;
    const enough = Math.min(wanted, (width / (tight ? 6 : 4)) * Math.min(count, 2));
    const last = floor === 0 && size < em * 0.5;
    if ((count > 0 && room >= enough) || last) {
      // The wide ones give what the narrow ones do not need.
      const given = last ? Math.max(room, width / 5) : room;
      const shares = words.map((w) => Math.min(w, given / Math.max(count, 1)));
      let left = given - shares.reduce((sum, w) => sum + w, 0);
      const widths = natural.map((w, i) => {
        const share = shares[i] as number;
        if (!table.heads[i]?.words) return w;
        const more = Math.min(left, w - share);
        left -= more;
        return share + more;
      });
      return { widths, scale, gap };
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
export function layTable(ink: Ink, table: BriefTable, kind: Kind, width: number, setting: BriefSetting): LaidTable {
  const { em: plainEm, tight } = setting;
  const { widths, scale, gap } = widthsOf(ink, table, kind, width, setting);
  const { em } = scale;
  const sizes = sizesOf(kind, tight);
  const pad = em * padOf(tight);
  const titled = titleInHead(kind, tight);
  const titleStyle: Style = { size: Math.max(LEAST_PT, plainEm * 1.1), bold: true };
  const heads = table.heads.map(({ text, unit }, i): LaidCell => {
    const align = alignOf(table, i);
    const size = at(scale, HEAD);
    if (titled && i === 0) {
      // The title may reach over what the next column has above its last line, which words seldom fill.
      const cell = { main: { text: table.title, si: null }, under: [] };
      return layCell(
        ink,
        cell,
        widths[i] as number,
        { ...titleStyle, size: Math.min(titleStyle.size, plainEm) },
        { size },
      );
    }
    const cell = { main: { text, si: null }, under: unit === '' ? [] : [{ text: unit, si: null }] };
    return layCell(ink, cell, widths[i] as number, { size, align }, { size, bold: true, align });
  });
  const plainHeadHeight = Math.max(...heads.map(({ height }) => height)) + em * 0.2;
  const title = titled ? '' : table.title;
  const headHeight = (title === '' ? 0 : ink.height(title, width, titleStyle)) + plainHeadHeight;
  const noteStyle: Style = { size: at(scale, NOTE) };
  const aboveStyle: Style = { size: at(scale, 1), bold: true };
  const rows = table.rows.map(({ cells: given, notes }): LaidRow => {
    const above: string[] = [];
    const below: string[] = [];
    const cells = given.map((cell, i): BriefCell => {
      const width = widths[i] as number;
      const size = at(scale, cell.strong ? sizes.strong : sizes.main);
      const long = ink.lines(cell.main.text, width, { size, bold: true }).length > MOST_LINES;
      if (long) above.push(cell.main.text);
      const fits = (text: string, n: number) =>
        n < MOST_UNDER && ink.lines(text, width, { size: at(scale, sizes.under) }).length <= MOST_LINES;
      below.push(...cell.under.filter(({ text }, n) => !fits(text, n)).map(({ text }) => text));
      return {
        ...cell,
        main: long ? { text: '', si: null } : cell.main,
        under: cell.under.filter(({ text }, n) => fits(text, n)),
      };
    });
    const tallest = Math.max(...cells.map(({ strong }) => at(scale, strong ? sizes.strong : sizes.main)));
    const laid = cells.map((cell, i): LaidCell => {
      const size = at(scale, cell.strong ? sizes.strong : sizes.main);
      const align = alignOf(table, i);
      const style: Style = { size, bold: i === 0 || cell.strong === true, align };
      const made = layCell(ink, cell, widths[i] as number, style, { size: at(scale, sizes.under), align });
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
    cellsAt(ink, laid.cells, widths, gap, x, y);
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
    title,
    em,
    floor: scale.floor,
    gap,
    pad,
    widths,
    heads,
    headHeight,
    plainHeadHeight,
    rows,
    notes: table.notes,
    titleStyle,
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
  gap: number,
  x: number,
  y: number,
): void {
  let left = x;
  for (const [i, cell] of cells.entries()) {
    const width = widths[i] as number;
    for (const line of cell.lines) ink.line(line.text, left, y + line.y, width, line.style);
    left += width + gap;
  }
}

const notesHeight = (ink: Ink, { notes, width, noteStyle }: LaidTable) =>
  notes.reduce((sum, note) => sum + ink.height(note, width, noteStyle), 0);

/** How high a table is, its title and notes included. */
export function heightOfTable(ink: Ink, table: LaidTable): number {
  return table.headHeight + table.rows.reduce((sum, { height }) => sum + height, 0) + notesHeight(ink, table);
}

/** Draws a table under its title; gives the y below it. */
export function drawTable(ink: Ink, table: LaidTable, x: number, y: number): number {
  const { width, em, heads, widths, gap, noteStyle } = table;
  const tallest = Math.max(...heads.map(({ height }) => height));
  const bottom = y + table.headHeight - em * 0.2;
  if (table.title !== '') ink.write(table.title, x, y, width, table.titleStyle);
  // Heads stand on the rule.
  const lowered = heads.map((head) => ({
    ...head,
    lines: head.lines.map((line) => ({ ...line, y: line.y + tallest - head.height })),
  }));
  cellsAt(ink, lowered, widths, gap, x, bottom - tallest);
  ink.rule(x, y + table.headHeight, width, 1);
  let below = y + table.headHeight;
  for (const row of table.rows) below = table.row(row, x, below);
  for (const note of table.notes) below += ink.write(note, x, below, width, noteStyle);
  return below;
}

export interface LaidAcross {
  readonly height: number;
  draw(x: number, y: number): void;
}

/** What stands below a value of a table across is broken to this width, in em. */
export const ACROSS_EM = 7;
/** Between two columns of a table across, in em. */
export const ACROSS_GAP_EM = 0.6;

/** The title of a table across, which says what its lines are: `…: NM to go, below it ft MSL at least`. */
export function acrossTitle({ title, heads: [top, bottom] }: BriefTable): string {
  return `${title}: ${top?.unit} ${top?.text}, below it ${bottom?.unit} ${bottom?.text}`;
}

/** A table of two columns set across: each row a column, in as many bands as it takes. */
export function acrossOf(ink: Ink, table: BriefTable, width: number, { em }: BriefSetting): LaidAcross {
  const sizes = sizesOf('glide', true);
  const scale: Scale = { em, floor: LEAST_PT };
  const small: Style = { size: at(scale, HEAD) };
  const main: Style = { size: at(scale, sizes.main), align: 'right' };
  const strong: Style = { size: at(scale, sizes.strong), bold: true, align: 'right' };
  const under: Style = { size: at(scale, sizes.under), align: 'right' };
  const title: Style = { size: Math.max(LEAST_PT, em), bold: true };
  const most = em * ACROSS_EM;
  const gap = em * ACROSS_GAP_EM;
  const columns = table.rows.map(({ cells: [first, second] }) => {
    const [top, bottom, labels] = [
      first?.main.text ?? '',
      second?.main.text ?? '',
      first?.under.map(({ text }) => text),
    ];
    const wide = Math.min(most, Math.max(0, ...(labels ?? []).map((text) => ink.widthOf(text, under))));
    return {
      top,
      bottom,
      width: Math.max(ink.widthOf(top, main), ink.widthOf(bottom, strong), wide) + ROUNDING_PT,
      labels: labels ?? [],
    };
  });
  const bands: (typeof columns)[] = [[]];
  let left = -gap;
  for (const column of columns) {
    if (left + gap + column.width > width && (bands.at(-1) as typeof columns).length > 0) {
      bands.push([]);
      left = -gap;
    }
    (bands.at(-1) as typeof columns).push(column);
    left += gap + column.width;
  }
  const linesOf = (column: (typeof columns)[number]) =>
    column.labels.flatMap((text) => ink.lines(text, column.width, under));
  const values = ink.lineHeight(main) + ink.lineHeight(strong);
  const heightOf = (band: typeof columns) =>
    values + Math.max(0, ...band.map((column) => linesOf(column).length)) * ink.lineHeight(under) + em * 0.2;
  const said = acrossTitle(table);
  const titleHeight = ink.height(said, width, title);
  const notes = table.notes.reduce((sum, note) => sum + ink.height(note, width, small), 0);
  return {
    height: titleHeight + bands.reduce((sum, band) => sum + heightOf(band), 0) + notes,
    draw(x, y) {
      let below = y + ink.write(said, x, y, width, title);
      for (const band of bands) {
        ink.rule(x, below, width, 0.5, '#777');
        const second = below + ink.lineHeight(main);
        let at = x;
        for (const column of band) {
          ink.line(ink.printable(column.top), at, below, column.width, main);
          ink.line(ink.printable(column.bottom), at, second, column.width, strong);
          ink.block(linesOf(column), at, below + values, column.width, under);
          at += column.width + gap;
        }
        below += heightOf(band);
      }
      for (const note of table.notes) below += ink.write(note, x, below, width, small);
    },
  };
}
