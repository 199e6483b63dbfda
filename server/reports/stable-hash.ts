/** A hash of text that is the same on every machine and in every version: for fingerprints and shards, not for secrets. */

function mixed(text: string, seed: number): number {
  let h = seed;
  for (let i = 0; i < text.length; i++) {
    h = Math.imul(h ^ text.charCodeAt(i), 0x85ebca6b);
    h = (h << 13) | (h >>> 19);
  }
  h = Math.imul(h ^ (h >>> 16), 0xc2b2ae35);
  h = Math.imul(h ^ (h >>> 13), 0x27d4eb2f);
  return (h ^ (h >>> 16)) >>> 0;
}

/** 32 bits as a number. */
export function stableNumber(text: string): number {
  return mixed(text, 0x9747b28c);
}

/** 64 bits as 16 hexadecimal digits. */
export function stableHash(text: string): string {
  const hex = (n: number) => n.toString(16).padStart(8, '0');
  return hex(stableNumber(text)) + hex(mixed(text, 0x1b873593));
}
