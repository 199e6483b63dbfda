/** Whether two lists hold the same, item by item. */
export function same<T>(one: readonly T[], other: readonly T[]): boolean {
  return one.length === other.length && one.every((item, i) => item === other[i]);
}
