/** Text for a terminal: nothing from a file may steer it, and columns line up. */

/** Colours as functions on text; without colour they leave it as it is. */
export interface Paint {
  readonly bold: (text: string) => string;
  readonly dim: (text: string) => string;
  readonly red: (text: string) => string;
  readonly yellow: (text: string) => string;
  readonly blue: (text: string) => string;
  readonly green: (text: string) => string;
}

const same = (text: string) => text;
export const NO_PAINT: Paint = { bold: same, dim: same, red: same, yellow: same, blue: same, green: same };

/** Rows as columns, each as wide as its widest cell; the columns named are set to the right. */
export function columns(rows: readonly (readonly string[])[], right: ReadonlySet<number>): string[] {
  const widths: number[] = [];
  for (const row of rows) for (const [i, cell] of row.entries()) widths[i] = Math.max(widths[i] ?? 0, [...cell].length);
  return rows.map((row) =>
    row
      .map((cell, i) => {
        const gap = ' '.repeat((widths[i] as number) - [...cell].length);
        return right.has(i) ? gap + cell : cell + gap;
      })
      .join('  ')
      .trimEnd(),
  );
}

/** `1 error`, `3 errors`. */
export function count(n: number, noun: string): string {
  return `${n} ${noun}${n === 1 ? '' : 's'}`;
}
