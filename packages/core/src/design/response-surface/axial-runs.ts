import type { NumericFactor } from '../../factor/factor.ts';
import type { DesignRun } from '../design.ts';
import { pointOf, runAt } from '../point-kind.ts';

/** Two points on each axis, minus before plus. */
export function axialRuns(
  factors: readonly NumericFactor[],
  alpha: number,
  block: number,
): DesignRun[] {
  return factors.flatMap((_, j) =>
    [-alpha, alpha].map((value): DesignRun => {
      const point = pointOf(
        factors.map((__, i) => (i === j ? value : 0)),
        factors,
      );
      return { ...runAt(point, factors, block), kind: 'axial' };
    }),
  );
}
