import { cholesky, choleskyInverse } from '../linear/cholesky.ts';

/** Who a run belongs to; labels count from 1, null when the run is set anew. */
export interface RunLabels {
  readonly block: number;
  readonly wholePlot: number | null;
  /** Read within its whole plot. */
  readonly subWholePlot: number | null;
}

/** Rows correlated with each other, and the inverse of their covariance in units of σ²(cell). */
export interface Plot {
  readonly rows: Int32Array;
  /** Shape (m, m), row-major. */
  readonly inverse: Float64Array;
}

/** σ²(whole plot) / σ²(cell) and σ²(sub-whole plot) / σ²(cell); dimensionless, 0 or more. */
export type VarianceRatios = readonly [whole: number, sub: number];

/**
 * Correlated rows with the inverse of their covariance I + η_w J_w + η_s J_s, J being 1 between
 * runs of one plot. A run without a label is a plot of its own: setting it anew costs the same error.
 *
 * @param ratios - η_w and η_s
 * @source Jones & Goos (2007), Applied Statistics 56:347–364 (one stratum; two by the same argument)
 */
export function correlatedPlots(
  labels: readonly RunLabels[],
  [whole, sub]: VarianceRatios,
): Plot[] {
  const groups = new Map<string, number[]>();
  for (const [i, label] of labels.entries()) {
    const key = groupKey(label, i, [whole, sub]);
    const group = groups.get(key);
    if (group) group.push(i);
    else groups.set(key, [i]);
  }
  return [...groups.values()].map((rows) => {
    const m = rows.length;
    const v = new Float64Array(m * m);
    for (const [a, rowA] of rows.entries()) {
      for (const [b, rowB] of rows.entries()) {
        const isOneSub =
          a === b || isShared(labels[rowA]!.subWholePlot, labels[rowB]!.subWholePlot);
        v[a * m + b] = (a === b ? 1 : 0) + whole + (isOneSub ? sub : 0);
      }
    }
    const factor = cholesky(v, m);
    // I plus matrices without negative eigenvalues is always definite.
    const lower = factor.kind === 'factored' ? factor.lower : v;
    return { rows: Int32Array.from(rows), inverse: choleskyInverse(lower, m) };
  });
}

function groupKey(
  { wholePlot, subWholePlot }: RunLabels,
  row: number,
  [whole, sub]: VarianceRatios,
): string {
  if (wholePlot !== null && whole > 0) return `whole ${wholePlot}`;
  if (subWholePlot !== null && sub > 0) return `sub ${wholePlot} ${subWholePlot}`;
  return `row ${row}`;
}

const isShared = (a: number | null, b: number | null): boolean => a !== null && a === b;
