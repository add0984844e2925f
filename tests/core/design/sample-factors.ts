import type { Design, Factor } from '@strandwise/core';

/** k numeric factors 0…10, the last few with two named levels instead. */
export function sampleFactors(count: number, named = 0): Factor[] {
  return Array.from({ length: count }, (_, i) =>
    i < count - named
      ? { name: `factor ${i + 1}`, low: 0, high: 10, unit: 'mm', changes: 'easy' }
      : { name: `factor ${i + 1}`, levels: ['this', 'that'], changes: 'hard' },
  );
}

/** Coded settings of every run, a named factor's first level as +1 and its last as −1. */
export function codedRows({ factors, runs }: Design): number[][] {
  return runs.map(({ coded }) =>
    factors.map((factor) => {
      const value = coded[factor.name]!;
      if ('low' in factor) return Number(value);
      return value === factor.levels[0] ? 1 : value === factor.levels.at(-1) ? -1 : 0;
    }),
  );
}

/** Full quadratic model row: 1, x, x², x_i·x_j. */
export function quadraticRow(x: readonly number[]): number[] {
  const products = x.flatMap((a, i) => x.slice(i + 1).map((b) => a * b));
  return [1, ...x, ...x.map((value) => value * value), ...products];
}

/** XᵀX. */
export function gram(rows: readonly (readonly number[])[]): number[][] {
  const p = rows[0]!.length;
  return Array.from({ length: p }, (_, i) =>
    Array.from({ length: p }, (__, j) => rows.reduce((sum, row) => sum + row[i]! * row[j]!, 0)),
  );
}

/** Inverse and log-determinant by Gauss–Jordan with pivoting, independent of the core. */
export function inverse(matrix: readonly (readonly number[])[]): {
  inverse: number[][];
  logDet: number;
} {
  const n = matrix.length;
  const a = matrix.map((row, i) => [...row, ...Array.from({ length: n }, (_, j) => +(i === j))]);
  let logDet = 0;
  for (let c = 0; c < n; c++) {
    let pivot = c;
    for (let r = c; r < n; r++) if (Math.abs(a[r]![c]!) > Math.abs(a[pivot]![c]!)) pivot = r;
    [a[c], a[pivot]] = [a[pivot]!, a[c]!];
    const lead = a[c]![c]!;
    if (Math.abs(lead) < 1e-12) throw new Error('singular');
    logDet += Math.log(Math.abs(lead));
    a[c] = a[c]!.map((value) => value / lead);
    for (let r = 0; r < n; r++) {
      if (r === c) continue;
      const factor = a[r]![c]!;
      a[r] = a[r]!.map((value, j) => value - factor * a[c]![j]!);
    }
  }
  return { inverse: a.map((row) => row.slice(n)), logDet };
}
