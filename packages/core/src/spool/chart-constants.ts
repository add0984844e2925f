import { logGamma } from '../distribution/gamma-function.ts';
import { normalDensity, normalLower } from '../distribution/normal.ts';
import { DomainError } from '../error/domain-error.ts';

/**
 * c4: mean of the sample SD over σ, √(2/(n−1)) Γ(n/2)/Γ((n−1)/2). n may be an effective size and need
 * not be whole.
 *
 * @throws {DomainError} `sample_too_small` when n is not above 1
 * @source NIST/SEMATECH e-Handbook 6.3.2.1
 */
export function c4(n: number): number {
  requireAboveOne('c4', n);
  return Math.sqrt(2 / (n - 1)) * Math.exp(logGamma(n / 2) - logGamma((n - 1) / 2));
}

/** d2: mean of the range of n normal readings over σ; d3: its SD. */
export interface RangeConstants {
  readonly d2: number;
  readonly d3: number;
}

const known = new Map<number, RangeConstants>();

/**
 * Constants of the range of n independent normal readings, by Tippett's integrals:
 * E R = ∫ 1 − Φ(x)ⁿ − (1 − Φ(x))ⁿ dx and
 * E R² = 2 ∫∫_{w > 0} 1 − Φ(x+w)ⁿ − (1 − Φ(x))ⁿ + (Φ(x+w) − Φ(x))ⁿ dw dx.
 *
 * @param n - readings in a subgroup; whole, 2 to 100
 * @throws {DomainError} `subgroup_size` when n is not whole or outside 2 to 100
 * @accuracy 1e-8 absolute; tests/reference
 * @source Tippett (1925), Biometrika 17:364 (from memory); the values of NIST/SEMATECH e-Handbook 6.3.2
 */
export function rangeConstants(n: number): RangeConstants {
  if (!Number.isInteger(n) || n < 2 || n > 100) {
    throw new DomainError(
      'subgroup_size',
      `rangeConstants: n must be a whole number from 2 to 100; got ${n}. Use the SD chart for other sizes.`,
      { n },
    );
  }
  const found = known.get(n);
  if (found) return found;
  const d2 = meanRange(n);
  const constants = { d2, d3: Math.sqrt(meanSquareRange(n) - d2 * d2) };
  known.set(n, constants);
  return constants;
}

/** Beyond this many SDs a normal tail is below 1e-18. */
const END = 9;
/** Trapezoid step along x: on the whole line the rule is good to rounding for such smooth bells. */
const STEP = 0.1;
/** Simpson panels along w. */
const PANELS = 720;

function meanRange(n: number): number {
  let sum = 0;
  for (let x = -END; x <= END; x += STEP)
    sum += STEP * (1 - normalLower(x) ** n - normalLower(-x) ** n);
  return sum;
}

/** E R² = ∫ 2w P(R > w) dw with P(R > w) = 1 − n ∫ φ(x) (Φ(x+w) − Φ(x))ⁿ⁻¹ dx. */
function meanSquareRange(n: number): number {
  const count = Math.round((2 * END) / STEP) + 1;
  const x = Float64Array.from({ length: count }, (_, i) => -END + i * STEP);
  const density = x.map(normalDensity);
  const below = x.map(normalLower);
  const top = 2 * END;
  const step = top / PANELS;
  let total = 0;
  for (let k = 0; k <= PANELS; k++) {
    const w = k * step;
    let inside = 0;
    for (let i = 0; i < count; i++)
      inside += density[i]! * (normalLower(x[i]! + w) - below[i]!) ** (n - 1);
    const weight = k === 0 || k === PANELS ? 1 : k % 2 === 1 ? 4 : 2;
    total += weight * 2 * w * (1 - n * STEP * inside);
  }
  return (total * step) / 3;
}

/** Factors of the usual charts, by subgroup size. */
export interface ChartFactors extends RangeConstants {
  readonly c4: number;
  /** Limits of means: ± A2 R̄, ± A3 s̄. */
  readonly a2: number;
  readonly a3: number;
  /** Limits of SDs: B3 s̄, B4 s̄. */
  readonly b3: number;
  readonly b4: number;
  /** Limits of ranges, of moving ranges for n = 2: D3 R̄, D4 R̄. */
  readonly lowRange: number;
  readonly highRange: number;
  /** Limits of individuals: ± E2 times the mean moving range. */
  readonly e2: number;
}

/**
 * Factors of Shewhart charts with three-sigma limits.
 * @source NIST/SEMATECH e-Handbook 6.3.2.1 and 6.3.2.2 (definitions; A2, D3, D4, B3, B4 follow from c4, d2, d3)
 */
export function chartFactors(n: number): ChartFactors {
  const { d2, d3 } = rangeConstants(n);
  const mean = c4(n);
  const spread = (3 * Math.sqrt(1 - mean * mean)) / mean;
  return {
    d2,
    d3,
    c4: mean,
    a2: 3 / (d2 * Math.sqrt(n)),
    a3: 3 / (mean * Math.sqrt(n)),
    b3: Math.max(0, 1 - spread),
    b4: 1 + spread,
    lowRange: Math.max(0, 1 - (3 * d3) / d2),
    highRange: 1 + (3 * d3) / d2,
    e2: 3 / d2,
  };
}

function requireAboveOne(operation: string, n: number): void {
  if (n > 1) return;
  throw new DomainError(
    'sample_too_small',
    `${operation}: n must exceed 1; got ${n}. Take more readings.`,
    { n },
  );
}
