import { normalQuantile } from '../distribution/normal.ts';
import { quickNormalLower } from '../distribution/tabulated-cdf.ts';

/** Chance that independent responses all lie between their marginal chances. */
export function productOf(lows: Float64Array, highs: Float64Array): number {
  let product = 1;
  for (let r = 0; r < lows.length; r++) product *= Math.max(0, highs[r]! - lows[r]!);
  return product;
}

const scores = new Float64Array(64);

/**
 * One point of the separated integral of correlated normal scores between marginal chances.
 *
 * @param places - uniform coordinates, those of this point at `from`, one fewer than responses
 * @source Genz (1992), J. Computational and Graphical Statistics 1:141–149 (from memory)
 */
export function jointChance(
  lows: Float64Array,
  highs: Float64Array,
  {
    lower,
    places,
    from,
  }: {
    readonly lower: Float64Array;
    readonly places: Float64Array;
    readonly from: number;
  },
): number {
  const k = lows.length;
  let product = 1;
  for (let r = 0; r < k; r++) {
    let low = lows[r]!;
    let high = highs[r]!;
    if (r > 0) {
      let shift = 0;
      for (let c = 0; c < r; c++) shift += lower[r * k + c]! * scores[c]!;
      if (shift !== 0 || lower[r * k + r] !== 1) {
        low = conditional(low, shift, lower[r * k + r]!);
        high = conditional(high, shift, lower[r * k + r]!);
      }
    }
    const width = high - low;
    if (!(width > 0)) return 0;
    product *= width;
    if (r + 1 < k) scores[r] = quickScore(low + places[from + r]! * width);
  }
  return product;
}

const conditional = (chance: number, shift: number, spread: number): number =>
  chance <= 0 ? 0 : chance >= 1 ? 1 : quickNormalLower((quickScore(chance) - shift) / spread);

const quickScore = (chance: number): number =>
  normalQuantile(Math.min(1 - 1e-15, Math.max(1e-15, chance)));
