import { DomainError } from '../error/domain-error.ts';
import { chartFactors } from './chart-constants.ts';
import { type RunRule, type Signal, signals } from './run-rules.ts';

export interface ChartLimits {
  readonly centre: number;
  readonly low: number;
  readonly high: number;
}

/** Individuals and moving range of one figure per spool. */
export interface IndividualsChart {
  readonly values: readonly number[];
  /** Differences of neighbours, one fewer than the values. */
  readonly movingRanges: readonly number[];
  readonly individuals: ChartLimits;
  readonly ranges: ChartLimits;
  /** From the mean moving range, MR̄/d2. */
  readonly sigma: number;
  readonly signals: readonly Signal[];
  /** Positions of values whose moving range is above its limit. */
  readonly jumps: readonly number[];
}

/**
 * Charts for figures of which there is one a spool: limits x̄ ± 3 MR̄/d2 and D4 MR̄ with d2 = 1.128 and
 * D4 = 3.267 for ranges of two.
 *
 * @param values - in the order in which the spools were made
 * @param baseline - how many of the first values set the limits; all when absent
 * @throws {DomainError} `too_few_values` when fewer than two values set the limits
 * @source NIST/SEMATECH e-Handbook 6.3.2.2
 */
export function individualsChart(
  values: readonly number[],
  {
    baseline = values.length,
    rules,
  }: { readonly baseline?: number; readonly rules?: readonly RunRule[] } = {},
): IndividualsChart {
  const used = values.slice(0, baseline);
  if (used.length < 2) {
    throw new DomainError(
      'too_few_values',
      `individualsChart: at least 2 values must set the limits; got ${used.length}. Give more spools.`,
      { got: used.length },
    );
  }
  const { d2, e2, highRange } = chartFactors(2);
  const movingRanges = values.slice(1).map((value, i) => Math.abs(value - values[i]!));
  const ranges = movingRanges.slice(0, used.length - 1);
  const meanRange = ranges.reduce((a, b) => a + b, 0) / ranges.length;
  const centre = used.reduce((a, b) => a + b, 0) / used.length;
  const sigma = meanRange / d2;
  return {
    values,
    movingRanges,
    individuals: { centre, low: centre - e2 * meanRange, high: centre + e2 * meanRange },
    ranges: { centre: meanRange, low: 0, high: highRange * meanRange },
    sigma,
    signals: signals(values, { centre, sigma }, rules),
    jumps: movingRanges.flatMap((range, i) => (range > highRange * meanRange ? [i + 1] : [])),
  };
}
