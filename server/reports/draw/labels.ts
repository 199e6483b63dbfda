/** Where labels go: the first place that is free, and else the nearest one. None lies on another. */
export interface Box {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

interface Point {
  readonly x: number;
  readonly y: number;
}

const overlap = (one: Box, other: Box): boolean =>
  Math.min(one.x + one.width, other.x + other.width) - Math.max(one.x, other.x) > 0.01 &&
  Math.min(one.y + one.height, other.y + other.height) - Math.max(one.y, other.y) > 0.01;

/** Whether a straight line from `a` to `b` has a part in a box (Liang and Barsky, 1984). */
export function crosses(a: Point, b: Point, { x, y, width, height }: Box): boolean {
  const dx = b.x - a.x;
  const dy = b.y - a.y;
  let from = 0;
  let to = 1;
  for (const [step, room] of [
    [-dx, a.x - x],
    [dx, x + width - a.x],
    [-dy, a.y - y],
    [dy, y + height - a.y],
  ] as const) {
    if (step === 0) {
      if (room < 0) return false;
    } else if (step < 0) from = Math.max(from, room / step);
    else to = Math.min(to, room / step);
  }
  return from <= to;
}

/** How far a line keeps off a label, px: both are written rounded to hundredths, and touch still less than that. */
const APART = 0.02;

const grown = ({ x, y, width, height }: Box): Box => ({
  x: x - APART,
  y: y - APART,
  width: width + 2 * APART,
  height: height + 2 * APART,
});

/** Which lines a label may lie on: none, thin ones, or all. */
export type Over = 0 | 1 | 2;

/** What is taken of a frame. */
export class Places {
  private readonly taken: Box[] = [];
  private readonly lines: { readonly from: Point; readonly to: Point; readonly weight: Over }[] = [];
  private readonly frame: Box;

  constructor(frame: Box) {
    this.frame = frame;
  }

  take(box: Box): void {
    this.taken.push(box);
  }

  /** Labels keep off this line where they can; off a thin one, of weight 1, only where that is asked for. */
  takeLine(points: readonly Point[], weight: 1 | 2 = 2): void {
    for (const [i, to] of points.entries()) {
      const from = points[i - 1];
      if (from) this.lines.push({ from, to, weight });
    }
  }

  private inside({ x, y, width, height }: Box): boolean {
    const { frame } = this;
    return (
      x >= frame.x - 0.01 &&
      y >= frame.y - 0.01 &&
      x + width <= frame.x + frame.width + 0.01 &&
      y + height <= frame.y + frame.height + 0.01
    );
  }

  private clear(box: Box, over: Over): boolean {
    const around = grown(box);
    return (
      this.inside(box) &&
      !this.taken.some((one) => overlap(box, one)) &&
      !this.lines.some(({ from, to, weight }) => weight > over && crosses(from, to, around))
    );
  }

  /** The first of these boxes that is free, now taken; null when none is. */
  free(boxes: readonly Box[], over: Over = 1): Box | null {
    const box = boxes.find((one) => this.clear(one, over));
    if (box) this.take(box);
    return box ?? null;
  }

  /**
   * The first of these boxes that is free, else the nearest free place of that size to a point, within a distance; now
   * taken; null when there is none.
   */
  near(boxes: readonly Box[], { x, y }: Point, within = Infinity, over: Over = 1): Box | null {
    const free = this.free(boxes, over);
    const [first] = boxes;
    if (free || !first) return free;
    const { frame } = this;
    const { width, height } = first;
    const stepX = Math.max(Math.min(width / 3, height), frame.width / 80);
    const stepY = Math.max(height / 3, frame.height / 80);
    let best: Box | null = null;
    let least = within;
    for (let top = frame.y; top + height <= frame.y + frame.height + 0.01; top += stepY)
      for (let left = frame.x; left + width <= frame.x + frame.width + 0.01; left += stepX) {
        const away = Math.hypot(Math.max(left - x, 0, x - left - width), Math.max(top - y, 0, y - top - height));
        if (away >= least) continue;
        const box = { x: left, y: top, width, height };
        if (!this.clear(box, over)) continue;
        best = box;
        least = away;
      }
    if (best) this.take(best);
    return best;
  }
}

/** A long label in one line where it fits a width, else its two parts in two lines. */
export function inLines(first: string, second: string, joiner: string, fits: (content: string) => boolean): string[] {
  const one = `${first}${joiner}${second}`;
  return fits(one) ? [one] : [first, second];
}

/** Boxes of a size around a point, at a distance from it, the ones that read best first. */
export function around(x: number, y: number, width: number, height: number, away: number): Box[] {
  const box = (left: number, top: number): Box => ({ x: left, y: top, width, height });
  const right = x + away;
  const left = x - away - width;
  const middle = y - height / 2;
  return [
    box(right, middle),
    box(right, y - away - height * 0.6),
    box(right, y + away - height * 0.4),
    box(x - width / 2, y - away - height),
    box(x - width / 2, y + away),
    box(left, middle),
    box(left, y - away - height * 0.6),
    box(left, y + away - height * 0.4),
    box(right, y - 2 * away - height * 1.2),
    box(right, y + 2 * away + height * 0.2),
    box(left, y - 2 * away - height * 1.2),
    box(left, y + 2 * away + height * 0.2),
  ];
}
