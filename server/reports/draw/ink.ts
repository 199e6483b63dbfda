/**
 * How drawings look. On paper everything is black on white and told apart by line style, hatching and words; on a screen
 * the same shapes take the colours of {@link DRAWING_CSS}, so that no meaning rests on colour alone.
 */
import { type At, type Attributes, tag, words } from './svg.ts';

export type InkStyle = 'print' | 'themed';

/** What drawings have in common. */
export interface DrawOptions {
  /** In px or pt, as the drawing is placed. */
  readonly width: number;
  readonly height: number;
  /** Of its text; 11 unless said otherwise. */
  readonly fontSize?: number;
  readonly ink?: InkStyle;
  /** The number of the leg that is lit. */
  readonly leg?: number;
  /** Of its smallest letters; without it they are a little smaller than `fontSize`. */
  readonly leastSize?: number;
  /** Without its key and without what is said in words: whoever places it says that beside it. */
  readonly bare?: boolean;
  /** Before the ids in the drawing, so that several may stand in one page: letters, digits and hyphens. */
  readonly idPrefix?: string;
}

/** Sizes of one drawing. */
export interface Pen {
  readonly ink: InkStyle;
  readonly size: number;
  /** A size for text, a share of the usual one. */
  readonly letters: (share: number) => number;
  readonly id: (name: string) => string;
}

export function penOf({ fontSize = 11, leastSize = 0, ink = 'print', idPrefix = '' }: DrawOptions): Pen {
  const prefix = idPrefix.replace(/[^A-Za-z0-9-]/g, '');
  const size = Math.max(4, fontSize);
  return {
    ink,
    size,
    letters: (share) => Math.max(leastSize, size * share),
    id: (name) => `lw-${prefix}${prefix === '' ? '' : '-'}${name}`,
  };
}

type Look = Readonly<{
  fill?: 'ink' | 'paper' | 'none' | 'grey';
  stroke?: 'ink' | 'paper' | 'none' | 'grey';
  /** Line width and dashes, in tenths of the font size. */
  width?: number;
  dash?: readonly number[];
  opacity?: number;
}>;

const LOOKS = {
  path: { fill: 'none', stroke: 'ink', width: 2.2 },
  required: { fill: 'none', stroke: 'ink', width: 1.3, dash: [6, 4] },
  climb: { fill: 'none', stroke: 'ink', width: 1.3, dash: [1.2, 2.2] },
  'climb-top': { fill: 'ink', stroke: 'none' },
  ground: { fill: 'grey', stroke: 'none' },
  'ground-line': { fill: 'none', stroke: 'ink', width: 1 },
  low: { fill: 'none', stroke: 'ink', width: 4 },
  solid: { fill: 'paper', stroke: 'ink', width: 1 },
  'solid-low': { fill: 'ink', stroke: 'ink', width: 1.6 },
  airspace: { fill: 'none', stroke: 'ink', width: 0.8 },
  'airspace-near': { fill: 'none', stroke: 'ink', width: 1.4, dash: [8, 2, 2, 2] },
  'airspace-enters': { fill: 'none', stroke: 'ink', width: 2 },
  stretch: { fill: 'none', stroke: 'ink', width: 3.6, dash: [2.5, 2.5] },
  margin: { fill: 'none', stroke: 'ink', width: 1.2 },
  asked: { fill: 'none', stroke: 'ink', width: 1.6 },
  home: { fill: 'paper', stroke: 'ink', width: 1.2 },
  stop: { fill: 'none', stroke: 'ink', width: 2.4 },
  assumed: { fill: 'paper', stroke: 'ink', width: 1.4 },
  boundary: { fill: 'none', stroke: 'ink', width: 0.6 },
  axis: { fill: 'none', stroke: 'ink', width: 1 },
  grid: { fill: 'none', stroke: 'grey', width: 0.5 },
  gap: { fill: 'none', stroke: 'ink', width: 0.8, dash: [2, 3] },
  caret: { fill: 'none', stroke: 'ink', width: 1.2, dash: [4, 2, 1, 2] },
  'caret-dot': { fill: 'paper', stroke: 'ink', width: 1.8 },
  leg: { fill: 'none', stroke: 'ink', width: 2 },
  'leg-lit': { fill: 'none', stroke: 'ink', width: 4 },
  'leg-gap': { fill: 'none', stroke: 'ink', width: 1.6, dash: [2, 3] },
  arrow: { fill: 'ink', stroke: 'paper', width: 0.5 },
  badge: { fill: 'paper', stroke: 'ink', width: 1 },
  'badge-lit': { fill: 'ink', stroke: 'ink', width: 1 },
  field: { fill: 'paper', stroke: 'ink', width: 1 },
  'field-reach': { fill: 'ink', stroke: 'ink', width: 1 },
  ring: { fill: 'none', stroke: 'ink', width: 0.9 },
  turnpoint: { fill: 'paper', stroke: 'ink', width: 1.2 },
  zone: { fill: 'none', stroke: 'ink', width: 0.7, dash: [1, 2] },
  obstacle: { fill: 'paper', stroke: 'ink', width: 1 },
  'obstacle-low': { fill: 'ink', stroke: 'ink', width: 1 },
  wind: { fill: 'ink', stroke: 'ink', width: 1 },
  scale: { fill: 'none', stroke: 'ink', width: 1.4 },
  paper: { fill: 'paper', stroke: 'none' },
} as const satisfies Readonly<Record<string, Look>>;

