import { requireFinite, requireOpenProbability, requirePositive, requireWhole } from './domain.ts';
import { increasingRoot } from './increasing-root.ts';
import { normalDensity, normalLogUpper, normalLower } from './normal.ts';
import { logScaledChiAverage } from './scaled-chi-average.ts';

const PAIRS_ONLY_FROM = 25;
/** Nodes reach this many standard deviations each side of the middle. */
const REACH = 9;
const MOST_MEANS = 1000;

/**
 * P(Q > q) for the range of `means` independent normal means over an independent standard
 * deviation with df degrees of freedom: the tail behind honest all-pairs comparisons.
 *
 * @param q - range over the standard deviation of one mean; at least zero
 * @param means - number of means, 2 to 1000
 * @param df - degrees of freedom, above zero; Infinity when the standard deviation is known
 * @throws {DomainError} `out_of_domain` when an argument is outside its range
 * @accuracy 1e-11 relative; tests/reference, and against 2·P(T > q/√2) for two means
 * @source the double integral of the definition; Tukey (1953), as tabled in Harter (1960), Tables of range and
 *   studentized range, Ann. Math. Stat. 31, 1122-1147 (from memory)
 */
export function studentizedRangeUpper(q: number, means: number, df: number): number {
  requireFinite('studentizedRangeUpper', 'range', q);
  if (q < 0) requirePositive('studentizedRangeUpper', 'range', q);
  requireWhole('studentizedRangeUpper', 'number of means', {
    value: means,
    least: 2,
    most: MOST_MEANS,
  });
  requirePositive('studentizedRangeUpper', 'degrees of freedom', df);
  if (q === 0) return 1;
  if (df === Number.POSITIVE_INFINITY) return Math.exp(logNormalRangeUpper(q, means));
  return Math.min(1, Math.exp(logScaledChiAverage(df, (s) => logNormalRangeUpper(q * s, means))));
}

/**
 * The q with P(Q > q) = p: the critical value of all-pairs comparisons.
 *
 * @param p - in (0, 1)
 * @throws {DomainError} `out_of_domain` when an argument is outside its range
 * @accuracy 1e-9 relative
 */
export function studentizedRangeUpperQuantile(p: number, means: number, df: number): number {
  requireOpenProbability('studentizedRangeUpperQuantile', 'upper-tail probability', p);
  const logTarget = Math.log(p);
  const logQ = increasingRoot(
    (w) => logTarget - Math.log(studentizedRangeUpper(Math.exp(w), means, df)),
    { start: 1, step: 0.5 },
  );
  return Math.exp(logQ);
}

/**
 * ln P(W > w) for the range W of n standard normals.
 *
 * n ∫ φ(z) [Φ(z)ⁿ⁻¹ − (Φ(z) − Φ(z − w))ⁿ⁻¹] dz, the integrand written with expm1 and log1p so
 * that it is a sum of positive small numbers; trapezoid rule centred on w/2, where the mass is.
 * Past w = 25 two pairs never stretch at once (odds e^(−w²/12)), so the n(n − 1)/2 pairs add up.
 */
function logNormalRangeUpper(w: number, n: number): number {
  if (w > PAIRS_ONLY_FROM) return Math.log(n * (n - 1)) + normalLogUpper(w * Math.SQRT1_2);
  const middle = 0.5 * w;
  let sum = 0;
  // The integrand narrows slowly with n; halving the step keeps 1e-13 to a thousand means.
  const step = n <= 30 ? 0.2 : 0.1;
  for (let z = middle - REACH; z <= middle + REACH; z += step) {
    const below = normalLower(z);
    const far = normalLower(z - w);
    if (far === 0 || below === 0) continue;
    const share = far >= below ? 1 : -Math.expm1((n - 1) * Math.log1p(-far / below));
    sum += normalDensity(z) * below ** (n - 1) * share;
  }
  return Math.log(n * step * sum);
}
