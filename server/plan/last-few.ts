/** What was made last, and a few before it. */

/** So many by default: an edit that is taken back brings back what was there before it. */
const FEW = 2;

/** The few that were made or used last; one more, and the one that was not used for longest is forgotten. */
export class LastFew<T> {
  /** The last first. */
  private readonly items: T[] = [];
  private readonly most: number;

  constructor(most = FEW) {
    this.most = most;
  }

  get last(): T | undefined {
    return this.items[0];
  }

  /** The last that fits, which is from now on the last of all; undefined for none. */
  find(fits: (one: T) => boolean): T | undefined {
    const { items } = this;
    for (let i = 0; i < items.length; i++) {
      const one = items[i] as T;
      if (!fits(one)) continue;
      if (i > 0) items.unshift(...items.splice(i, 1));
      return one;
    }
    return undefined;
  }

  put(one: T): T {
    this.items.unshift(one);
    if (this.items.length > this.most) this.items.pop();
    return one;
  }
}

/** What is kept for a key, made when there is none yet. */
export function keptFor<K, V>(
  kept: Pick<Map<K, V>, 'get'> & { set(key: K, value: V): unknown },
  key: K,
  make: () => V,
): V {
  let known = kept.get(key);
  if (known === undefined) {
    known = make();
    kept.set(key, known);
  }
  return known;
}