export type Kind = keyof typeof LOOKS;

const COLOURS: Readonly<Record<InkStyle, Readonly<Record<'ink' | 'paper' | 'none' | 'grey', string>>>> = {
  print: { ink: '#000', paper: '#fff', none: 'none', grey: '#bbb' },
  themed: { ink: 'currentColor', paper: 'none', none: 'none', grey: 'currentColor' },
};

/** The class and the presentation attributes of a kind of shape. */
export function look(kind: Kind, pen: Pen, more = ''): Attributes {
  const { fill, stroke, width, dash }: Look = LOOKS[kind];
  const colours = COLOURS[pen.ink];
  const unit = pen.size / 11;
  return {
    class: more === '' ? `lw-${kind}` : `lw-${kind} ${more}`,
    fill: colours[fill ?? 'none'],
    stroke: colours[stroke ?? 'none'],
    ...(width === undefined ? {} : { 'stroke-width': width * unit }),
    ...(dash ? { 'stroke-dasharray': dash.map((part) => String(Math.round(part * unit * 100) / 100)).join(' ') } : {}),
    ...(width !== undefined && width > 1 ? { 'stroke-linejoin': 'round' } : {}),
  };
}

export interface TextOptions {
  readonly anchor?: 'start' | 'middle' | 'end';
  readonly bold?: boolean;
  readonly size?: number;
  /** Paper around the letters, over lines; it needs no `paint-order`, which not every printer of SVG knows. */
  readonly halo?: boolean;
  readonly turned?: boolean;
  readonly more?: string;
}

/** A line of text on its baseline. */
export function text(content: string, { x, y }: At, pen: Pen, options: TextOptions = {}): string {
  const { anchor = 'start', bold = false, size = pen.size, halo = false, turned = false, more = '' } = options;
  const colours = COLOURS[pen.ink];
  const common: Attributes = {
    x,
    y,
    'font-size': size,
    'text-anchor': anchor,
    ...(bold ? { 'font-weight': 'bold' } : {}),
    ...(turned ? { transform: `rotate(-90 ${Math.round(x * 100) / 100} ${Math.round(y * 100) / 100})` } : {}),
  };
  const front = words('text', content, {
    ...common,
    class: more === '' ? 'lw-text' : `lw-text ${more}`,
    fill: colours.ink,
  });
  if (!halo) return front;
  const behind = words('text', content, {
    ...common,
    class: 'lw-halo',
    fill: 'none',
    stroke: pen.ink === 'print' ? '#fff' : 'none',
    'stroke-width': size / 3,
    'stroke-linejoin': 'round',
    'aria-hidden': 'true',
  });
  return behind + front;
}

