/** Elements of SVG as text. Colours are presentation attributes, which a style sheet may override; nothing is inline style. */
import { escapeXml } from '../xml.ts';

export type Attributes = Readonly<Record<string, string | number | undefined>>;

/** Nothing is drawn farther away than this. */
const FARTHEST = 1e9;

/** A number as SVG takes it: two decimals, no exponent, none beyond a thousand million. What is no number becomes 0. */
export function px(value: number): string {
  if (Number.isNaN(value)) return '0';
  const near = Math.min(Math.max(value, -FARTHEST), FARTHEST);
  return String(Math.round(near * 100) / 100 + 0);
}

/** An element; children are markup. Attributes are escaped. */
export function tag(name: string, attributes: Attributes, ...children: readonly string[]): string {
  let open = `<${name}`;
  for (const [key, value] of Object.entries(attributes))
    if (value !== undefined) open += ` ${key}="${typeof value === 'number' ? px(value) : escapeXml(value)}"`;
  const inner = children.join('');
  return inner === '' ? `${open}/>` : `${open}>${inner}</${name}>`;
}

/** An element with text in it. */
export function words(name: string, text: string, attributes: Attributes = {}): string {
  return tag(name, attributes, escapeXml(text));
}

export interface At {
  readonly x: number;
  readonly y: number;
}

/** The `d` of a line through points. */
export function line(points: readonly At[], closed = false): string {
  const d = points.map(({ x, y }, i) => `${i === 0 ? 'M' : 'L'}${px(x)},${px(y)}`).join('');
  return closed && d !== '' ? `${d}Z` : d;
}
