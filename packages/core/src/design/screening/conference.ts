import { DomainError } from '../../error/domain-error.ts';
import { type Dense, zeros } from '../../linear/dense.ts';
import { quadraticCharacter } from './galois-field.ts';

/** Orders for which `conferenceMatrix` has a construction. */
export const conferenceOrders: readonly number[] = [4, 6, 8, 10, 12, 14, 16, 18, 20];

/**
 * Conference matrix: zeros on the diagonal, ±1 elsewhere, CᵀC = (m − 1)·I.
 *
 * With q = m − 1 an odd prime power, the matrix of χ(a − b) is bordered by ones: symmetric for
 * q ≡ 1 (mod 4), skew for q ≡ 3. Order 16 (15 is no prime power) doubles the skew matrix S of
 * order 8: [S, S + I; S − I, −S]. Its rows are orthogonal because Sᵀ = −S, and it is skew again.
 *
 * @param order - m, even, 4 to 20
 * @returns shape (m, m)
 * @throws {DomainError} `no_conference_matrix` for other orders
 * @source Paley (1933), J. Math. Phys. 12:311–320; doubling derived above
 */
export function conferenceMatrix(order: number): Dense {
  if (!conferenceOrders.includes(order)) {
    throw new DomainError(
      'no_conference_matrix',
      `conferenceMatrix: order must be one of ${conferenceOrders.join(', ')}; got ${order}. Use the next larger one and drop columns.`,
      { order },
    );
  }
  return order === 16 ? doubledSkew(conferenceMatrix(8)) : bordered(order);
}

function bordered(order: number): Dense {
  const q = order - 1;
  const { ofDifference } = quadraticCharacter(q);
  const c = zeros(order, order);
  for (let i = 1; i < order; i++) {
    c.data[i] = 1;
    c.data[i * order] = q % 4 === 1 ? 1 : -1;
    c.data.set(ofDifference.subarray((i - 1) * q, i * q), i * order + 1);
  }
  return c;
}

/**
 * A skew conference matrix of order 2m from one of order m.
 * @param skew - shape (m, m), Cᵀ = −C
 */
export function doubledSkew(skew: Dense): Dense {
  const m = skew.rows;
  const c = zeros(2 * m, 2 * m);
  for (let i = 0; i < m; i++) {
    for (let j = 0; j < m; j++) {
      const entry = skew.data[i * m + j]!;
      const one = i === j ? 1 : 0;
      c.data[i * 2 * m + j] = entry;
      c.data[i * 2 * m + m + j] = entry + one;
      c.data[(m + i) * 2 * m + j] = entry - one;
      c.data[(m + i) * 2 * m + m + j] = 0 - entry;
    }
  }
  return c;
}

/** True when C is skew (Cᵀ = −C), which lets its diagonal be filled without losing orthogonality. */
export function isSkew({ rows: m, data }: Dense): boolean {
  for (let i = 0; i < m; i++) {
    for (let j = 0; j < i; j++) if (data[i * m + j] !== -data[j * m + i]!) return false;
  }
  return true;
}