/** About how wide a text is: no font is at hand. Rather too wide, so that labels stay apart. */
export function widthOf(content: string, size: number, bold = false): number {
  let units = 0;
  for (const sign of content) {
    if (/[\u1100-\u{1ffff}]/u.test(sign)) units += 1.05;
    else if (/[iljtfrI.,:;'| ]/.test(sign)) units += 0.36;
    else units += /[mwMW@%—]/.test(sign) ? 0.92 : /[A-Z]/.test(sign) ? 0.72 : 0.57;
  }
  return units * size * (bold ? 1.08 : 1);
}

/** A text cut to a width, with an ellipsis where something is left out. */
export function shortened(content: string, width: number, size: number, bold = false): string {
  if (widthOf(content, size, bold) <= width) return content;
  const signs = [...content];
  while (signs.length > 1 && widthOf(`${signs.join('')}…`, size, bold) > width) signs.pop();
  return `${signs.join('').trimEnd()}…`;
}

/** A text in lines no wider than `width`; a word that is wider stands alone. */
export function wrapped(content: string, width: number, size: number): string[] {
  const lines: string[] = [];
  let current = '';
  for (const word of content.split(/\s+/)) {
    const longer = current === '' ? word : `${current} ${word}`;
    if (current !== '' && widthOf(longer, size) > width) {
      lines.push(current);
      current = word;
    } else current = longer;
  }
  return current === '' ? lines : [...lines, current];
}

/** What a key is made of: its entries with their words, and the sign of each in a room of `wide` sizes from `x` on. */
interface Key<K extends string> {
  readonly words: Readonly<Record<K, string>>;
  readonly used: ReadonlySet<K>;
  readonly wide: number;
  sign(entry: K, at: At, pen: Pen): string;
}

/** Letters of a key may be this much smaller to have it in one row. */
const LEAST_KEY_SCALE = 0.8;
/** From one row of a key to the next, in sizes. */
const KEY_ROW = 1.45;

const keyRoom = (width: number, size: number): number => width - size * 0.4;

/** The entries of a key in rows: in one where its letters need be no more than a little smaller. */
function keyRowsOf<K extends string>(
  { words: said, used, wide }: Pick<Key<K>, 'words' | 'used' | 'wide'>,
  width: number,
  size: number,
): { readonly entry: K; readonly width: number }[][] {
  const entries = (Object.keys(said) as K[])
    .filter((entry) => used.has(entry))
    .map((entry) => ({ entry, width: size * (wide + 1.4) + widthOf(said[entry], size * 0.92) }));
  const room = keyRoom(width, size);
  if (entries.reduce((sum, one) => sum + one.width, 0) * LEAST_KEY_SCALE <= room) return [entries];
  const rows: (typeof entries)[] = [];
  let left = 0;
  for (const one of entries) {
    const row = rows.at(-1);
    if (row && one.width <= left) row.push(one);
    else {
      rows.push([one]);
      left = room;
    }
    left -= one.width;
  }
  return rows;
}

/** How much higher a key is than one of a single row, px, if it has no other entries than these. */
export function keyMore<K extends string>(key: Pick<Key<K>, 'words' | 'used' | 'wide'>, width: number, size: number) {
  return (keyRowsOf(key, width, size).length - 1) * KEY_ROW * size;
}

/** What the signs mean, of those that are there: all of them, in rows where there is little room. */
export function keyRows<K extends string>(key: Key<K>, firstY: number, width: number, pen: Pen): string {
  const { words: said, wide, sign } = key;
  const room = keyRoom(width, pen.size);
  const out = keyRowsOf(key, width, pen.size).flatMap((row, i) => {
    const y = firstY + i * KEY_ROW * pen.size;
    const all = row.reduce((sum, one) => sum + one.width, 0);
    const scale = all > room && all > 0 ? room / all : 1;
    const own: Pen = { ...pen, size: pen.size * scale };
    let x = pen.size * 0.4;
    return row.map(({ entry, width: whole }) => {
      const at = { x, y: y - own.size * 0.35 };
      x += whole * scale;
      return (
        sign(entry, at, own) +
        text(said[entry], { x: at.x + own.size * (wide + 0.4), y }, own, { size: own.size * 0.92 })
      );
    });
  });
  return tag('g', { class: 'lw-key' }, ...out);
}

/** Lines of words below a drawing. */
export function noteLines(notes: readonly string[], firstY: number, pen: Pen): string {
  const size = pen.letters(0.92);
  return tag(
    'g',
    { class: 'lw-notes' },
    ...notes.map((note, i) => text(note, { x: pen.size * 0.4, y: firstY + i * size * 1.3 }, pen, { size })),
  );
}

/** Hatchings, for `defs`. */
export function hatchings(pen: Pen): string {
  const step = pen.size * 0.55;
  const hatch = (name: string, turn: number, wide: number, width: number): string =>
    tag(
      'pattern',
      {
        id: pen.id(name),
        width: wide,
        height: wide,
        patternUnits: 'userSpaceOnUse',
        patternTransform: `rotate(${turn})`,
      },
      tag('path', {
        d: `M0,0V${Math.round(wide * 100) / 100}`,
        class: `lw-hatch lw-${name}`,
        fill: 'none',
        stroke: COLOURS[pen.ink].ink,
        'stroke-width': width,
      }),
    );
  return [
    hatch('hatch-airspace', 45, step * 1.6, 0.5),
    hatch('hatch-enters', 45, step * 0.8, 0.8),
    hatch('hatch-gap', -45, step * 2.4, 0.4),
    hatch('hatch-ground', -30, step * 0.7, 0.5),
  ].join('');
}

export function hatched(pen: Pen, name: 'airspace' | 'enters' | 'gap' | 'ground'): string {
  return `url(#${pen.id(`hatch-${name}`)})`;
}

/** The outermost element, with a title and a description for those who do not see it. */
export function drawing(
  options: DrawOptions,
  kind: string,
  title: string,
  description: string,
  ...children: readonly string[]
): string {
  const pen = penOf(options);
  const { width, height } = options;
  return tag(
    'svg',
    {
      xmlns: 'http://www.w3.org/2000/svg',
      class: `lw-drawing lw-${kind} lw-ink-${pen.ink}`,
      width,
      height,
      viewBox: `0 0 ${Math.round(width * 100) / 100} ${Math.round(height * 100) / 100}`,
      role: 'img',
      'aria-label': title,
      'font-family': 'sans-serif',
      'font-size': pen.size,
    },
    words('title', title),
    words('desc', description),
    ...children,
  );
}

/**
 * The colours of drawings on a screen. `--lw-*` may be set by whoever shows them; without, they are those of the
 * editor's theme, and without a theme black on white.
 */
export const DRAWING_CSS = `
.lw-ink-themed {
  --lw-c-ink: var(--lw-ink, var(--vscode-editor-foreground, #1b1b1b));
  --lw-c-paper: var(--lw-paper, var(--vscode-editor-background, #ffffff));
  --lw-c-path: var(--lw-path, var(--vscode-charts-blue, #1a5fb4));
  --lw-c-asked: var(--lw-asked, var(--vscode-charts-orange, #a85200));
  --lw-c-ground: var(--lw-ground, var(--vscode-descriptionForeground, #666666));
  --lw-c-air: var(--lw-air, var(--vscode-charts-purple, #652d90));
  --lw-c-short: var(--lw-short, var(--vscode-editorError-foreground, #b00020));
  --lw-c-reach: var(--lw-reach, var(--vscode-charts-green, #2a7d2a));
  color: var(--lw-c-ink);
}
.lw-ink-themed .lw-text { fill: var(--lw-c-ink); }
.lw-ink-themed .lw-halo { stroke: var(--lw-c-paper); }
.lw-ink-themed .lw-paper, .lw-ink-themed .lw-solid, .lw-ink-themed .lw-home, .lw-ink-themed .lw-assumed,
.lw-ink-themed .lw-caret-dot, .lw-ink-themed .lw-badge, .lw-ink-themed .lw-field, .lw-ink-themed .lw-turnpoint,
.lw-ink-themed .lw-obstacle { fill: var(--lw-c-paper); }
.lw-ink-themed .lw-path, .lw-ink-themed .lw-climb, .lw-ink-themed .lw-leg { stroke: var(--lw-c-path); }
.lw-ink-themed .lw-leg-lit { stroke: var(--lw-c-path); }
.lw-ink-themed .lw-climb-top, .lw-ink-themed .lw-arrow { fill: var(--lw-c-path); }
.lw-ink-themed .lw-arrow { stroke: var(--lw-c-paper); }
.lw-ink-themed .lw-required, .lw-ink-themed .lw-asked { stroke: var(--lw-c-asked); }
.lw-ink-themed .lw-ground { fill: var(--lw-c-ground); fill-opacity: 0.35; }
.lw-ink-themed .lw-ground-line { stroke: var(--lw-c-ground); }
.lw-ink-themed .lw-grid { stroke: var(--lw-c-ground); stroke-opacity: 0.4; }
.lw-ink-themed .lw-airspace, .lw-ink-themed .lw-airspace-near, .lw-ink-themed .lw-hatch-airspace { stroke: var(--lw-c-air); }
.lw-ink-themed .lw-airspace-enters, .lw-ink-themed .lw-hatch-enters, .lw-ink-themed .lw-low, .lw-ink-themed .lw-stretch,
.lw-ink-themed .lw-stop, .lw-ink-themed .lw-solid-low, .lw-ink-themed .lw-obstacle-low,
.lw-ink-themed .lw-short .lw-margin { stroke: var(--lw-c-short); }
.lw-ink-themed .lw-solid-low, .lw-ink-themed .lw-obstacle-low, .lw-ink-themed .lw-short .lw-margin-text { fill: var(--lw-c-short); }
.lw-ink-themed .lw-field-reach { fill: var(--lw-c-reach); stroke: var(--lw-c-reach); }
.lw-ink-themed .lw-badge-lit { fill: var(--lw-c-ink); }
.lw-ink-themed .lw-badge-text-lit { fill: var(--lw-c-paper); }
`;
