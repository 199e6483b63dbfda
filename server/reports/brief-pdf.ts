/** The sheet as PDF: the same sheet as `brief-html.ts` prints, with its letters in the file. */
import PDFDocument from 'pdfkit';
import type { BriefTable } from './brief-cells.ts';
import { planDrawing, type Size, sideDrawing } from './brief-draw.ts';
import { type BriefSheet, findingsTitle } from './brief-model.ts';
import { Ink, Letters, type Style } from './brief-pdf-ink.ts';
import { drawTable, heightOfTable, type Kind, layTable } from './brief-pdf-table.ts';

/** Both as they come: WOFF or TrueType. */
export interface BriefFonts {
  readonly regular: Uint8Array;
  readonly bold: Uint8Array;
}

export interface PdfOptions {
  readonly paper: 'a4' | 'a5';
  readonly fonts: BriefFonts;
  /** When the sheet is made, ms since 1970: the file tells it. */
  readonly madeMs: number;
}

const MM = 72 / 25.4;

interface Paper {
  readonly width: number;
  readonly height: number;
  readonly side: number;
  readonly top: number;
  readonly bottom: number;
  /** Of plain text, pt. */
  readonly size: number;
  /** Of the column of the last glide. */
  readonly glide: number;
  readonly wind: number;
}

const PAPERS: Readonly<Record<PdfOptions['paper'], Paper>> = {
  a4: {
    width: 595.28,
    height: 841.89,
    side: 11 * MM,
    top: 9 * MM,
    bottom: 9 * MM,
    size: 9,
    glide: 44 * MM,
    wind: 38 * MM,
  },
  a5: {
    width: 419.53,
    height: 595.28,
    side: 8 * MM,
    top: 7 * MM,
    bottom: 7 * MM,
    size: 7.4,
    glide: 36 * MM,
    wind: 31 * MM,
  },
};

/** Text is set smaller, down to what can still be read, where a sheet then fits on one page. */
const SHARES = [1, 0.97, 0.94, 0.91, 0.88, 0.85];

/** What a name may take in the header and the footer of every page. */
const MOST_HEADER_LINES = 4;

/** One sheet being set: where it has got to on which page. */
class Setter {
  private readonly ink: Ink;
  private readonly sheet: BriefSheet;
  private readonly paper: Paper;
  private readonly id: string;
  private readonly width: number;
  private readonly em: number;
  private readonly footerHeight: number;
  private readonly bottom: number;
  private y = 0;
  private top = 0;
  pages = 0;

  constructor(ink: Ink, sheet: BriefSheet, paper: Paper, share: number, id: string) {
    this.ink = ink;
    this.sheet = sheet;
    this.paper = paper;
    this.id = id;
    this.em = paper.size * share;
    this.width = paper.width - 2 * paper.side;
    this.footerHeight = this.footer().reduce((sum, [lines, style]) => sum + lines.length * ink.lineHeight(style), 6);
    this.bottom = paper.height - paper.bottom - this.footerHeight;
  }

  private capped(text: string, width: number, style: Style): [readonly string[], Style] {
    return [this.ink.capped(text, width, style, MOST_HEADER_LINES), style];
  }

  private footer(): [readonly string[], Style][] {
    const size = this.em * 0.86;
    const plain: Style = { size };
    return [
      [this.ink.lines(this.sheet.caution, this.width, plain), plain],
      this.capped(this.sheet.stamp, this.width - 5 * size, { size, bold: true }),
    ];
  }

  /** The title as large as it can be set in a few lines. */
  private title(width: number): [readonly string[], Style] {
    const sizes = [2.1, 1.6, 1.2].map((of) => ({ size: this.em * of, bold: true }));
    const fitting = sizes.find((style) => this.ink.lines(this.sheet.title, width, style).length <= 2);
    return this.capped(this.sheet.title, width, fitting ?? (sizes.at(-1) as Style));
  }

