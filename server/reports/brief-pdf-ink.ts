/** Words, rules and drawings on a page of a PDF, measured as they will be drawn. */
import { create, type Font } from 'fontkit';
import drawSvg from 'svg-to-pdfkit';

export interface Style {
  /** pt. */
  readonly size: number;
  readonly bold?: boolean;
  readonly align?: 'left' | 'right';
}

const LINE = 1.2;

/** What no font prints, or what would move the text around. */
const NEVER = /[\p{Cc}\p{Cf}\p{Zl}\p{Zp}\p{Co}\p{Cs}]/u;

/** Greys in place of hatchings, which the drawer of SVG paints solid black: what is entered is the darker one. */
const HATCHES: Readonly<Record<string, string>> = {
  airspace: '#e4e4e4',
  enters: '#bdbdbd',
  gap: '#f2f2f2',
  ground: '#d6d6d6',
};

const numbered = (code: number) => `U+${code.toString(16).toUpperCase().padStart(4, '0')}`;

/** The letters of two fonts and how wide they are, without kerning: asked once a letter. */
export class Letters {
  private readonly fonts: readonly [Font, Font];
  private readonly known: readonly [Map<number, number>, Map<number, number>] = [new Map(), new Map()];

  /** Throws for bytes that are no font. */
  constructor(regular: Uint8Array, bold: Uint8Array) {
    const read = (bytes: Uint8Array): Font => {
      const font = create(bytes as Buffer);
      if (!('layout' in font)) throw new TypeError('a collection of fonts, and not one');
      return font;
    };
    this.fonts = [read(regular), read(bold)];
  }

  /** In em; 0 for a letter that the fonts do not have. */
  advance(code: number, bold: boolean): number {
    const at = bold ? 1 : 0;
    let width = this.known[at].get(code);
    if (width === undefined) {
      const font = this.fonts[at];
      width = font.hasGlyphForCodePoint(code) ? font.glyphForCodePoint(code).advanceWidth / font.unitsPerEm : 0;
      this.known[at].set(code, width);
    }
    return width;
  }

  /** Whether both fonts print it. */
  has(sign: string): boolean {
    const code = sign.codePointAt(0) as number;
    return !NEVER.test(sign) && this.fonts.every((font) => font.hasGlyphForCodePoint(code));
  }
}

export class Ink {
  private readonly letters: Letters;
  private readonly doc: PDFKit.PDFDocument | undefined;
  private readonly wrapped = new Map<string, readonly string[]>();
  private readonly printed = new Map<string, string>();

  /** Without a document it only measures. */
  constructor(letters: Letters, doc?: PDFKit.PDFDocument) {
    this.letters = letters;
    this.doc = doc;
  }

  page(width: number, height: number): void {
    this.doc?.addPage({ size: [width, height], margin: 0 });
  }

  /** Text as it can be printed: what cannot is shown by its number. */
  printable(text: string): string {
    let printed = this.printed.get(text);
    if (printed === undefined) {
      printed = Array.from(text.replaceAll('\t', ' ').toWellFormed(), (sign) =>
        this.letters.has(sign) ? sign : `<${numbered(sign.codePointAt(0) as number)}>`,
      ).join('');
      this.printed.set(text, printed);
    }
    return printed;
  }

  lineHeight({ size }: Style): number {
    return size * LINE;
  }

  private measure(printable: string, { size, bold }: Style): number {
    let width = 0;
    for (const sign of printable) width += this.letters.advance(sign.codePointAt(0) as number, bold === true);
    return width * size;
  }

  /** How wide a text is where nothing breaks it. */
  widthOf(text: string, style: Style): number {
    return this.measure(this.printable(text), style);
  }

  /** A word too wide for a line, cut where it must be. */
  private cut(word: string, width: number, style: Style): string[] {
    const pieces: string[] = [];
    let piece = '';
    for (const sign of word) {
      if (piece !== '' && this.measure(piece + sign, style) > width) {
        pieces.push(piece);
        piece = '';
      }
      piece += sign;
    }
    pieces.push(piece);
    return pieces;
  }

  /** Text in lines no wider than `width`, at least one. */
  lines(text: string, width: number, style: Style): readonly string[] {
    const key = `${style.size} ${style.bold === true} ${width} ${text}`;
    const known = this.wrapped.get(key);
    if (known) return known;
    const lines: string[] = [];
    let line = '';
    for (const word of this.printable(text).split(' ')) {
      const longer = line === '' ? word : `${line} ${word}`;
      if (this.measure(longer, style) <= width) {
        line = longer;
        continue;
      }
      if (line !== '') lines.push(line);
      const pieces = this.cut(word, width, style);
      lines.push(...pieces.slice(0, -1));
      line = pieces.at(-1) ?? '';
    }
    lines.push(line);
    this.wrapped.set(key, lines);
    return lines;
  }

  /** No more than some lines of a text, the last one ending in `…` where there would be more. */
  capped(text: string, width: number, style: Style, most: number): readonly string[] {
    const lines = this.lines(text, width, style);
    if (lines.length <= most) return lines;
    const kept = lines.slice(0, most);
    const last = Array.from(kept[most - 1] as string);
    while (last.length > 0 && this.measure(`${last.join('')}…`, style) > width) last.pop();
    return [...kept.slice(0, -1), `${last.join('')}…`];
  }

  height(text: string, width: number, style: Style): number {
    return this.lines(text, width, style).length * this.lineHeight(style);
  }

  /** One line that was made by {@link lines}. */
  line(line: string, x: number, y: number, width: number, style: Style): void {
    if (line === '' || !this.doc) return;
    const doc = this.doc.font(style.bold ? 'bold' : 'regular').fontSize(style.size);
    const from = style.align === 'right' ? x + width - this.measure(line, style) : x;
    // The letters stand in the middle of their line.
    const down = (this.lineHeight(style) - doc.currentLineHeight()) / 2;
    doc.fillColor('#000').text(line, from, y + down, { lineBreak: false });
  }

  /** Writes a text into a column; gives its height. */
  write(text: string, x: number, y: number, width: number, style: Style): number {
    return this.block(this.lines(text, width, style), x, y, width, style);
  }

  /** Writes lines below each other; gives their height. */
  block(lines: readonly string[], x: number, y: number, width: number, style: Style): number {
    for (const [i, line] of lines.entries()) this.line(line, x, y + i * this.lineHeight(style), width, style);
    return lines.length * this.lineHeight(style);
  }

  rule(x: number, y: number, width: number, thick: number, colour = '#000'): void {
    this.doc
      ?.lineWidth(thick)
      .moveTo(x, y)
      .lineTo(x + width, y)
      .stroke(colour);
  }

  box(x: number, y: number, width: number, height: number, thick: number): void {
    this.doc?.lineWidth(thick).rect(x, y, width, height).stroke('#000');
  }

  svg(svg: string, x: number, y: number, width: number, height: number): void {
    if (!this.doc) return;
    const printable = Array.from(svg.toWellFormed(), (sign) =>
      sign === '\n' || this.letters.has(sign) ? sign : `&lt;${numbered(sign.codePointAt(0) as number)}&gt;`,
    )
      .join('')
      .replace(/url\(#[\w-]*hatch-(airspace|enters|gap|ground)\)/g, (_, name: string) => HATCHES[name] as string);
    this.doc.save();
    drawSvg(this.doc, printable, x, y, {
      width,
      height,
      assumePt: true,
      fontCallback: (_family, bold) => (bold ? 'bold' : 'regular'),
    });
    this.doc.restore();
  }
}
