/**
 * Small symmetric and square kernels on flat row-major arrays, written for the exchange loops: they
 * work in given storage and report singularity by their return value.
 */

/**
 * Cholesky factor in place: the lower triangle of `a` becomes L with LLᵀ = a.
 *
 * @param a - symmetric, shape (p, p); only the lower triangle is read
 * @param relativeFloor - smallest pivot accepted, relative to its diagonal entry
 * @returns ln det a, or −Infinity when a pivot falls below the floor
 */
export function factorSpdInto(a: Float64Array, p: number, relativeFloor = 1e-10): number {
  let logDet = 0;
  for (let j = 0; j < p; j++) {
    const jp = j * p;
    const diagonal = a[jp + j]!;
    let pivot = diagonal;
    for (let k = 0; k < j; k++) pivot -= a[jp + k]! * a[jp + k]!;
    if (!(pivot > relativeFloor * diagonal) || !(pivot > 0)) return Number.NEGATIVE_INFINITY;
    const root = Math.sqrt(pivot);
    a[jp + j] = root;
    logDet += Math.log(pivot);
    for (let i = j + 1; i < p; i++) {
      const ip = i * p;
      let sum = a[ip + j]!;
      for (let k = 0; k < j; k++) sum -= a[ip + k]! * a[jp + k]!;
      a[ip + j] = sum / root;
    }
  }
  return logDet;
}

/**
 * Inverse of LLᵀ into `out`, both triangles, from the lower factor `l` (which is overwritten by L⁻¹).
 */
export function inverseFromCholeskyInto(out: Float64Array, l: Float64Array, p: number): void {
  for (let j = 0; j < p; j++) {
    l[j * p + j] = 1 / l[j * p + j]!;
    for (let i = j + 1; i < p; i++) {
      const ip = i * p;
      let sum = 0;
      for (let k = j; k < i; k++) sum += l[ip + k]! * l[k * p + j]!;
      l[ip + j] = -sum / l[ip + i]!;
    }
  }
  for (let i = 0; i < p; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = 0;
      for (let k = i; k < p; k++) sum += l[k * p + i]! * l[k * p + j]!;
      out[i * p + j] = sum;
      out[j * p + i] = sum;
    }
  }
}

/**
 * LU factors with partial pivoting in place (rows really swapped, order kept in `order`).
 * @returns the determinant, 0 when singular
 */
export function luInto(a: Float64Array, order: Int32Array, m: number): number {
  let det = 1;
  for (let i = 0; i < m; i++) order[i] = i;
  for (let j = 0; j < m; j++) {
    let at = j;
    for (let i = j + 1; i < m; i++) {
      if (Math.abs(a[i * m + j]!) > Math.abs(a[at * m + j]!)) at = i;
    }
    const pivot = a[at * m + j]!;
    if (pivot === 0) return 0;
    if (at !== j) {
      det = -det;
      for (let k = 0; k < m; k++) {
        const swap = a[j * m + k]!;
        a[j * m + k] = a[at * m + k]!;
        a[at * m + k] = swap;
      }
      const swap = order[j]!;
      order[j] = order[at]!;
      order[at] = swap;
    }
    det *= pivot;
    for (let i = j + 1; i < m; i++) {
      const factor = a[i * m + j]! / pivot;
      a[i * m + j] = factor;
      if (factor === 0) continue;
      for (let k = j + 1; k < m; k++) a[i * m + k]! -= factor * a[j * m + k]!;
    }
  }
  return det;
}

/** Inverse into `out` from the factors of `luInto`. */
export function inverseFromLuInto(
  out: Float64Array,
  lu: Float64Array,
  { order, m }: { readonly order: Int32Array; readonly m: number },
): void {
  for (let col = 0; col < m; col++) {
    for (let i = 0; i < m; i++) {
      let sum = order[i] === col ? 1 : 0;
      for (let k = 0; k < i; k++) sum -= lu[i * m + k]! * out[k * m + col]!;
      out[i * m + col] = sum;
    }
    for (let i = m - 1; i >= 0; i--) {
      let sum = out[i * m + col]!;
      for (let k = i + 1; k < m; k++) sum -= lu[i * m + k]! * out[k * m + col]!;
      out[i * m + col] = sum / lu[i * m + i]!;
    }
  }
}