  private page(): void {
    const { ink, paper, em, width, sheet } = this;
    ink.page(paper.width, paper.height);
    this.pages += 1;
    const x = paper.side;
    const titleWidth = width * 0.4;
    const [title, titleStyle] = this.title(titleWidth);
    const summary = sheet.summary.map((text) => this.capped(text, width * 0.58, { size: em, align: 'right' }));
    const left = title.length * ink.lineHeight(titleStyle);
    const right = summary.reduce((sum, [lines, style]) => sum + lines.length * ink.lineHeight(style), 0);
    const height = Math.max(left, right);
    ink.block(title, x, paper.top + height - left, titleWidth, titleStyle);
    let at = paper.top + height - right;
    for (const [lines, style] of summary) at += ink.block(lines, x + width * 0.42, at, width * 0.58, style);
    ink.rule(x, paper.top + height + 2.5, width, 1.6);
    let foot = this.bottom + 6;
    ink.rule(x, foot - 3, width, 0.8);
    for (const [lines, style] of this.footer()) foot += ink.block(lines, x, foot, width, style);
    this.top = paper.top + height + 8;
    this.y = this.top;
  }

  /** What the header and the footer had to cut, once and whole. */
  private whole(): void {
    const { sheet, em, width } = this;
    const cut = (text: string, [lines]: [readonly string[], Style]) =>
      lines.at(-1)?.endsWith('…') && !text.endsWith('…');
    const style: Style = { size: em, bold: true };
    if (cut(sheet.title, this.title(width * 0.4))) this.words(sheet.title, style);
    for (const text of sheet.summary)
      if (cut(text, this.capped(text, width * 0.58, { size: em }))) this.words(text, style);
    if (cut(sheet.stamp, this.capped(sheet.stamp, width - 5 * em * 0.86, { size: em * 0.86, bold: true })))
      this.words(sheet.stamp, style);
  }

  /** Writes which page of how many the one is that was turned to. */
  number(page: number): void {
    const { paper, em } = this;
    const y = paper.height - paper.bottom - em * 0.86 * 1.2;
    this.ink.write(`${page} / ${this.pages}`, paper.side, y, this.width, { size: em * 0.86, align: 'right' });
  }

  /** Makes sure of some height below; on a fresh page there is as much as there is. */
  private room(height: number): void {
    if (this.y + height > this.bottom && this.y > this.top) this.page();
  }

  /** Words over the whole width, a line at a time, so that any length flows on. */
  private words(text: string, style: Style, x = this.paper.side, width = this.width): void {
    for (const line of this.ink.lines(text, width, style)) {
      this.room(this.ink.lineHeight(style));
      this.ink.line(line, x, this.y, width, style);
      this.y += this.ink.lineHeight(style);
    }
  }

  private findings(): void {
    const { sheet, em, ink } = this;
    const title = findingsTitle(sheet.findings);
    if (sheet.findings.length === 0) {
      this.words(title, { size: em });
      this.y += em * 0.5;
      return;
    }
    const inset = em * 0.6;
    const style: Style = { size: em * 1.06 };
    const items = sheet.findings.map(
      ({ severity, message, line }) => `${severity.toUpperCase()}: ${message}${line === null ? '' : ` (line ${line})`}`,
    );
    const inner = this.width - 2 * inset;
    let boxTop = this.y;
    const close = (): void => {
      ink.box(this.paper.side + 1, boxTop + 1, this.width - 2, this.y - boxTop + em * 0.35, 2);
    };
    this.y += em * 0.4;
    this.words(title, { size: em * 1.1, bold: true }, this.paper.side + inset, inner);
    for (const item of items) {
      for (const line of ink.lines(item, inner, style)) {
        if (this.y + ink.lineHeight(style) + em * 0.4 > this.bottom) {
          close();
          this.page();
          boxTop = this.y;
          this.y += em * 0.4;
        }
        ink.line(line, this.paper.side + inset, this.y, inner, style);
        this.y += ink.lineHeight(style);
      }
      this.y += em * 0.15;
    }
    close();
    this.y += em * 0.9;
  }

