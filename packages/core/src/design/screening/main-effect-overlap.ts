import { isNumeric } from '../../factor/factor.ts';
import type { Design } from '../design.ts';

/** How far the main effects of a design are from standing alone; correlations from 0 to 1. */
export interface MainEffectOverlap {
  /** Largest |correlation| between two main effects. */
  readonly amongMainEffects: number;
  /** Largest |correlation| between a main effect and a square or two-factor interaction. */
  readonly withSecondOrder: number;
}

/**
 * Largest correlations of main-effect columns, about their means.
 * @param design - factors numeric or with two named levels
 */
export function mainEffectOverlap({ factors, runs }: Design): MainEffectOverlap {
  const columns = factors.map((factor) =>
    runs.map(({ coded }) => {
      const value = coded[factor.name];
      if (isNumeric(factor)) return Number(value);
      return value === factor.levels[0] ? 1 : -1;
    }),
  );
  let amongMainEffects = 0;
  let withSecondOrder = 0;
  for (const [a, first] of columns.entries()) {
    for (const [b, second] of columns.entries()) {
      if (b > a) continue;
      if (b < a)
        amongMainEffects = Math.max(amongMainEffects, Math.abs(correlation(first, second)));
      const product = first.map((value, i) => value * second[i]!);
      for (const column of columns) {
        withSecondOrder = Math.max(withSecondOrder, Math.abs(correlation(column, product)));
      }
    }
  }
  return { amongMainEffects, withSecondOrder };
}

/** Pearson correlation; 0 when a column does not vary. */
function correlation(x: readonly number[], y: readonly number[]): number {
  const n = x.length;
  const meanX = x.reduce((sum, value) => sum + value, 0) / n;
  const meanY = y.reduce((sum, value) => sum + value, 0) / n;
  let xy = 0;
  let xx = 0;
  let yy = 0;
  for (let i = 0; i < n; i++) {
    const dx = x[i]! - meanX;
    const dy = y[i]! - meanY;
    xy += dx * dy;
    xx += dx * dx;
    yy += dy * dy;
  }
  return xx < 1e-12 || yy < 1e-12 ? 0 : xy / Math.sqrt(xx * yy);
}
