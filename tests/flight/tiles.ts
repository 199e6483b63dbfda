/** Elevation tiles that tests make themselves. */

/** The bytes of a tile of which each post has the height that `of` gives. */
export function tileBytes(size: number, of: (row: number, column: number) => number): Uint8Array {
  const bytes = new Uint8Array(size * size * 2);
  const view = new DataView(bytes.buffer);
  for (let row = 0; row < size; row += 1)
    for (let column = 0; column < size; column += 1) view.setInt16((row * size + column) * 2, of(row, column), false);
  return bytes;
}