  /** A table that flows over pages, its heads repeated. */
  private flow(table: BriefTable | null, kind: Kind): void {
    if (!table) return;
    const layout = layTable(this.ink, table, kind, this.width, this.em);
    const bare = { ...layout, rows: [], notes: [] };
    const long = this.ink.lines(table.title, this.width, { size: this.em * 1.1, bold: true }).length > 3;
    if (long) this.words(table.title, { size: this.em * 1.1, bold: true });
    // The height of a title that stands in one line.
    const lineOfTitle = this.ink.lineHeight({ size: this.em * 1.1 });
    const headHeight = long ? layout.plainHeadHeight + lineOfTitle : layout.headHeight;
    const heads = (title: string, height: number) =>
      drawTable(this.ink, { ...bare, headHeight: height }, title, this.paper.side, this.y);
    this.room(headHeight + Math.min(layout.rows[0]?.height ?? 0, (this.bottom - this.top) / 2));
    this.y = heads(long ? '' : table.title, headHeight);
    const again = (): void => {
      this.page();
      this.y = heads('continued', layout.plainHeadHeight + lineOfTitle);
    };
    for (const row of layout.rows) {
      if (this.y + row.height > this.bottom && this.y > this.top) again();
      if (this.y + row.height <= this.bottom) {
        this.y = layout.row(row, this.paper.side, this.y);
        continue;
      }
      // Longer than a page: line by line.
      const flow = (lines: readonly string[], style: Style): void => {
        for (const line of lines) {
          if (this.y + this.ink.lineHeight(style) > this.bottom) again();
          this.ink.line(line, this.paper.side, this.y, this.width, style);
          this.y += this.ink.lineHeight(style);
        }
      };
      flow(row.above, layout.aboveStyle);
      if (this.y + row.cellsHeight > this.bottom) again();
      this.y = layout.cells(row, this.paper.side, this.y);
      flow(row.notes, layout.noteStyle);
    }
    for (const note of table.notes) this.words(note, { size: this.em * 0.86 });
    this.y += this.em * 0.6;
  }

  /** A table in a column; gives the y below it. */
  private column(table: BriefTable | null, kind: Kind, x: number, y: number, width: number): number {
    if (!table) return y;
    const layout = layTable(this.ink, table, kind, width, this.em);
    return drawTable(this.ink, layout, table.title, x, y) + this.em * 0.6;
  }

  private heightIn(table: BriefTable | null, kind: Kind, width: number): number {
    return table ? heightOfTable(this.ink, layTable(this.ink, table, kind, width, this.em)) + this.em * 0.6 : 0;
  }

  /** The last glide beside the side view, the speeds and the wind; one below the other where that is too high. */
  private glides(): void {
    const { sheet, paper, em, width } = this;
    const gap = em * 1.6;
    const glideWidth = sheet.glide ? paper.glide : 0;
    const rest = width - glideWidth - (sheet.glide ? gap : 0);
    const small = paper.size < 9;
    const size: Size = { width: rest, height: small ? 120 : 135, fontSize: small ? 7 : 8 };
    const svg = sideDrawing(sheet.picture, size, this.id);
    const drawn = svg === undefined ? 0 : size.height + em * 0.6;
    const speedWidth = sheet.wind ? rest - paper.wind - em : rest;
    const below = Math.max(
      this.heightIn(sheet.speeds, 'small', speedWidth),
      this.heightIn(sheet.wind, 'small', paper.wind),
    );
    const height = Math.max(this.heightIn(sheet.glide, 'glide', glideWidth), drawn + below);
    if (height > this.bottom - this.top) {
      this.flow(sheet.glide, 'glide');
      if (svg !== undefined) {
        this.room(drawn);
        this.ink.svg(svg, paper.side, this.y, size.width, size.height);
        this.y += drawn;
      }
      this.flow(sheet.speeds, 'small');
      this.flow(sheet.wind, 'small');
      return;
    }
    this.room(height);
    const x = paper.side + glideWidth + (sheet.glide ? gap : 0);
    this.column(sheet.glide, 'glide', paper.side, this.y, glideWidth);
    if (svg !== undefined) this.ink.svg(svg, x, this.y, size.width, size.height);
    this.column(sheet.speeds, 'small', x, this.y + drawn, speedWidth);
    this.column(sheet.wind, 'small', x + speedWidth + (sheet.speeds ? em : 0), this.y + drawn, paper.wind);
    this.y += height;
  }

  private paragraphs(x: number, width: number): void {
    const { em, sheet, ink } = this;
    const text: Style = { size: em * 0.93 };
    const heading: Style = { size: em * 1.1, bold: true };
    for (const { title, sentences } of sheet.words) {
      this.room(ink.lineHeight(heading) + ink.lineHeight(text));
      this.words(title, heading, x, width);
      this.words(sentences.join(' '), text, x, width);
      this.y += em * 0.35;
    }
  }

