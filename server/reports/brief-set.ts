/** Sets a sheet on paper: what stands where, and whether it fits. It draws with a pen, or only measures without. */
import type { BriefTable } from './brief-cells.ts';
import { drawnOf, planDrawing, type Size, sideDrawing } from './brief-draw.ts';
import { type Ink, type Style, sized } from './brief-ink.ts';
import type { BriefSheet } from './brief-model.ts';
import {
  type BriefSetting,
  type BriefSide,
  type BriefSides,
  type BriefWords,
  fittingOf,
  flowing,
} from './brief-sides.ts';
import { acrossOf, drawTable, heightOfTable, type Kind, layTable } from './brief-table.ts';

export const PAPERS = ['a4', 'a5'] as const;
export type BriefPaper = (typeof PAPERS)[number];

const MM = 72 / 25.4;

/** pt. */
export interface Paper {
  readonly width: number;
  readonly height: number;
  readonly side: number;
  readonly top: number;
  readonly bottom: number;
  /** Of the columns of the last glide and of the wind, beside others. */
  readonly glide: number;
  readonly wind: number;
  /** Of the drawings: as usual, where room is short, and where it is shorter. */
  readonly drawn: { readonly side: number; readonly plan: number; readonly tight: number; readonly low: number };
}

export const SHEETS: Readonly<Record<BriefPaper, Paper>> = {
  a4: {
    width: 595.28,
    height: 841.89,
    side: 11 * MM,
    top: 9 * MM,
    bottom: 9 * MM,
    glide: 44 * MM,
    wind: 38 * MM,
    drawn: { side: 120, plan: 150, tight: 132, low: 100 },
  },
  a5: {
    width: 419.53,
    height: 595.28,
    side: 6 * MM,
    top: 6 * MM,
    bottom: 6 * MM,
    glide: 36 * MM,
    wind: 31 * MM,
    drawn: { side: 100, plan: 130, tight: 104, low: 86 },
  },
};

/** What a name may take in the header and the footer of every page. */
const MOST_HEADER_LINES = 4;

/** Sizes of the words of a sheet, as shares of plain text. */
export const SHARES = { heading: 1.1, finding: 1, words: 0.95, small: 0.86 } as const;
/** Of the width: what the side view has beside the plan view. */
export const SIDE_SHARE = 0.62;
/** Of the width: what the plan view has beside words. */
export const PLAN_SHARE = 0.45;

/** The gap between columns, and the room below a piece, in em. */
export const GAP = { loose: 1.6, tight: 0.9 } as const;
export const BELOW = { loose: 0.6, tight: 0.35 } as const;

/** The sizes of both drawings of a side, pt; `width` is that between the margins. */
export function drawingSizes(setting: BriefSetting, paper: Paper, width: number, glide: boolean, plan: boolean) {
  const { em, tight, low } = setting;
  const gap = em * (tight ? GAP.tight : GAP.loose);
  const fontSize = 8;
  if (tight) {
    const height = low ? paper.drawn.low : paper.drawn.tight;
    const sideWidth = plan ? (width - gap) * SIDE_SHARE : width;
    return {
      side: { width: sideWidth, height, fontSize },
      plan: { width: width - gap - (width - gap) * SIDE_SHARE, height, fontSize },
    };
  }
  return {
    side: { width: glide ? width - paper.glide - gap : width, height: paper.drawn.side, fontSize },
    plan: { width: (width - gap) * PLAN_SHARE, height: paper.drawn.plan, fontSize },
  };
}

/** The words of an item of the findings, as the PDF has them. */
const findingText = ({ severity, message, line }: BriefSheet['findings'][number]): string =>
  `${severity.toUpperCase()}: ${message}${line === null ? '' : ` (line ${line})`}`;

/** One sheet being set: where it has got to on which page. */
export class Setter {
  private readonly ink: Ink;
  private readonly sheet: BriefSheet;
  private readonly paper: Paper;
  private readonly setting: BriefSetting;
  private readonly id: string;
  private readonly width: number;
  private readonly em: number;
  private readonly below: number;
  private readonly bottom: number;
  private y = 0;
  private top = 0;
  pages = 0;

  constructor(ink: Ink, sheet: BriefSheet, paper: Paper, setting: BriefSetting, id: string) {
    this.ink = ink;
    this.sheet = sheet;
    this.paper = paper;
    this.setting = setting;
    this.id = id;
    this.em = setting.em;
    this.below = setting.em * (setting.tight ? BELOW.tight : BELOW.loose);
    this.width = paper.width - 2 * paper.side;
    const { caution, stamp, style, beside } = this.footer();
    const lines = caution.length + (beside === null ? stamp.length : 0);
    this.bottom = paper.height - paper.bottom - lines * ink.lineHeight(style) - 5;
  }

