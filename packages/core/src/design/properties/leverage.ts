import type { DesignInformation } from './design-information.ts';

/**
 * Weight of each run in its own fitted value: the diagonal of X(XᵀV⁻¹X)⁻¹XᵀV⁻¹. Between 0 and 1 when
 * V = I, and always adding up to the number of estimated columns. A run at 1 decides its fitted
 * value alone.
 *
 * @returns shape (n)
 * @source Cook & Weisberg (1982), Residuals and Influence in Regression, section 2.2
 */
export function designLeverages(information: DesignInformation): Float64Array {
  const { x, plots } = information;
  const out = new Float64Array(x.rows);
  for (const { rows, inverse } of plots) {
    const m = rows.length;
    for (let a = 0; a < m; a++) {
      const pulled = pulledRow(information, rows, inverse.subarray(a * m, (a + 1) * m));
      out[rows[a]!] = form(information, rows[a]!, pulled);
    }
  }
  return out;
}

/** XᵀV⁻¹e over the kept columns, for the run whose row of V⁻¹ is given. */
export function pulledRow(
  { x, kept }: DesignInformation,
  rows: Int32Array,
  weights: Float64Array,
): Float64Array {
  const out = new Float64Array(kept.length);
  for (let b = 0; b < rows.length; b++) {
    for (const [c, column] of kept.entries()) {
      out[c]! += weights[b]! * x.data[rows[b]! * x.cols + column]!;
    }
  }
  return out;
}

function form({ x, kept, covariance }: DesignInformation, row: number, v: Float64Array): number {
  const p = kept.length;
  let sum = 0;
  for (const [i, column] of kept.entries()) {
    const value = x.data[row * x.cols + column]!;
    for (let j = 0; j < p; j++) sum += value * covariance.data[i * p + j]! * v[j]!;
  }
  return sum;
}
