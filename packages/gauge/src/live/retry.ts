/** Waits between tries: the first, then doubled up to ten seconds. */
export interface RetryDelays {
  next(): number;
  reset(): void;
}

const LONGEST_MS = 10_000;

export function retryDelays(firstMs = 500): RetryDelays {
  let delay = firstMs;
  return {
    next() {
      const now = delay;
      delay = Math.min(LONGEST_MS, 2 * delay);
      return now;
    },
    reset() {
      delay = firstMs;
    },
  };
}
