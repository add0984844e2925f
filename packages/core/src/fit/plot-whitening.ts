import type { StrataSums } from './strata-sums.ts';

/**
 * V⁻¹ seen from the plots at given ratios. With f = 1/(1 + r₁ s) of an inner plot of size s,
 * t = Σ s f and e = 1/(1 + r₀ t) of an outer plot:
 * V⁻¹ = I − r₁ Σ f zzᵀ − r₀ Σ e vvᵀ with v = Σ f z over the inner plots of an outer one.
 */
export interface PlotWhitening {
  /** f, shape (inner). */
  readonly innerShrink: Float64Array;
  /** t, shape (outer). */
  readonly outerSize: Float64Array;
  /** e, shape (outer). */
  readonly outerShrink: Float64Array;
  /** Σ f Zᵀ[Q e], shape (outer, p + 1). */
  readonly outerSums: Float64Array;
  /** [Q e]ᵀV⁻¹[Q e], lower triangle, shape (p + 1, p + 1). */
  readonly cross: Float64Array;
}

/** Storage for `whitenInto`, to be used again from ratio to ratio. */
export function emptyWhitening({ cols, innerCount, outerCount }: StrataSums): PlotWhitening {
  return {
    innerShrink: new Float64Array(innerCount),
    outerSize: new Float64Array(outerCount),
    outerShrink: new Float64Array(outerCount),
    outerSums: new Float64Array(outerCount * (cols + 1)),
    cross: new Float64Array((cols + 1) ** 2),
  };
}

/**
 * Fills `target` for the ratios; the inner ratio is 0 with one stratum.
 *
 * @returns ln det V
 */
export function whitenInto(
  target: PlotWhitening,
  data: StrataSums,
  outerRatio: number,
  innerRatio: number,
): number {
  const { cols: p, innerCount, outerCount, parent, size, sums, residualSquares } = data;
  const width = p + 1;
  const { innerShrink, outerSize, outerShrink, outerSums, cross } = target;
  outerSize.fill(0);
  outerSums.fill(0);
  cross.fill(0);
  for (let j = 0; j < p; j++) cross[j * width + j] = 1;
  cross[p * width + p] = residualSquares;
  let logDeterminant = 0;
  for (let h = 0; h < innerCount; h++) {
    const s = size[h]!;
    const f = 1 / (1 + innerRatio * s);
    innerShrink[h] = f;
    const g = parent[h]!;
    outerSize[g]! += s * f;
    for (let j = 0; j < width; j++) outerSums[g * width + j]! += f * sums[h * width + j]!;
    if (innerRatio > 0) {
      logDeterminant -= Math.log(f);
      subtractOuterInto(cross, sums, h * width, width, innerRatio * f);
    }
  }
  for (let g = 0; g < outerCount; g++) {
    const e = 1 / (1 + outerRatio * outerSize[g]!);
    outerShrink[g] = e;
    if (outerRatio > 0) {
      logDeterminant -= Math.log(e);
      subtractOuterInto(cross, outerSums, g * width, width, outerRatio * e);
    }
  }
  return logDeterminant;
}

/** Lower triangle of target ← target − factor·vvᵀ, v at `from`. */
function subtractOuterInto(
  target: Float64Array,
  v: Float64Array,
  from: number,
  width: number,
  factor: number,
): void {
  for (let i = 0; i < width; i++) {
    const vi = factor * v[from + i]!;
    if (vi === 0) continue;
    const row = i * width;
    for (let j = 0; j <= i; j++) target[row + j]! -= vi * v[from + j]!;
  }
}
