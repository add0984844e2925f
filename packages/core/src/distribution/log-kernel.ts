import { LOG_ROOT_TWO_PI, stirlingRemainder } from './gamma-function.ts';

/**
 * ln(1 + u) − u without cancellation near 0.
 *
 * With r = u/(2 + u), ln(1 + u) = 2 artanh r and 2r − u = −u r.
 *
 * @param u - above −1
 * @param onePlusU - 1 + u, given apart so that u near −1 keeps its digits
 */
export function logOnePlusMinus(u: number, onePlusU: number): number {
  if (u < -0.4 || u > 0.6) return Math.log(onePlusU) - u;
  const r = u / (2 + u);
  const square = r * r;
  let power = square;
  let sum = 1 / 3;
  for (let k = 5; ; k += 2) {
    const term = power / k;
    sum += term;
    if (term < 1e-17) break;
    power *= square;
  }
  return r * (2 * square * sum - u);
}

/**
 * ln of xᵃ e⁻ˣ / Γ(a): the gamma density in the variable ln x.
 *
 * Written around x = a as ½ ln(a/2π) + a(ln(1 + u) − u) − s(a), u = (x − a)/a, s the remainder of
 * Stirling's formula, so that no large logarithms cancel.
 *
 * @param x - above zero
 * @param a - shape, above zero
 * @source Loader (2000), Fast and accurate computation of binomial probabilities, §2 (from memory; derived above)
 */
export function logGammaKernel(x: number, a: number): number {
  return (
    0.5 * Math.log(a) -
    LOG_ROOT_TWO_PI +
    a * logOnePlusMinus((x - a) / a, x / a) -
    stirlingRemainder(a)
  );
}

/**
 * ln of xᵃ yᵇ / B(a, b), x + y = 1: the beta density in the variable ln(x/y).
 *
 * With n = a + b, u = (bx − ay)/a and v = (ay − bx)/b: ½ ln(ab/2πn) + s(n) − s(a) − s(b), which
 * depends on the shapes only, plus a(ln(1 + u) − u) + b(ln(1 + v) − v). The linear terms cancel
 * since au + bv = 0.
 *
 * @param x - in (0, 1)
 * @param y - 1 − x, given apart so that neither end loses digits
 * @param a - shape, above zero
 * @param b - shape, above zero
 * @source as {@link logGammaKernel}
 */
export function logBetaKernel(x: number, y: number, a: number, b: number): number {
  return logBetaPeak(a, b) + logBetaDrop(x, y, a, b);
}

/** The part of {@link logBetaKernel} that depends on the shapes only: its value at x = a/(a + b). */
export function logBetaPeak(a: number, b: number): number {
  const n = a + b;
  return (
    0.5 * Math.log(a * (b / n)) -
    LOG_ROOT_TWO_PI +
    stirlingRemainder(n) -
    stirlingRemainder(a) -
    stirlingRemainder(b)
  );
}

/** The rest of {@link logBetaKernel}: how far it lies below its peak, at most 0. */
export function logBetaDrop(x: number, y: number, a: number, b: number): number {
  const n = a + b;
  const distance = b * x - a * y;
  return (
    a * logOnePlusMinus(distance / a, (n * x) / a) + b * logOnePlusMinus(-distance / b, (n * y) / b)
  );
}
