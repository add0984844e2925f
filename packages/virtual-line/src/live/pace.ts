import type { VirtualReading } from '../virtual-line.ts';

/** Anything that makes a reading a second: a virtual line. */
export interface SecondSource {
  step(): VirtualReading;
}

export interface PaceOf {
  readonly source: SecondSource;
  /** Virtual seconds a real second: 1 is real time. */
  readonly pace: number;
  readonly onReading: (reading: VirtualReading) => void;
  /** Virtual seconds to run; for ever when absent. */
  readonly seconds?: number;
  readonly onEnd?: () => void;
}

const shortestTickMs = 10;

/**
 * Steps a source at a pace. Fast paces step several seconds a tick, so no reading is lost.
 *
 * @returns a function that stops it; stopping twice does nothing
 */
export function atPace({ source, pace, onReading, seconds, onEnd }: PaceOf): () => void {
  const tickMs = Math.max(shortestTickMs, 1000 / pace);
  const startedAt = performance.now();
  let done = 0;
  const timer = setInterval(() => {
    const due = Math.floor(((performance.now() - startedAt) / 1000) * pace + 1e-6);
    while (done < due && (seconds === undefined || done < seconds)) {
      onReading(source.step());
      done++;
    }
    if (seconds !== undefined && done >= seconds) {
      clearInterval(timer);
      onEnd?.();
    }
  }, tickMs);
  return () => clearInterval(timer);
}
