import { DomainError } from '../error/domain-error.ts';
import { median } from './descriptive.ts';

/** A column on an even time grid; NaN where the gauge was silent too long. */
export interface EvenColumn {
  readonly stepSeconds: number;
  readonly values: Float64Array;
}

/** Longest silence that the last value may bridge; beyond it the grid shows a gap. */
export const LONGEST_BRIDGE_SECONDS = 3;

/** A stretch with more silence than this is two logs; it would also fill the memory. */
const MOST_GRID_PER_READING = 100;

/**
 * The usual time between readings: the median of the positive steps, taken to the millisecond. Below
 * 2 ms (a log that only says whole seconds while reading faster) the mean step serves.
 *
 * @param seconds - times, never decreasing; s
 * @throws {DomainError} `too_few_values` when fewer than two readings or no time passes
 */
export function usualStepSeconds(seconds: Float64Array): number {
  const n = seconds.length;
  const span = n < 2 ? 0 : seconds[n - 1]! - seconds[0]!;
  if (!(span > 0)) {
    throw new DomainError(
      'too_few_values',
      `usualStepSeconds: the log must hold two readings at different times; got ${n} over ${span} s. Take a longer stretch.`,
      { readings: n, spanSeconds: span },
    );
  }
  const steps = new Float64Array(Math.min(n - 1, 20_001));
  const stride = Math.max(1, Math.floor((n - 1) / steps.length));
  for (let i = 0; i < steps.length; i++) {
    steps[i] = seconds[i * stride + 1]! - seconds[i * stride]!;
  }
  const usual = Math.round(median(steps) * 1000) / 1000;
  return usual >= 0.002 ? usual : span / (n - 1);
}

/**
 * A column put on an even grid by the last value at or before each grid time. A silence of more than
 * three seconds (or two steps, if longer) stays a gap of NaN.
 *
 * @param seconds - times, never decreasing, shape (n); s
 * @param x - values, NaN where missing, shape (n)
 * @param stepSeconds - grid step; the usual step of the log when absent
 * @throws {DomainError} `mostly_silent` when the grid would be over a hundred times the readings
 */
export function evenlySpaced(
  seconds: Float64Array,
  x: Float64Array,
  stepSeconds: number = usualStepSeconds(seconds),
): EvenColumn {
  const n = seconds.length;
  const start = seconds[0]!;
  const count = Math.floor((seconds[n - 1]! - start) / stepSeconds + 1e-9) + 1;
  if (count > MOST_GRID_PER_READING * n + 10_000) {
    throw new DomainError(
      'mostly_silent',
      `evenlySpaced: the stretch must hold readings most of the time; got ${n} readings for ${count} steps of ${stepSeconds} s. Cut the stretch at the long silence.`,
      { readings: n, steps: count },
    );
  }
  const values = new Float64Array(count).fill(Number.NaN);
  const bridge = Math.max(LONGEST_BRIDGE_SECONDS, 2 * stepSeconds) + 1e-9;
  // A reading half a step late still belongs to its grid time: clocks jitter.
  const slack = stepSeconds / 2;
  let at = 0;
  let last = -1;
  for (let k = 0; k < count; k++) {
    const time = start + k * stepSeconds;
    for (; at < n && seconds[at]! <= time + slack; at++) {
      if (!Number.isNaN(x[at]!)) last = at;
    }
    if (last >= 0 && time - seconds[last]! <= bridge) values[k] = x[last]!;
  }
  return { stepSeconds, values };
}
