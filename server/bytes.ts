/** From the bytes of a file to its text, for every entry point that reads files. */

/** A plan larger than this is not read: no club has so many fields, and a mistyped path may lead anywhere. In bytes. */
export const LARGEST_FILE = 16 * 1024 * 1024;

const decoder = new TextDecoder('utf-8', { fatal: true, ignoreBOM: true });

/** The text of bytes that are UTF-8; undefined when they are not. */
export function decode(bytes: Uint8Array): string | undefined {
  try {
    return decoder.decode(bytes);
  } catch {
    return undefined;
  }
}
