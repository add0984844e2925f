import { type Dense, zeros } from '../../linear/dense.ts';
import type { DesignInformation } from './design-information.ts';

/** Two terms whose columns resemble each other. */
export interface TermPair {
  readonly first: string;
  readonly second: string;
  /** −1 to 1; ±1 means the runs cannot tell the two apart. */
  readonly correlation: number;
}

/**
 * Correlations between the columns of the model terms over the runs, the mean taken out; 1 on the
 * diagonal, 0 for a column that does not vary. Shape (terms, terms), the intercept included as zeros.
 */
export function columnCorrelations({ x, termCount: p }: DesignInformation): Dense {
  const { rows: n, cols, data } = x;
  const centred = zeros(n, p);
  for (let j = 0; j < p; j++) {
    let mean = 0;
    for (let i = 0; i < n; i++) mean += data[i * cols + j]! / n;
    let square = 0;
    for (let i = 0; i < n; i++) square += (data[i * cols + j]! - mean) ** 2;
    // A constant column leaves only rounding once its mean is taken out.
    const scale = square > 1e-20 * n * (1 + mean * mean) ? 1 / Math.sqrt(square) : 0;
    for (let i = 0; i < n; i++) centred.data[i * p + j] = (data[i * cols + j]! - mean) * scale;
  }
  const out = zeros(p, p);
  for (let a = 0; a < p; a++) {
    for (let b = 0; b < p; b++) {
      let sum = 0;
      for (let i = 0; i < n; i++) sum += centred.data[i * p + a]! * centred.data[i * p + b]!;
      out.data[a * p + b] = a === b ? 1 : sum;
    }
  }
  return out;
}

/** Pairs of terms by size of correlation, largest first, those below `least` left out. */
export function correlatedPairs(information: DesignInformation, least = 0.3): TermPair[] {
  const { data, cols: p } = columnCorrelations(information);
  const pairs: TermPair[] = [];
  for (let a = 0; a < p; a++) {
    for (let b = a + 1; b < p; b++) {
      const correlation = data[a * p + b]!;
      if (Math.abs(correlation) < least) continue;
      pairs.push({ first: information.names[a]!, second: information.names[b]!, correlation });
    }
  }
  return pairs.sort((a, b) => Math.abs(b.correlation) - Math.abs(a.correlation));
}

/** Correlations between the estimated coefficients of the kept columns, shape (kept, kept). */
export function estimateCorrelations({ covariance }: DesignInformation): Dense {
  const { cols: p, data } = covariance;
  const out = zeros(p, p);
  for (let a = 0; a < p; a++) {
    for (let b = 0; b < p; b++) {
      const scale = Math.sqrt(data[a * p + a]! * data[b * p + b]!);
      out.data[a * p + b] = a === b ? 1 : data[a * p + b]! / scale;
    }
  }
  return out;
}