  /** The plan view beside the words, where both fit on a page. */
  private plans(): void {
    const { sheet, paper, em, width, ink } = this;
    const small = paper.size < 9;
    const planWidth = (width - em * 1.6) * 0.45;
    const size: Size = { width: planWidth, height: small ? 150 : 150, fontSize: small ? 7 : 8 };
    const svg = planDrawing(sheet.picture, size, this.id);
    const x = paper.side + planWidth + em * 1.6;
    const beside = width - planWidth - em * 1.6;
    const words = sheet.words.reduce(
      (sum, { sentences }) =>
        sum +
        ink.lineHeight({ size: em * 1.1, bold: true }) +
        ink.height(sentences.join(' '), beside, { size: em * 0.93 }) +
        em * 0.35,
      0,
    );
    const height = Math.max(size.height, words);
    if (svg === undefined || height > this.bottom - this.top) {
      if (svg !== undefined) {
        this.room(size.height);
        ink.svg(svg, paper.side, this.y, size.width, size.height);
        this.y += size.height + em * 0.6;
      }
      this.paragraphs(paper.side, width);
      return;
    }
    this.room(height);
    const from = this.y;
    ink.svg(svg, paper.side, from, size.width, size.height);
    this.paragraphs(x, beside);
    this.y = Math.max(this.y, from + size.height);
  }

  set(): void {
    this.page();
    this.whole();
    this.findings();
    this.flow(this.sheet.legs, 'large');
    this.glides();
    this.flow(this.sheet.fields, 'small');
    this.plans();
  }
}

function documentOf(sheets: readonly BriefSheet[], { madeMs, fonts }: PdfOptions): PDFKit.PDFDocument {
  const made = new Date(madeMs);
  const doc = new PDFDocument({
    autoFirstPage: false,
    bufferPages: true,
    margin: 0,
    lang: 'en',
    displayTitle: true,
    pdfVersion: '1.7',
    font: '',
    info: {
      Title: sheets.map(({ title }) => title).join(', ') || 'No task',
      Creator: 'Legwise',
      Producer: 'Legwise',
      CreationDate: made,
      ModDate: made,
    },
  });
  doc.registerFont('regular', fonts.regular as Buffer);
  doc.registerFont('bold', fonts.bold as Buffer);
  return doc;
}

/** The largest share at which the sheet takes one page; all of its size where none does. */
function shareOf(sheet: BriefSheet, paper: Paper, letters: Letters): number {
  for (const share of SHARES) {
    const trial = new Setter(new Ink(letters), sheet, paper, share, 'trial');
    trial.set();
    if (trial.pages === 1) return share;
  }
  return 1;
}

/**
 * The sheets as one PDF file: a page each where that can be, of the size asked; a long one flows on, its header
 * repeated. What the fonts cannot print is shown by its number, `<U+65E5>`. Rejects for fonts that are none.
 */
export function briefPdf(sheets: readonly BriefSheet[], options: PdfOptions): Promise<Uint8Array> {
  return new Promise((resolve, reject) => {
    const letters = new Letters(options.fonts.regular, options.fonts.bold);
    const doc = documentOf(sheets, options);
    const chunks: Uint8Array[] = [];
    doc.on('data', (chunk: Uint8Array) => chunks.push(chunk));
    doc.on('error', reject);
    doc.on('end', () => {
      const bytes = new Uint8Array(chunks.reduce((sum, { length }) => sum + length, 0));
      let at = 0;
      for (const chunk of chunks) {
        bytes.set(chunk, at);
        at += chunk.length;
      }
      resolve(bytes);
    });
    const ink = new Ink(letters, doc);
    const paper = PAPERS[options.paper];
    let pages = 0;
    for (const [i, sheet] of sheets.entries()) {
      const share = options.paper === 'a4' ? shareOf(sheet, paper, letters) : 1;
      const setter = new Setter(ink, sheet, paper, share, `s${i + 1}`);
      setter.set();
      for (let page = 1; page <= setter.pages; page++) {
        doc.switchToPage(pages + page - 1);
        setter.number(page);
      }
      pages += setter.pages;
    }
    if (sheets.length === 0) {
      ink.page(paper.width, paper.height);
      ink.write('This file holds no task.', paper.side, paper.top, paper.width - 2 * paper.side, { size: paper.size });
    }
    doc.end();
  });
}
