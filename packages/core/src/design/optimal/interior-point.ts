/**
 * The point of a box and half-spaces that lies deepest, found by the simplex method.
 *
 * Maximise r subject to aᵢ·x + ‖aᵢ‖ r ≤ bᵢ and lowⱼ + r ≤ xⱼ ≤ highⱼ − r. With x = low + u and
 * r = ρ − ρ₀, ρ₀ large enough, u = 0 and ρ = 0 are feasible, so the slack basis starts the method
 * and no first phase is needed. Bland's rule keeps it from cycling.
 *
 * @param a - half-space normals, shape (m, k), row-major
 * @param b - bounds, shape (m)
 * @param box - low and high, shape (k) each, low < high
 * @returns the point, shape (k), and its depth; a negative depth means no feasible point exists
 * @source Boyd & Vandenberghe (2004), Convex Optimization, section 8.5.1 (Chebyshev centre)
 */
export function interiorPoint(
  a: Float64Array,
  b: Float64Array,
  box: { readonly low: Float64Array; readonly high: Float64Array },
): { readonly point: Float64Array; readonly depth: number } {
  const k = box.low.length;
  if (k === 0) return { point: new Float64Array(0), depth: emptySpaceDepth(b) };
  const { tableau, rows, offset } = startingTableau(a, b, box);
  const cols = k + 1;
  const basis = Int32Array.from({ length: rows }, (_, i) => cols + i);
  pivotToOptimum(tableau, basis, { rows, cols: cols + rows });
  const width = cols + rows + 1;
  const point = Float64Array.from(box.low);
  let rho = 0;
  for (let i = 0; i < rows; i++) {
    const value = tableau[i * width + width - 1]!;
    const variable = basis[i]!;
    if (variable < k) point[variable] = box.low[variable]! + value;
    else if (variable === k) rho = value;
  }
  return { point, depth: rho - offset };
}

/** With no free coordinate a constraint reads 0 ≤ b. */
function emptySpaceDepth(b: Float64Array): number {
  let depth = 1;
  for (const bound of b) depth = Math.min(depth, bound);
  return depth;
}

function startingTableau(
  a: Float64Array,
  b: Float64Array,
  { low, high }: { readonly low: Float64Array; readonly high: Float64Array },
): { tableau: Float64Array; rows: number; offset: number } {
  const k = low.length;
  const m = b.length;
  const rows = m + 2 * k;
  const width = k + 1 + rows + 1;
  const norms = new Float64Array(m);
  const shifted = new Float64Array(m);
  let offset = 0;
  for (let i = 0; i < m; i++) {
    let square = 0;
    let sum = b[i]!;
    for (let j = 0; j < k; j++) {
      square += a[i * k + j]! ** 2;
      sum -= a[i * k + j]! * low[j]!;
    }
    // A row of zeros says 0 ≤ b: norm 1 makes its depth the bound itself.
    norms[i] = square > 0 ? Math.sqrt(square) : 1;
    shifted[i] = sum;
    offset = Math.max(offset, -sum / norms[i]!);
  }
  const tableau = new Float64Array((rows + 1) * width);
  for (let i = 0; i < rows; i++) {
    const at = i * width;
    tableau[at + k + 1 + i] = 1;
    if (i < m) {
      for (let j = 0; j < k; j++) tableau[at + j] = a[i * k + j]!;
      tableau[at + k] = norms[i]!;
      tableau[at + width - 1] = shifted[i]! + norms[i]! * offset;
    } else {
      const j = (i - m) % k;
      const isUpper = i - m < k;
      tableau[at + j] = isUpper ? 1 : -1;
      tableau[at + k] = 1;
      tableau[at + width - 1] = (isUpper ? high[j]! - low[j]! : 0) + offset;
    }
  }
  tableau[rows * width + k] = -1;
  return { tableau, rows, offset };
}

const PIVOT_TOLERANCE = 1e-11; // entries are of the order of the coded coefficients, about 1

function pivotToOptimum(
  tableau: Float64Array,
  basis: Int32Array,
  { rows, cols }: { readonly rows: number; readonly cols: number },
): void {
  const width = cols + 1;
  for (let step = 0; step < 200 * (rows + cols); step++) {
    let enter = -1;
    for (let j = 0; j < cols && enter < 0; j++) {
      if (tableau[rows * width + j]! < -PIVOT_TOLERANCE) enter = j;
    }
    if (enter < 0) return;
    let leave = -1;
    let least = Number.POSITIVE_INFINITY;
    for (let i = 0; i < rows; i++) {
      const entry = tableau[i * width + enter]!;
      if (entry <= PIVOT_TOLERANCE) continue;
      const ratio = tableau[i * width + cols]! / entry;
      if (ratio < least - 1e-14 || (ratio <= least && basis[i]! < basis[leave]!)) {
        least = ratio;
        leave = i;
      }
    }
    if (leave < 0) return;
    pivot(tableau, { rows, width, leave, enter });
    basis[leave] = enter;
  }
}

function pivot(
  tableau: Float64Array,
  at: { readonly rows: number; readonly width: number; leave: number; enter: number },
): void {
  const { rows, width, leave, enter } = at;
  const scale = tableau[leave * width + enter]!;
  for (let j = 0; j < width; j++) tableau[leave * width + j]! /= scale;
  for (let i = 0; i <= rows; i++) {
    if (i === leave) continue;
    const factor = tableau[i * width + enter]!;
    if (factor === 0) continue;
    for (let j = 0; j < width; j++) tableau[i * width + j]! -= factor * tableau[leave * width + j]!;
  }
}
