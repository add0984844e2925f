/// <reference path="./jstat.d.ts" />
import jstat from 'jstat';
import { requireFinitePositive } from './domain.ts';

/** ln √(2π). */
export const LOG_ROOT_TWO_PI = 0.9189385332046728;

/** From here on the asymptotic series below have run into rounding. */
const ASYMPTOTIC_FROM = 10;

/**
 * What Stirling's formula leaves out: s(x) = ln Γ(x) − (x − ½) ln x + x − ln √(2π).
 *
 * Tail kernels are built on s rather than on ln Γ, because differences of ln Γ at large arguments
 * cancel: at x = 5e5, ln Γ is 6e6 and its last bit is already 1e-9.
 *
 * @param x - above zero
 * @accuracy 1e-14 absolute for x ≥ 1e-3
 * @source DLMF 5.11.1
 */
export function stirlingRemainder(x: number): number {
  if (x >= ASYMPTOTIC_FROM) return stirlingSeries(x);
  return logGammaUnchecked(x) - (x - 0.5) * Math.log(x) + x - LOG_ROOT_TWO_PI;
}

function stirlingSeries(x: number): number {
  const r = 1 / (x * x);
  return (
    (1 / 12 -
      r *
        (1 / 360 -
          r *
            (1 / 1260 -
              r *
                (1 / 1680 -
                  r * (1 / 1188 - r * (691 / 360360 - r * (1 / 156 - (r * 3617) / 122400))))))) /
    x
  );
}

/**
 * ln Γ(x).
 *
 * From jstat, whose `loggam` is good to 2e-15 from ½ up (below ½ its shift cancels, so the argument
 * is raised by one here). Measured on the tables in datasets/distribution-tables, jstat's other
 * routines miss 1e-9 relative and are not used: normal.cdf past |z| = 3, studentt.cdf, centralF.cdf,
 * chisquare.cdf for upper tails (as 1 − cdf), noncentralt.cdf, tukey.cdf, and every inverse; its
 * gammafn is off by 8e-8 just below 1.
 *
 * @param x - finite, above zero
 * @throws {DomainError} `out_of_domain` otherwise
 * @accuracy 1e-14 relative, or 1e-14 absolute near its zeros at 1 and 2; tests/core/distribution
 * @source DLMF 5.2, 5.5.1
 */
export function logGamma(x: number): number {
  requireFinitePositive('logGamma', 'argument', x);
  return logGammaUnchecked(x);
}

function logGammaUnchecked(x: number): number {
  return x < 0.5 ? jstat.loggam(x + 1) - Math.log(x) : jstat.loggam(x);
}

/**
 * ψ(x), the derivative of ln Γ. With ν degrees of freedom and σ = 1,
 * E ln s = ½(ψ(ν/2) − ln(ν/2)): the bias of a log standard deviation.
 *
 * @param x - finite, above zero
 * @throws {DomainError} `out_of_domain` otherwise
 * @accuracy 1e-13 relative away from the zero at 1.4616, 1e-14 absolute near it
 * @source DLMF 5.5.2 and 5.11.2
 */
export function digamma(x: number): number {
  requireFinitePositive('digamma', 'argument', x);
  let sum = 0;
  let z = x;
  while (z < ASYMPTOTIC_FROM) {
    sum -= 1 / z;
    z += 1;
  }
  const r = 1 / (z * z);
  const tail =
    r *
    (1 / 12 -
      r * (1 / 120 - r * (1 / 252 - r * (1 / 240 - r * (1 / 132 - r * (691 / 32760 - r / 12))))));
  return sum + Math.log(z) - 0.5 / z - tail;
}

/**
 * ψ′(x), the second derivative of ln Γ. With ν degrees of freedom Var ln s = ¼ψ′(ν/2).
 *
 * @param x - finite, above zero
 * @throws {DomainError} `out_of_domain` otherwise
 * @accuracy 1e-14 relative
 * @source DLMF 5.15.5 and 5.15.8
 */
export function trigamma(x: number): number {
  requireFinitePositive('trigamma', 'argument', x);
  let sum = 0;
  let z = x;
  while (z < ASYMPTOTIC_FROM) {
    sum += 1 / (z * z);
    z += 1;
  }
  const r = 1 / (z * z);
  const tail =
    r *
    (1 / 6 -
      r * (1 / 30 - r * (1 / 42 - r * (1 / 30 - r * (5 / 66 - r * (691 / 2730 - (r * 7) / 6))))));
  return sum + 1 / z + r / 2 + tail / z;
}
