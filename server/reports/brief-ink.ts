/** Words, rules and drawings on paper, measured as they will be drawn. */

export interface Style {
  /** pt. */
  readonly size: number;
  readonly bold?: boolean;
  readonly align?: 'left' | 'right';
}

/** The letters of a font in two weights. */
export interface Letters {
  /** In em, without kerning; 0 for a letter that the font does not have. */
  advance(code: number, bold: boolean): number;
  /** Whether it is printed as it is. */
  has(sign: string): boolean;
}

/** What draws; x from the left and y from the top, pt. */
export interface Pen {
  page(width: number, height: number): void;
  /** A line of text, `y` being the top of its line. */
  line(text: string, x: number, y: number, style: Style): void;
  rule(x: number, y: number, width: number, thick: number, colour: string): void;
  box(x: number, y: number, width: number, height: number, thick: number): void;
  svg(svg: string, x: number, y: number, width: number, height: number): void;
}

/** Of the size of its letters. */
export const LINE = 1.17;
/** No letter on paper is smaller, pt: what is carried is read in the sun, in a moving cockpit. */
export const LEAST_PT = 8;

/** A share of the size of plain text, never too small to be read. */
export const sized = (em: number, share: number): number => Math.max(LEAST_PT, em * share);

const numbered = (code: number) => `U+${code.toString(16).toUpperCase().padStart(4, '0')}`;

export class Ink {
  private readonly letters: Letters;
  private readonly pen: Pen | undefined;
  private readonly wrapped: Map<string, readonly string[]>;
  private readonly printed: Map<string, string>;

  /** Without a pen it only measures. `measured` is another one of the same letters, whose measures are used again. */
  constructor(letters: Letters, pen?: Pen, measured?: Ink) {
    this.letters = letters;
    this.pen = pen;
    this.wrapped = measured?.wrapped ?? new Map();
    this.printed = measured?.printed ?? new Map();
  }

  page(width: number, height: number): void {
    this.pen?.page(width, height);
  }

  /** Whether anything is drawn. */
  get draws(): boolean {
    return this.pen !== undefined;
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

  /** Text in lines no wider than `width`, at least one; the first may begin further in. */
  lines(text: string, width: number, style: Style, indent = 0): readonly string[] {
    const key = `${style.size} ${style.bold === true} ${width} ${indent} ${text}`;
    const known = this.wrapped.get(key);
    if (known) return known;
    const lines: string[] = [];
    const room = () => (lines.length === 0 ? width - indent : width);
    let line = '';
    for (const word of this.printable(text).split(' ')) {
      const longer = line === '' ? word : `${line} ${word}`;
      if (this.measure(longer, style) <= room()) {
        line = longer;
        continue;
      }
      if (line !== '' || indent > 0) lines.push(line);
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
    if (line === '' || !this.pen) return;
    this.pen.line(line, style.align === 'right' ? x + width - this.measure(line, style) : x, y, style);
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
    this.pen?.rule(x, y, width, thick, colour);
  }

  box(x: number, y: number, width: number, height: number, thick: number): void {
    this.pen?.box(x, y, width, height, thick);
  }

  /** A drawing, made when it is drawn. */
  svg(svg: () => string | undefined, x: number, y: number, width: number, height: number): void {
    const drawn = this.pen && svg();
    if (drawn === undefined) return;
    const printable = Array.from(drawn.toWellFormed(), (sign) =>
      sign === '\n' || this.letters.has(sign) ? sign : `&lt;${numbered(sign.codePointAt(0) as number)}&gt;`,
    ).join('');
    this.pen?.svg(printable, x, y, width, height);
  }
}
