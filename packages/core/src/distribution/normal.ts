import { requireNumber, requireProbability } from './domain.ts';
import { LOG_ROOT_TWO_PI } from './gamma-function.ts';

const ROOT_HALF_PI_INVERSE = 0.398942280401432677939946;

/** Standard normal density φ(z). */
export function normalDensity(z: number): number {
  return ROOT_HALF_PI_INVERSE * Math.exp(-0.5 * z * z);
}

/**
 * P(Z < z) of the standard normal.
 *
 * @throws {DomainError} `out_of_domain` when z is NaN
 * @accuracy as {@link normalUpper}
 */
export function normalLower(z: number): number {
  return normalUpper(-z);
}

/**
 * P(Z > z) of the standard normal, correct in relative terms as far as doubles reach (z ≈ 38).
 *
 * @throws {DomainError} `out_of_domain` when z is NaN
 * @accuracy 1e-14 relative while the tail is above 1e-307; tests/reference
 * @source Cody (1969), Rational Chebyshev approximations for the error function, Math. Comp. 23,
 *   631-637 (coefficients from memory, then checked against 40-digit values)
 */
export function normalUpper(z: number): number {
  requireNumber('normalUpper', 'z', z);
  if (Math.abs(z) <= 0.67448975) return 0.5 - centralIntegral(z);
  const tail = outerTail(Math.abs(z));
  return z > 0 ? tail : 1 - tail;
}

/** P(|Z| > |z|), both tails. */
export function normalTwoSided(z: number): number {
  requireNumber('normalTwoSided', 'z', z);
  const size = Math.abs(z);
  return size <= 0.67448975 ? 1 - 2 * centralIntegral(size) : 2 * outerTail(size);
}

/**
 * ln P(Z > z), also where the tail itself underflows.
 *
 * @throws {DomainError} `out_of_domain` when z is NaN
 * @accuracy 1e-14 relative
 */
export function normalLogUpper(z: number): number {
  if (!(z > 5)) return z < -5 ? Math.log1p(-normalUpper(-z)) : Math.log(normalUpper(z));
  if (z === Number.POSITIVE_INFINITY) return Number.NEGATIVE_INFINITY;
  return -0.5 * z * z + Math.log(scaledTail(z));
}

/** Mills ratio (1 − Φ(z))/φ(z) for any finite z; large and inaccurate only where φ underflows on the left. */
export function millsRatio(z: number): number {
  if (z > 5) return scaledTail(z) * Math.exp(LOG_ROOT_TWO_PI);
  return normalUpper(z) / normalDensity(z);
}

/** Φ(z) − ½ for |z| ≤ 0.67. */
function centralIntegral(z: number): number {
  const s = z * z;
  const top =
    (((0.065682337918207449113 * s + 2.2352520354606839287) * s + 161.02823106855587881) * s +
      1067.6894854603709582) *
      s +
    18154.981253343561249;
  const bottom =
    (((s + 47.20258190468824187) * s + 976.09855173777669322) * s + 10260.932208618978205) * s +
    45507.789335026729956;
  return (z * top) / bottom;
}

/** P(Z > z) for z ≥ 0.67; z² is split so that the exponential keeps its last digits. */
function outerTail(z: number): number {
  if (z > 38.6) return 0;
  const coarse = Math.trunc(z * 16) / 16;
  const rest = (z - coarse) * (z + coarse);
  return Math.exp(-0.5 * coarse * coarse) * Math.exp(-0.5 * rest) * scaledTail(z);
}

/** P(Z > z) exp(z²/2) for z ≥ 0.67. */
function scaledTail(z: number): number {
  return z < 5.656854249492381 ? scaledTailNear(z) : scaledTailFar(z);
}

function scaledTailNear(z: number): number {
  let top = 1.0765576773720192317e-8 * z;
  let bottom = z;
  for (let i = 0; i < 7; i++) {
    top = (top + NEAR_TOP[i]!) * z;
    bottom = (bottom + NEAR_BOTTOM[i]!) * z;
  }
  return (top + NEAR_TOP[7]!) / (bottom + NEAR_BOTTOM[7]!);
}

function scaledTailFar(z: number): number {
  const s = 1 / (z * z);
  let top = 0.02307344176494017303 * s;
  let bottom = s;
  for (let i = 0; i < 4; i++) {
    top = (top + FAR_TOP[i]!) * s;
    bottom = (bottom + FAR_BOTTOM[i]!) * s;
  }
  const correction = (s * (top + FAR_TOP[4]!)) / (bottom + FAR_BOTTOM[4]!);
  return (ROOT_HALF_PI_INVERSE - correction) / z;
}

