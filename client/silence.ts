/** Tells a server that does not answer any more, where nothing else tells that: one that hangs, and a worker that ended. */

/** How often it is asked, in milliseconds, and how many times in a row an answer may be missing. */
const EVERY_MS = 4000;
const MOST_MISSED = 5;

/** How much longer a test of the first answer takes: the server may be large and the line slow. */
const AT_FIRST = 3;

export interface Watch {
  /** Resolves when it is silent, to the seconds that it was asked in vain; or at once to 0 when told to stop. */
  readonly silent: Promise<number>;
  stop(): void;
}

/**
 * Asks now and then. Missing answers are counted, not the time without one: a machine that slept all night asks once in
 * the morning. An answer that is an error is an answer.
 */
export function whenSilent(ask: () => Promise<unknown>, everyMs = EVERY_MS, mostMissed = MOST_MISSED): Watch {
  let tell: (seconds: number) => void = () => {};
  const silent = new Promise<number>((resolve) => {
    tell = resolve;
  });
  let missed = 0;
  let hasAnswered = false;
  let isAsking = false;
  const timer = setInterval(() => {
    if (!isAsking) {
      isAsking = true;
      const answered = () => {
        isAsking = false;
        hasAnswered = true;
        missed = 0;
      };
      ask().then(answered, answered);
      return;
    }
    missed++;
    if (missed < mostMissed * (hasAnswered ? 1 : AT_FIRST)) return;
    clearInterval(timer);
    tell((missed * everyMs) / 1000);
  }, everyMs);
  return {
    silent,
    stop() {
      clearInterval(timer);
      tell(0);
    },
  };
}
