/** The pen that draws into a PDF, and the letters of its fonts. */
import { create, type Font } from 'fontkit';
import drawSvg from 'svg-to-pdfkit';
import { type Letters, LINE, type Pen, type Style } from './brief-ink.ts';

/** What no font prints, or what would move the text around. */
const NEVER = /[\p{Cc}\p{Cf}\p{Zl}\p{Zp}\p{Co}\p{Cs}]/u;

/** Greys in place of hatchings, which the drawer of SVG paints solid black: what is entered is the darker one. */
const HATCHES: Readonly<Record<string, string>> = {
  airspace: '#e4e4e4',
  enters: '#bdbdbd',
  gap: '#f2f2f2',
  ground: '#d6d6d6',
};

/** The letters of two fonts and how wide they are: asked once a letter. */
export class FontLetters implements Letters {
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

/** Draws into a document that has the fonts `regular` and `bold`. */
export class PdfPen implements Pen {
  private readonly doc: PDFKit.PDFDocument;

  constructor(doc: PDFKit.PDFDocument) {
    this.doc = doc;
  }

  page(width: number, height: number): void {
    this.doc.addPage({ size: [width, height], margin: 0 });
  }

  line(text: string, x: number, y: number, { size, bold }: Style): void {
    const doc = this.doc.font(bold ? 'bold' : 'regular').fontSize(size);
    // The letters stand in the middle of their line.
    const down = (size * LINE - doc.currentLineHeight()) / 2;
    doc.fillColor('#000').text(text, x, y + down, { lineBreak: false });
  }

  rule(x: number, y: number, width: number, thick: number, colour: string): void {
    this.doc
      .lineWidth(thick)
      .moveTo(x, y)
      .lineTo(x + width, y)
      .stroke(colour);
  }

  box(x: number, y: number, width: number, height: number, thick: number): void {
    this.doc.lineWidth(thick).rect(x, y, width, height).stroke('#000');
  }

  svg(svg: string, x: number, y: number, width: number, height: number): void {
    const printable = svg.replace(
      /url\(#[\w-]*hatch-(airspace|enters|gap|ground)\)/g,
      (_, name: string) => HATCHES[name] as string,
    );
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
