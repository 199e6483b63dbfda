/** Where labels go: greedily, the first place that is free. */
export interface Box {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

function overlap(one: Box, other: Box): number {
  const width = Math.min(one.x + one.width, other.x + other.width) - Math.max(one.x, other.x);
  const height = Math.min(one.y + one.height, other.y + other.height) - Math.max(one.y, other.y);
  return width > 0 && height > 0 ? width * height : 0;
}

/** What is taken of a frame. */
export class Places {
  private readonly taken: Box[] = [];
  private readonly frame: Box;

  constructor(frame: Box) {
    this.frame = frame;
  }

  take(box: Box): void {
    this.taken.push(box);
  }

  private covered(box: Box): number {
    let sum = 0;
    for (const one of this.taken) sum += overlap(box, one);
    return sum + (box.width * box.height - overlap(box, this.frame)) * 4;
  }

  /** The first of these boxes that is free, now taken; null when none is. */
  free(boxes: readonly Box[]): Box | null {
    for (const box of boxes) {
      if (this.covered(box) > 0.01) continue;
      this.take(box);
      return box;
    }
    return null;
  }

  /** The box that covers the least, now taken; moved into the frame where it fits there. */
  best(boxes: readonly Box[]): Box | null {
    const free = this.free(boxes);
    if (free) return free;
    let best: Box | null = null;
    let least = Infinity;
    for (const box of boxes) {
      const inside = this.inside(box);
      const covered = this.covered(inside);
      if (covered < least) {
        least = covered;
        best = inside;
      }
    }
    if (best) this.take(best);
    return best;
  }

  private inside(box: Box): Box {
    const { x, y, width, height } = this.frame;
    return {
      ...box,
      x: Math.max(x, Math.min(box.x, x + width - box.width)),
      y: Math.max(y, Math.min(box.y, y + height - box.height)),
    };
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
