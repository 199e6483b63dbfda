/** Elements of SVG as text. Colours are presentation attributes, which a style sheet may override; nothing is inline style. */
import { escapeXml } from '../xml.ts';

export type Attributes = Readonly<Record<string, string | number | undefined>>;

/** A number as SVG takes it: two decimals, no exponent. Numbers that are not finite become 0. */
export function px(value: number): string {
  if (!Number.isFinite(value)) return '0';
  const rounded = Math.round(value * 100) / 100;
  return Math.abs(rounded) >= 1e15 ? rounded.toFixed(0) : String(rounded + 0);
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