  private style(share: number, bold = false): Style {
    return { size: sized(this.em, share), bold };
  }

  private capped(text: string, width: number, style: Style): [readonly string[], Style] {
    return [this.ink.capped(text, width, style, MOST_HEADER_LINES), style];
  }

  /** What stands below every page; the stamp behind the caution where its last line has room. */
  private footer(): { caution: readonly string[]; stamp: readonly string[]; style: Style; beside: number | null } {
    const { ink, sheet, width } = this;
    const style = this.style(SHARES.small);
    const bold: Style = { ...style, bold: true };
    const caution = ink.lines(sheet.caution, width, style);
    const numbers = ink.widthOf('  10 / 10', style);
    const from = ink.widthOf(`${caution.at(-1) ?? ''}   `, style);
    if (from + ink.widthOf(sheet.stamp, bold) + numbers <= width)
      return { caution, stamp: [ink.printable(sheet.stamp)], style, beside: from };
    return { caution, stamp: ink.capped(sheet.stamp, width - numbers, bold, MOST_HEADER_LINES), style, beside: null };
  }

  /** The title as large as it can be set in a few lines. */
  private title(width: number): [readonly string[], Style] {
    const sizes = (this.setting.tight ? [1.8, 1.4, 1.2] : [2.1, 1.6, 1.2]).map((of) => this.style(of, true));
    const fitting = sizes.find((style) => this.ink.lines(this.sheet.title, width, style).length <= 2);
    return this.capped(this.sheet.title, width, fitting ?? (sizes.at(-1) as Style));
  }

  private summary(width: number): [readonly string[], Style][] {
    const style: Style = { ...this.style(this.setting.tight ? SHARES.small : 1), align: 'right' };
    return this.sheet.summary.map((text) => this.capped(text, width, style));
  }

  page(): void {
    const { ink, paper, width } = this;
    ink.page(paper.width, paper.height);
    this.pages += 1;
    const x = paper.side;
    const titleWidth = width * 0.4;
    const [title, titleStyle] = this.title(titleWidth);
    const summary = this.summary(width * 0.58);
    const left = title.length * ink.lineHeight(titleStyle);
    const right = summary.reduce((sum, [lines, style]) => sum + lines.length * ink.lineHeight(style), 0);
    const height = Math.max(left, right);
    ink.block(title, x, paper.top + height - left, titleWidth, titleStyle);
    let at = paper.top + height - right;
    for (const [lines, style] of summary) at += ink.block(lines, x + width * 0.42, at, width * 0.58, style);
    ink.rule(x, paper.top + height + 2, width, 1.6);
    const { caution, stamp, style, beside } = this.footer();
    const foot = this.bottom + 5;
    ink.rule(x, foot - 2.5, width, 0.8);
    const below = foot + ink.block(caution, x, foot, width, style);
    const bold: Style = { ...style, bold: true };
    if (beside === null) ink.block(stamp, x, below, width, bold);
    else ink.line(stamp[0] ?? '', x + beside, below - ink.lineHeight(style), width, bold);
    this.top = paper.top + height + 6;
    this.y = this.top;
  }

  /** What the header and the footer had to cut, once and whole. */
  private whole(): void {
    const { sheet, width } = this;
    const cut = (text: string, [lines]: [readonly string[], Style]) =>
      lines.at(-1)?.endsWith('…') && !text.endsWith('…');
    const style = this.style(1, true);
    if (cut(sheet.title, this.title(width * 0.4))) this.words(sheet.title, style);
    const summary = this.summary(width * 0.58);
    for (const [i, text] of sheet.summary.entries())
      if (cut(text, summary[i] as [readonly string[], Style])) this.words(text, style);
    if (cut(sheet.stamp, [this.footer().stamp, style])) this.words(sheet.stamp, style);
  }