const NEAR_TOP = Float64Array.of(
  0.39894151208813466764,
  8.8831497943883759412,
  93.506656132177855979,
  597.27027639480026226,
  2494.5375852903726711,
  6848.1904505362823326,
  11602.651437647350124,
  9842.7148383839780218,
);
const NEAR_BOTTOM = Float64Array.of(
  22.266688044328115691,
  235.38790178262499861,
  1519.377599407554805,
  6485.558298266760755,
  18615.571640885098091,
  34900.952721145977266,
  38912.003286093271411,
  19685.429676859990727,
);
const FAR_TOP = Float64Array.of(
  0.21589853405795699,
  0.1274011611602473639,
  0.022235277870649807,
  0.001421619193227893466,
  2.9112874951168792e-5,
);
const FAR_BOTTOM = Float64Array.of(
  1.28426009614491121,
  0.468238212480865118,
  0.0659881378689285515,
  0.00378239633202758244,
  7.29751555083966205e-5,
);

/**
 * The z with P(Z < z) = p; −∞ at 0 and ∞ at 1.
 *
 * @throws {DomainError} `out_of_domain` when p is outside [0, 1]
 * @accuracy 1e-14 relative
 * @source Wichura (1988), Algorithm AS 241, Applied Statistics 37, 477-484 (from memory, then
 *   checked by going back through {@link normalUpper})
 */
export function normalQuantile(p: number): number {
  requireProbability('normalQuantile', 'probability', p);
  const q = p - 0.5;
  if (Math.abs(q) <= 0.425) return centralQuantile(q);
  return q < 0 ? -outerQuantile(p) : outerQuantile(1 - p);
}

/** The z with P(Z > z) = q, full accuracy for small q. Errors and accuracy as {@link normalQuantile}. */
export function normalUpperQuantile(q: number): number {
  requireProbability('normalUpperQuantile', 'upper-tail probability', q);
  const c = 0.5 - q;
  if (Math.abs(c) <= 0.425) return centralQuantile(c);
  return c > 0 ? outerQuantile(q) : -outerQuantile(1 - q);
}

function centralQuantile(q: number): number {
  const r = 0.180625 - q * q;
  return q * ratio(r, CENTRE_TOP, CENTRE_BOTTOM);
}

/** The z > 0 whose upper tail is q < 0.075. */
function outerQuantile(q: number): number {
  if (q === 0) return Number.POSITIVE_INFINITY;
  const r = Math.sqrt(-Math.log(q));
  return r <= 5 ? ratio(r - 1.6, MIDDLE_TOP, MIDDLE_BOTTOM) : ratio(r - 5, FINAL_TOP, FINAL_BOTTOM);
}

/** Ratio of two polynomials of degree 7, highest power first; the lower one starts from 1. */
function ratio(r: number, top: Float64Array, bottom: Float64Array): number {
  let numerator = top[0]!;
  let denominator = bottom[0]!;
  for (let i = 1; i < 8; i++) {
    numerator = numerator * r + top[i]!;
    denominator = denominator * r + bottom[i]!;
  }
  return numerator / denominator;
}

const CENTRE_TOP = Float64Array.of(
  2.509080928730122672e3,
  3.343057558358812811e4,
  6.726577092700870085e4,
  4.592195393154987145e4,
  1.373169376550946112e4,
  1.971590950306551442e3,
  1.331416678917843774e2,
  3.387132872796366608,
);
const CENTRE_BOTTOM = Float64Array.of(
  5.226495278852854561e3,
  2.872908573572194267e4,
  3.930789580009271061e4,
  2.121379430158659586e4,
  5.394196021424751107e3,
  6.871870074920579083e2,
  4.231333070160091125e1,
  1,
);
const MIDDLE_TOP = Float64Array.of(
  7.7454501427834140764e-4,
  2.27238449892691845833e-2,
  2.4178072517745061177e-1,
  1.27045825245236838258,
  3.64784832476320460504,
  5.7694972214606914055,
  4.6303378461565452959,
  1.42343711074968357734,
);
const MIDDLE_BOTTOM = Float64Array.of(
  1.05075007164441684324e-9,
  5.475938084995344946e-4,
  1.51986665636164571966e-2,
  1.4810397642748007459e-1,
  6.8976733498510000455e-1,
  1.6763848301838038494,
  2.05319162663775882187,
  1,
);
const FINAL_TOP = Float64Array.of(
  2.01033439929228813265e-7,
  2.71155556874348757815e-5,
  1.2426609473880784386e-3,
  2.6532189526576123093e-2,
  2.9656057182850489123e-1,
  1.7848265399172913358,
  5.4637849111641143699,
  6.6579046435011037772,
);
const FINAL_BOTTOM = Float64Array.of(
  2.04426310338993978564e-15,
  1.4215117583164458887e-7,
  1.8463183175100546818e-5,
  7.868691311456132591e-4,
  1.48753612908506148525e-2,
  1.3692988092273580531e-1,
  5.9983220655588793769e-1,
  1,
);
