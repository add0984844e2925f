/** Weights of the newest value in the three running figures; 0 to 1. */
export interface RatioWeights {
  readonly level: number;
  readonly aroundLevel: number;
  readonly betweenNeighbours: number;
}

export const usualRatioWeights: RatioWeights = {
  level: 0.1,
  aroundLevel: 0.1,
  betweenNeighbours: 0.1,
};

/**
 * Above this the series is taken to be moving: passed by 1 % of values of white noise at weights of
 * 0.1. Below `STEADY_RATIO`, the median, it is taken to stand still.
 */
export const MOVING_RATIO = 1.85;
export const STEADY_RATIO = 1;

/**
 * Ratio of two variances of one series, a value at a time: around a running level, and between
 * neighbours. About 1 for independent noise on a still level, larger while the level moves. It holds
 * for independent noise only, so it is fed with averages over whole screw turns.
 *
 * ν² ← λ₂(x − x_f)² + (1 − λ₂)ν² with the old level, x_f ← λ₁x + (1 − λ₁)x_f,
 * δ² ← λ₃(x − x_before)² + (1 − λ₃)δ², R = (2 − λ₁)ν²/δ². The first values weigh 1/count, so that the
 * start does not linger.
 *
 * @source Cao & Rhinehart (1995), An efficient method for on-line identification of steady state,
 *   J. Process Control 5 (from memory)
 */
export interface VarianceRatio {
  /** R after this value; NaN until three have come or while nothing moves at all. */
  push(value: number): number;
  readonly count: () => number;
}

export function varianceRatio(weights: RatioWeights = usualRatioWeights): VarianceRatio {
  let count = 0;
  let level = 0;
  let before = 0;
  let around = 0;
  let between = 0;
  return {
    count: () => count,
    push(x) {
      count++;
      if (count === 1) {
        level = x;
        before = x;
        return Number.NaN;
      }
      const settling = 1 / (count - 1);
      const w2 = Math.max(weights.aroundLevel, settling);
      const w3 = Math.max(weights.betweenNeighbours, settling);
      around = w2 * (x - level) ** 2 + (1 - w2) * around;
      between = w3 * (x - before) ** 2 + (1 - w3) * between;
      const w1 = Math.max(weights.level, 1 / count);
      level = w1 * x + (1 - w1) * level;
      before = x;
      if (count < 3 || between === 0) return Number.NaN;
      return ((2 - weights.level) * around) / between;
    },
  };
}
