import { times } from './covariance-view.ts';
import type { RemlState } from './reml.ts';

/**
 * Kenward–Roger covariance of the basis coefficients over the residual variance.
 *
 * Φ + 2Φ[Σ_ij W_ij (Q_ij − P_iΦP_j)]Φ, where Q_ij − P_iΦP_j = QᵀV⁻¹G_i P G_j V⁻¹Q. Between strata
 * that is U_kᵀ(Z_kᵀPZ_l)U_l; for the residual, G = V − Σ r_k G_k with PQ = 0 turns it into −Σ r_k of
 * the strata's. So only W of the ratios matters: W_kl − r_k W_0l − r_l W_0k + r_k r_l W_00.
 *
 * @param covariance - W over the residual variance squared, shape (q + 1, q + 1), residual first
 * @returns shape (p, p)
 * @source Kenward & Roger (1997), Biometrics 53, 983–997, section 2 (from memory; tested against an
 *   independent program)
 */
export function kenwardRogerCovariance(state: RemlState, covariance: Float64Array): Float64Array {
  const p = state.data.cols;
  const { plots, projected, ratios, phi } = state;
  const q = plots.length;
  const middle = new Float64Array(p * p);
  for (let k = 0; k < q; k++) {
    for (let l = 0; l < q; l++) {
      const weight =
        covariance[(k + 1) * (q + 1) + l + 1]! -
        ratios[k]! * covariance[l + 1]! -
        ratios[l]! * covariance[k + 1]! +
        ratios[k]! * ratios[l]! * covariance[0]!;
      addSandwich(middle, 2 * weight, plots[k]!.cross, projected[k]![l]!, plots[l]!.cross, p);
    }
  }
  const out = times(times(phi, p, middle, p), p, phi, p);
  for (let at = 0; at < out.length; at++) out[at]! += phi[at]!;
  return out;
}

/** target ← target + factor·AᵀBC with A shape (m, p), B (m, k), C (k, p). */
function addSandwich(
  target: Float64Array,
  factor: number,
  a: Float64Array,
  b: Float64Array,
  c: Float64Array,
  p: number,
): void {
  const m = a.length / p;
  const inner = c.length / p;
  const row = new Float64Array(p);
  for (let g = 0; g < m; g++) {
    row.fill(0);
    for (let h = 0; h < inner; h++) {
      const bgh = factor * b[g * inner + h]!;
      if (bgh === 0) continue;
      for (let j = 0; j < p; j++) row[j]! += bgh * c[h * p + j]!;
    }
    for (let i = 0; i < p; i++) {
      const agi = a[g * p + i]!;
      for (let j = 0; j < p; j++) target[i * p + j]! += agi * row[j]!;
    }
  }
}
