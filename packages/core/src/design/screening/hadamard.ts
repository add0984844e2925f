import { DomainError } from '../../error/domain-error.ts';
import { type Dense, denseFromRows, zeros } from '../../linear/dense.ts';
import { quadraticCharacter } from './galois-field.ts';

/** Run numbers for which a saturated orthogonal two-level array is constructed. */
export const screeningRunNumbers: readonly number[] = [8, 12, 16, 20, 24, 28, 32, 36, 40, 44, 48];

/** How an array of N runs came about. */
export interface ScreeningArray {
  /** Entries ±1, shape (N, N − 1), columns balanced and orthogonal: XᵀX = N·I. */
  readonly matrix: Dense;
  readonly says: string;
  /** True when two-factor interactions are wholly, not partly, aliased with main effects. */
  readonly isRegular: boolean;
}

/**
 * The saturated orthogonal array of N runs: cyclic shifts of one row and a last row of minuses
 * where such a row exists (quadratic residues, a shift-register sequence, twin primes), squares of
 * a field of 27 elements for 28 runs, and two circulants from a complementary pair for 40.
 *
 * @param runs - N, a multiple of 4 from 8 to 48
 * @throws {DomainError} `no_screening_array` for other N
 * @source Plackett & Burman (1946), Biometrika 33:305–325; Paley (1933), J. Math. Phys. 12:311–320;
 * complementary pairs: Golay (1961), IRE Trans. Inform. Theory 7:82–87;
 * twin primes: Stanton & Sprott (1958), Canad. J. Math. 10:73–77 (from memory; orthogonality tested)
 */
export function screeningArray(runs: number): ScreeningArray {
  switch (runs) {
    case 16:
      return cyclic(shiftRegister(4, 1), 'cyclic, from a shift register', true);
    case 32:
      return cyclic(shiftRegister(5, 2), 'cyclic, from a shift register', true);
    case 36:
      return cyclic(twinPrimes(5, 7), 'cyclic, from the twin primes 5 and 7', false);
    case 40:
      return {
        matrix: twoCirculants(...complementaryTwenty()),
        says: 'two circulants from a complementary pair of length 20',
        isRegular: false,
      };
    case 8:
    case 12:
    case 20:
    case 24:
    case 28:
    case 44:
    case 48:
      return {
        matrix: fromSquares(runs - 1),
        says: `squares of a field of ${runs - 1} elements`,
        isRegular: runs === 8,
      };
    default:
      throw new DomainError(
        'no_screening_array',
        `screeningArray: runs must be one of ${screeningRunNumbers.join(', ')}; got ${runs}. Choose one of these.`,
        { runs },
      );
  }
}

/** Rows of χ(a − b) with a plus on the diagonal, and a last row of minuses; q ≡ 3 (mod 4). */
function fromSquares(q: number): Dense {
  const { ofDifference } = quadraticCharacter(q);
  const matrix = zeros(q + 1, q);
  matrix.data.set(ofDifference);
  for (let i = 0; i < q; i++) matrix.data[i * q + i] = 1;
  matrix.data.fill(-1, q * q);
  return matrix;
}

function cyclic(firstRow: readonly number[], says: string, isRegular: boolean): ScreeningArray {
  const m = firstRow.length;
  const matrix = zeros(m + 1, m);
  for (let i = 0; i < m; i++) {
    for (let j = 0; j < m; j++) matrix.data[i * m + j] = firstRow[(j - i + m) % m]!;
  }
  matrix.data.fill(-1, m * m);
  return { matrix, says, isRegular };
}

/** One period of the sequence s(t + r) = s(t + tap) + s(t) over two elements; one is plus. */
function shiftRegister(length: number, tap: number): number[] {
  const bits = new Array<number>(length).fill(0);
  bits[0] = 1;
  const period = 2 ** length - 1;
  for (let t = 0; t + length < period; t++) bits.push(bits[t]! ^ bits[t + tap]!);
  return bits.map((bit) => (bit === 1 ? 1 : -1));
}

/** Minus on the difference set of primes p and p + 2: the multiples of p + 2, and equal characters. */
function twinPrimes(p: number, next: number): number[] {
  const chi = (value: number, prime: number): number => {
    const { ofDifference } = quadraticCharacter(prime);
    return ofDifference[(value % prime) * prime]!;
  };
  return Array.from({ length: p * next }, (_, i) => {
    const isInSet = i % next === 0 || chi(i, p) * chi(i, next) === 1;
    return isInSet ? -1 : 1;
  });
}

/**
 * [A B; −Bᵀ Aᵀ] for circulants A and B whose autocorrelations cancel is a Hadamard matrix of order
 * 2n. Its rows are signed so that the first column is all ones, and that column is left out. Columns
 * are then ordered so that a triple that is wholly aliased, if there is one, ends at the last.
 */
function twoCirculants(a: readonly number[], b: readonly number[]): Dense {
  const n = a.length;
  const rows = Array.from({ length: 2 * n }, (_, i) => {
    const shift = i % n;
    const right = a
      .map((__, j) => a[(j - shift + n) % n]!)
      .concat(b.map((__, j) => b[(j - shift + n) % n]!));
    const left = b
      .map((__, j) => -b[(shift - j + n) % n]!)
      .concat(a.map((__, j) => a[(shift - j + n) % n]!));
    const row = i < n ? right : left;
    return row.map((value) => value * row[0]!).slice(1);
  });
  const last = endOfWholeAlias(rows);
  return denseFromRows(rows.map((row) => [...row.filter((_, j) => j !== last), row[last]!]));
}

/** The last column of the first triple whose product is constant; the last column when none is. */
function endOfWholeAlias(rows: readonly (readonly number[])[]): number {
  const cols = rows[0]!.length;
  for (let i = 0; i < cols; i++) {
    for (let j = i + 1; j < cols; j++) {
      for (let l = j + 1; l < cols; l++) {
        const sum = rows.reduce((total, row) => total + row[i]! * row[j]! * row[l]!, 0);
        if (Math.abs(sum) === rows.length) return l;
      }
    }
  }
  return cols - 1;
}

/** Golay's complementary pair of length 10, and its double of length 20. */
function complementaryTwenty(): [number[], number[]] {
  const signs = (text: string): number[] => [...text].map((sign) => (sign === '+' ? 1 : -1));
  const a = signs('++-+-+--++');
  const b = signs('++-+++++--');
  return [
    [...a, ...b],
    [...a, ...b.map((value) => -value)],
  ];
}