  /** Writes which page of how many the one is that was turned to. */
  number(page: number): void {
    const { paper } = this;
    const style: Style = { ...this.style(SHARES.small), align: 'right' };
    const y = paper.height - paper.bottom - this.ink.lineHeight(style);
    this.ink.write(`${page} / ${this.pages}`, paper.side, y, this.width, style);
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

  private findings({ findings, findingsTitle: title }: BriefSide): void {
    const { em, ink } = this;
    if (title === null) return;
    if (findings.length === 0) {
      this.words(title, this.style(SHARES.finding));
      this.y += this.below;
      return;
    }
    const inset = em * 0.6;
    const style = this.style(SHARES.finding);
    const inner = this.width - 2 * inset;
    let boxTop = this.y;
    const close = (): void => {
      ink.box(this.paper.side + 1, boxTop + 1, this.width - 2, this.y - boxTop + em * 0.3, 2);
    };
    this.y += em * 0.4;
    this.words(title, this.style(SHARES.heading, true), this.paper.side + inset, inner);
    for (const item of findings.map(findingText)) {
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
      this.y += em * 0.1;
    }
    close();
    this.y += em * 0.5 + this.below;
  }

  /** A table that flows over pages, its heads repeated. */
  private flow(table: BriefTable | null, kind: Kind): void {
    if (!table) return;
    const { ink, width, em } = this;
    const layout = layTable(ink, table, kind, width, this.setting);
    const bare = { ...layout, rows: [], notes: [] };
    const heading = this.style(SHARES.heading, true);
    const long = ink.lines(layout.title, width, heading).length > 3;
    if (long) this.words(layout.title, heading);
    // The height of a title that stands in one line.
    const lineOfTitle = ink.lineHeight(heading);
    const headHeight = long ? layout.plainHeadHeight + lineOfTitle : layout.headHeight;
    const heads = (title: string, height: number) =>
      drawTable(ink, { ...bare, headHeight: height, title }, this.paper.side, this.y);
    this.room(headHeight + Math.min(layout.rows[0]?.height ?? 0, (this.bottom - this.top) / 2));
    this.y = heads(long ? '' : layout.title, headHeight);
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
          if (this.y + ink.lineHeight(style) > this.bottom) again();
          ink.line(line, this.paper.side, this.y, width, style);
          this.y += ink.lineHeight(style);
        }
      };
      flow(row.above, layout.aboveStyle);
      if (this.y + row.cellsHeight > this.bottom) again();
      this.y = layout.cells(row, this.paper.side, this.y);
      flow(row.notes, layout.noteStyle);
    }
    for (const note of table.notes) this.words(note, this.style(SHARES.small));
    this.y += this.setting.tight ? this.below : em * BELOW.loose;
  }

  /** A table in a column; gives the y below it. */
  private column(table: BriefTable | null, kind: Kind, x: number, y: number, width: number): number {
    if (!table) return y;
    return drawTable(this.ink, layTable(this.ink, table, kind, width, this.setting), x, y) + this.below;
  }

  private heightIn(table: BriefTable | null, kind: Kind, width: number): number {
    return table ? heightOfTable(this.ink, layTable(this.ink, table, kind, width, this.setting)) + this.below : 0;
  }

  private sizes({ glide, plan }: BriefSide): { side: Size; plan: Size } {
    return drawingSizes(this.setting, this.paper, this.width, glide !== null, plan);
  }

  private sideView(x: number, y: number, size: Size): void {
    this.ink.svg(() => sideDrawing(this.sheet.picture, size, this.id), x, y, size.width, size.height);
  }

  private planView(x: number, y: number, size: Size): void {
    this.ink.svg(
      () => planDrawing(this.sheet.picture, size, !this.setting.tight, this.id),
      x,
      y,
      size.width,
      size.height,
    );
  }

  /** The last glide beside the side view, the speeds and the wind; one below the other where that is too high. */
  private glides(side: BriefSide): void {
    const { paper, em, width } = this;
    const gap = em * GAP.loose;
    const glideWidth = side.glide ? paper.glide : 0;
    const rest = width - glideWidth - (side.glide ? gap : 0);
    const size = this.sizes(side).side;
    const drawn = side.side ? size.height + em * BELOW.loose : 0;
    const speedWidth = side.wind ? rest - paper.wind - em : rest;
    const below = Math.max(
      this.heightIn(side.speeds, 'small', speedWidth),
      this.heightIn(side.wind, 'small', paper.wind),
    );
    const height = Math.max(this.heightIn(side.glide, 'glide', glideWidth), drawn + below);
    if (height > this.bottom - this.top) {
      this.flow(side.glide, 'glide');
      if (side.side) {
        this.room(drawn);
        this.sideView(paper.side, this.y, size);
        this.y += drawn;
      }
      this.flow(side.speeds, 'small');
      this.flow(side.wind, 'small');
      return;
    }
    this.room(height);
    const x = paper.side + glideWidth + (side.glide ? gap : 0);
    this.column(side.glide, 'glide', paper.side, this.y, glideWidth);
    if (side.side) this.sideView(x, this.y, size);
    this.column(side.speeds, 'small', x, this.y + drawn, speedWidth);
    this.column(side.wind, 'small', x + speedWidth + (side.speeds ? em : 0), this.y + drawn, paper.wind);
    this.y += height;
  }

  /** The last glide across, and both drawings beside each other. */
  private across(side: BriefSide): void {
    const { paper, ink, width } = this;
    if (side.glide) {
      const laid = acrossOf(ink, side.glide, width, this.setting);
      this.room(laid.height);
      laid.draw(paper.side, this.y);
      this.y += laid.height + this.below;
    }
    const { side: size, plan } = this.sizes(side);
    if (!side.side && !side.plan) return;
    this.room(size.height);
    if (side.side) this.sideView(paper.side, this.y, size);
    if (side.plan) this.planView(side.side ? paper.side + width - plan.width : paper.side, this.y, plan);
    this.y += size.height + this.below;
  }

  private wordsHeight(words: readonly BriefWords[], width: number): number {
    return words.reduce(
      (sum, { title, sentences }) =>
        sum +
        this.ink.height(title, width, this.style(SHARES.heading, true)) +
        this.ink.height(sentences.join(' '), width, this.style(SHARES.words)) +
        this.em * 0.35,
      0,
    );
  }

  private paragraphs(words: readonly BriefWords[], x: number, width: number): void {
    const text = this.style(SHARES.words);
    const heading = this.style(SHARES.heading, true);
    for (const { title, sentences } of words) {
      this.room(this.ink.lineHeight(heading) + this.ink.lineHeight(text));
      this.words(title, heading, x, width);
      this.words(sentences.join(' '), text, x, width);
      this.y += this.em * 0.35;
    }
  }

  /** Words behind their headings, over the whole width. */
  private runIn(words: readonly BriefWords[]): void {
    const { ink, paper, width } = this;
    const text = this.style(SHARES.words);
    const heading: Style = { ...text, bold: true };
    for (const { title, sentences } of words) {
      const indent = ink.widthOf(`${title}  `, heading);
      const inLine = indent < width / 2;
      if (!inLine) this.words(title, heading);
      for (const [i, line] of ink.lines(sentences.join(' '), width, text, inLine ? indent : 0).entries()) {
        this.room(ink.lineHeight(text));
        if (i === 0 && inLine) ink.write(title, paper.side, this.y, width, heading);
        ink.line(line, paper.side + (i === 0 && inLine ? indent : 0), this.y, width, text);
        this.y += ink.lineHeight(text);
      }
    }
  }

  /** The plan view beside the words, where both fit on a page. */
  private plans(side: BriefSide): void {
    const { paper, em, width } = this;
    const size = this.sizes(side).plan;
    const x = paper.side + size.width + em * GAP.loose;
    const beside = width - size.width - em * GAP.loose;
    const height = Math.max(size.height, this.wordsHeight(side.words, beside));
    if (!side.plan || height > this.bottom - this.top) {
      if (side.plan) {
        this.room(size.height);
        this.planView(paper.side, this.y, size);
        this.y += size.height + em * BELOW.loose;
      }
      this.paragraphs(side.words, paper.side, width);
      return;
    }
    this.room(height);
    const from = this.y;
    this.planView(paper.side, from, size);
    this.paragraphs(side.words, x, beside);
    this.y = Math.max(this.y, from + size.height);
  }

  private more({ more }: BriefSide): void {
    if (more === '') return;
    this.words(more, this.style(SHARES.words, true));
    this.y += this.below / 2;
  }

  /** Sets one side, from the top of a fresh page. */
  set(side: BriefSide): void {
    const first = this.pages === 0;
    this.page();
    if (first) this.whole();
    const parts: (() => void)[] = [() => this.findings(side), () => this.flow(side.legs, 'large')];
    if (this.setting.tight)
      parts.push(
        () => this.across(side),
        () => this.flow(side.speeds, 'small'),
        () => this.flow(side.fields, 'small'),
        () => this.more(side),
        () => this.runIn(side.words),
      );
    else
      parts.push(
        () => this.glides(side),
        () => this.flow(side.fields, 'small'),
        () => this.plans(side),
      );
    for (const part of parts) {
      part();
      // A trial has shown by now that it is none.
      if (this.pages > 1 && !this.ink.draws) return;
    }
  }
}

/**
 * How a sheet is set on a paper so that its front is one page. A task with more legs or longer names than a page has
 * room for flows on over pages.
 */
export function fitted(sheet: BriefSheet, paper: Paper, measure: Ink): BriefSides {
  const drawn = drawnOf(sheet.picture);
  const fits = (way: BriefSides): boolean => {
    const trial = new Setter(measure, sheet, paper, way, 'trial');
    trial.set(way.front);
    return trial.pages === 1;
  };
  return fittingOf(sheet, drawn, fits) ?? flowing(sheet, drawn);
}
