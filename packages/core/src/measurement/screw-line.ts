import { DomainError } from '../error/domain-error.ts';

/** The part of a column that repeats once a turn, and what is left. */
export interface HarmonicFit {
  /** Amplitude of the first, second … harmonic; unit of the column. */
  readonly amplitudes: readonly number[];
  /** Σ A²/2: variance that the wave adds to the column. */
  readonly variance: number;
  /** The column less the wave, about the fitted constant; NaN where missing. */
  readonly remainder: Float64Array;
}

/**
 * Least squares of a column on a constant and the first harmonics of one frequency, the way to take
 * the screw-turn line out of a log before its noise is judged. Harmonics at or above half the reading
 * rate are left out, as they cannot be told from their mirror image.
 *
 * @param x - evenly spaced values, NaN where missing, shape (n)
 * @param cyclesPerReading - frequency of the first harmonic; 0 < f < 0.5
 * @param harmonics - how many; 2 by default
 * @throws {DomainError} `frequency_out_of_range` when f is not between 0 and 0.5
 * @source Bloomfield (2000), Fourier Analysis of Time Series, 2nd ed., §2.3 (from memory)
 */
export function harmonicFit(x: Float64Array, cyclesPerReading: number, harmonics = 2): HarmonicFit {
  if (!(cyclesPerReading > 0 && cyclesPerReading < 0.5)) {
    throw new DomainError(
      'frequency_out_of_range',
      `harmonicFit: the frequency must lie between 0 and 0.5 cycles a reading; got ${cyclesPerReading}. Read the gauge at least twice a turn.`,
      { cyclesPerReading },
    );
  }
  let count = 0;
  while (count < harmonics && (count + 1) * cyclesPerReading < 0.499) count++;
  const columns = waveColumns(x.length, cyclesPerReading, count);
  const coefficients = leastSquares(x, columns);
  const amplitudes: number[] = [];
  let variance = 0;
  for (let h = 0; h < count; h++) {
    const amplitude = Math.hypot(coefficients[1 + 2 * h]!, coefficients[2 + 2 * h]!);
    amplitudes.push(amplitude);
    variance += (amplitude * amplitude) / 2;
  }
  const remainder = x.map((value, i) => {
    let fitted = 0;
    for (let j = 0; j < columns.length; j++) fitted += coefficients[j]! * columns[j]![i]!;
    return value - fitted;
  });
  return { amplitudes, variance, remainder };
}

function waveColumns(n: number, f: number, harmonics: number): Float64Array[] {
  const columns = [new Float64Array(n).fill(1)];
  for (let h = 1; h <= harmonics; h++) {
    const turn = 2 * Math.PI * f * h;
    columns.push(Float64Array.from({ length: n }, (_, i) => Math.cos(turn * i)));
    columns.push(Float64Array.from({ length: n }, (_, i) => Math.sin(turn * i)));
  }
  return columns;
}

/**
 * Normal equations by Cholesky with a floor on the pivots: at most five near-orthogonal columns, so
 * the conditioning is that of the wave against the window; a column without support gets zero.
 */
function leastSquares(x: Float64Array, columns: readonly Float64Array[]): Float64Array {
  const p = columns.length;
  const gram = new Float64Array(p * p);
  const right = new Float64Array(p);
  for (let i = 0; i < x.length; i++) {
    const value = x[i]!;
    if (Number.isNaN(value)) continue;
    for (let j = 0; j < p; j++) {
      const cj = columns[j]![i]!;
      right[j]! += cj * value;
      for (let k = 0; k <= j; k++) gram[j * p + k]! += cj * columns[k]![i]!;
    }
  }
  const keeps = choleskyInto(gram, p);
  for (let j = 0; j < p; j++) {
    let sum = right[j]!;
    for (let k = 0; k < j; k++) sum -= gram[j * p + k]! * right[k]!;
    right[j] = keeps[j] ? sum / gram[j * p + j]! : 0;
  }
  for (let j = p - 1; j >= 0; j--) {
    let sum = right[j]!;
    for (let k = j + 1; k < p; k++) sum -= gram[k * p + j]! * right[k]!;
    right[j] = keeps[j] ? sum / gram[j * p + j]! : 0;
  }
  return right;
}

/** A pivot below this share of its diagonal means that the window cannot tell the column apart. */
const LEAST_PIVOT_SHARE = 1e-6;

function choleskyInto(gram: Float64Array, p: number): boolean[] {
  const keeps: boolean[] = [];
  for (let j = 0; j < p; j++) {
    let pivot = gram[j * p + j]!;
    const floor = LEAST_PIVOT_SHARE * pivot;
    for (let k = 0; k < j; k++) pivot -= gram[j * p + k]! ** 2;
    keeps[j] = pivot > floor;
    gram[j * p + j] = keeps[j] ? Math.sqrt(pivot) : 1;
    for (let i = j + 1; i < p; i++) {
      let sum = gram[i * p + j]!;
      for (let k = 0; k < j; k++) sum -= gram[i * p + k]! * gram[j * p + k]!;
      gram[i * p + j] = keeps[j] ? sum / gram[j * p + j]! : 0;
    }
    if (!keeps[j]) for (let k = 0; k < j; k++) gram[j * p + k] = 0;
  }
  return keeps;
}
