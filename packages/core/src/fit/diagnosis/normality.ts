import { normalLower, normalQuantile } from '../../distribution/normal.ts';

/** Do values look as if drawn from one normal distribution? */
export type Normality =
  | {
      readonly kind: 'tested';
      /** Squared correlation of the ordered values with normal scores; 1 is perfect. */
      readonly w: number;
      readonly p: number;
      /** Ordered values beside their normal scores; `index` is the place in the values given. */
      readonly points: readonly {
        readonly index: number;
        readonly score: number;
        readonly value: number;
      }[];
    }
  | { readonly kind: 'too-few'; readonly count: number }
  | { readonly kind: 'constant' };

const FEWEST = 5;

/**
 * Shapiro–Francia test: W′ = squared correlation of the ordered values with the scores
 * Φ⁻¹((i − 3/8)/(n + 1/4)); ln(1 − W′) is near normal, its mean and SD known as functions of n.
 *
 * @param values - shape (n); 5 <= n <= 5000 for the p
 * @accuracy the p within 0.01 of simulation for n from 10 to 60, tests/core/fit/diagnosis
 * @source Shapiro & Francia (1972), JASA 67:215–216; the p by Royston (1993), A toolkit for testing
 *   for non-normality in complete and censored samples, The Statistician 42:37–43 (from memory)
 */
export function normality(values: Float64Array): Normality {
  const n = values.length;
  if (n < FEWEST) return { kind: 'too-few', count: n };
  const ordered = [...values.keys()].sort((a, b) => values[a]! - values[b]!);
  const points = ordered.map((index, i) => ({
    index,
    score: normalQuantile((i + 1 - 0.375) / (n + 0.25)),
    value: values[index]!,
  }));
  const mean = values.reduce((sum, value) => sum + value / n, 0);
  let cross = 0;
  let scores = 0;
  let squares = 0;
  for (const { score, value } of points) {
    cross += score * (value - mean);
    scores += score * score;
    squares += (value - mean) ** 2;
  }
  if (!(squares > 0)) return { kind: 'constant' };
  const w = (cross * cross) / (scores * squares);
  const u = Math.log(n);
  const v = Math.log(u);
  const z = (Math.log1p(-w) - (-1.2725 + 1.0521 * (v - u))) / (1.0308 - 0.26758 * (v + 2 / u));
  return { kind: 'tested', w, p: normalLower(-z), points };
}
