/**
 * Whether a server that died may be started again without being asked: at most `most` times within `withinMs`.
 * A server that dies at once, again and again, would otherwise take the machine's time for ever.
 */
export class RestartBudget {
  readonly most: number;
  readonly #withinMs: number;
  #taken: number[] = [];

  constructor(most: number, withinMs: number) {
    this.most = most;
    this.#withinMs = withinMs;
  }

  /** Takes one restart at the time `now` (milliseconds), if there is one left. */
  take(now: number): boolean {
    this.#taken = this.#taken.filter((at) => now - at < this.#withinMs);
    if (this.#taken.length >= this.most) return false;
    this.#taken.push(now);
    return true;
  }

  /** Forgets what was taken: the user asked for a restart, so the count starts afresh. */
  reset(): void {
    this.#taken = [];
  }
}
