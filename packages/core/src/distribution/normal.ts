import { requireNumber, requireProbability } from './domain.ts';
import { LOG_ROOT_TWO_PI } from './gamma-function.ts';

const ROOT_HALF_PI_INVERSE = 0.3989422804014327;

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
    (((0.06568233791820745 * s + 2.2352520354606837) * s + 161.02823106855587) * s +
      1067.6894854603709) *
      s +
    18154.98125334356;
  const bottom =
    (((s + 47.202581904688245) * s + 976.0985517377767) * s + 10260.932208618979) * s +
    45507.78933502673;
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
  let top = 1.0765576773720192e-8 * z;
  let bottom = z;
  for (let i = 0; i < 7; i++) {
    top = (top + NEAR_TOP[i]!) * z;
    bottom = (bottom + NEAR_BOTTOM[i]!) * z;
  }
  return (top + NEAR_TOP[7]!) / (bottom + NEAR_BOTTOM[7]!);
}

function scaledTailFar(z: number): number {
  const s = 1 / (z * z);
  let top = 0.023073441764940174 * s;
  let bottom = s;
  for (let i = 0; i < 4; i++) {
    top = (top + FAR_TOP[i]!) * s;
    bottom = (bottom + FAR_BOTTOM[i]!) * s;
  }
  const correction = (s * (top + FAR_TOP[4]!)) / (bottom + FAR_BOTTOM[4]!);
  return (ROOT_HALF_PI_INVERSE - correction) / z;
}

const NEAR_TOP = Float64Array.of(
  0.39894151208813466,
  8.883149794388377,
  93.50665613217785,
  597.2702763948002,
  2494.5375852903726,
  6848.190450536283,
  11602.65143764735,
  9842.714838383978,
);
const NEAR_BOTTOM = Float64Array.of(
  22.266688044328117,
  235.387901782625,
  1519.3775994075547,
  6485.558298266761,
  18615.571640885097,
  34900.95272114598,
  38912.00328609327,
  19685.429676859992,
);
const FAR_TOP = Float64Array.of(
  0.215898534057957,
  0.12740116116024736,
  0.022235277870649807,
  0.0014216191932278934,
  2.9112874951168793e-5,
);
const FAR_BOTTOM = Float64Array.of(
  1.284260096144911,
  0.4682382124808651,
  0.06598813786892856,
  0.0037823963320275824,
  7.297515550839662e-5,
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
  2509.0809287301227,
  33430.57558358813,
  67265.7709270087,
  45921.95393154987,
  13731.69376550946,
  1971.5909503065513,
  133.14166789178438,
  3.3871328727963665,
);
const CENTRE_BOTTOM = Float64Array.of(
  5226.495278852854,
  28729.085735721943,
  39307.89580009271,
  21213.794301586597,
  5394.196021424751,
  687.1870074920579,
  42.31333070160091,
  1,
);
const MIDDLE_TOP = Float64Array.of(
  0.0007745450142783414,
  0.022723844989269184,
  0.2417807251774506,
  1.2704582524523684,
  3.6478483247632045,
  5.769497221460691,
  4.630337846156546,
  1.4234371107496835,
);
const MIDDLE_BOTTOM = Float64Array.of(
  1.0507500716444169e-9,
  0.0005475938084995345,
  0.015198666563616457,
  0.14810397642748008,
  0.6897673349851,
  1.6763848301838038,
  2.053191626637759,
  1,
);
const FINAL_TOP = Float64Array.of(
  2.0103343992922881e-7,
  2.7115555687434876e-5,
  0.0012426609473880784,
  0.026532189526576124,
  0.29656057182850487,
  1.7848265399172913,
  5.463784911164114,
  6.657904643501103,
);
const FINAL_BOTTOM = Float64Array.of(
  2.0442631033899397e-15,
  1.421511758316446e-7,
  1.8463183175100548e-5,
  0.0007868691311456133,
  0.014875361290850615,
  0.1369298809227358,
  0.599832206555888,
  1,
);
