/** Text in XML, whatever a name holds. */
import { harmless } from '../plan/text.ts';

const SIGNS: Readonly<Record<string, string>> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
  "'": '&apos;',
};

/** For content and for attributes; what XML 1.0 has no place for is shown by a sign. */
export function escapeXml(text: string): string {
  return harmless(text.toWellFormed())
    .replace(/[\uFFFE\uFFFF]/g, '\uFFFD')
    .replace(/[&<>"']/g, (sign) => SIGNS[sign] as string);
}

/** An element with text in it. */
export function element(name: string, text: string): string {
  return `<${name}>${escapeXml(text)}</${name}>`;
}
