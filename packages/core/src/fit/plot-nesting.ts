import { DomainError } from '../error/domain-error.ts';

/** Rows sorted into plots of one stratum. */
export interface Grouping {
  readonly count: number;
  /** Plot of each row, 0 to count − 1 in order of appearance, shape (n). */
  readonly of: Int32Array;
  /** The caller's label of each plot, shape (count). */
  readonly labels: Int32Array;
}

/** One or two nested strata of plots. */
export interface PlotNesting {
  readonly rows: number;
  readonly groupings: readonly Grouping[];
  /** Outermost plot of each innermost plot, shape (innermost count). */
  readonly parent: Int32Array;
}

/**
 * Plots of one or two strata; a label of the second stratum is read within its plot of the first.
 *
 * @param strata - one or two label arrays, outermost first, each shape (n)
 * @throws {DomainError} `stratum_count` when there are none or more than two
 * @throws {DomainError} `shape_mismatch` when a grouping has not n labels
 */
export function plotNesting(strata: readonly Int32Array[], rows: number): PlotNesting {
  if (strata.length < 1 || strata.length > 2) {
    throw new DomainError(
      'stratum_count',
      `plotNesting: strata must be one or two groupings; got ${strata.length}. Give whole plots, then sub-whole plots if there are any.`,
      { got: strata.length },
    );
  }
  for (const [k, labels] of strata.entries()) {
    if (labels.length !== rows) {
      throw new DomainError(
        'shape_mismatch',
        `plotNesting: a grouping must label ${rows} rows; got ${labels.length} (stratum ${k}). Label every run.`,
        { stratum: k, got: labels.length, expected: rows },
      );
    }
  }
  const outer = grouping(strata[0]!, undefined);
  if (strata.length === 1) {
    return {
      rows,
      groupings: [outer],
      parent: Int32Array.from({ length: outer.count }, (_, g) => g),
    };
  }
  const inner = grouping(strata[1]!, outer);
  const parent = new Int32Array(inner.count);
  for (let i = 0; i < rows; i++) parent[inner.of[i]!] = outer.of[i]!;
  return { rows, groupings: [outer, inner], parent };
}

function grouping(labels: Int32Array, within: Grouping | undefined): Grouping {
  const seen = new Map<number, number>();
  const known: number[] = [];
  const span = within?.count ?? 1;
  const of = new Int32Array(labels.length);
  for (let i = 0; i < labels.length; i++) {
    const key = labels[i]! * span + (within === undefined ? 0 : within.of[i]!);
    let plot = seen.get(key);
    if (plot === undefined) {
      plot = known.length;
      seen.set(key, plot);
      known.push(labels[i]!);
    }
    of[i] = plot;
  }
  return { count: known.length, of, labels: Int32Array.from(known) };
}

/**
 * The stratum each column varies in: 0 when constant within the outermost plots, 1 when constant
 * within the next, strata.length when it varies within the innermost.
 *
 * @param values - one column, shape (n)
 */
export function stratumOfColumn(values: Float64Array, nesting: PlotNesting): number {
  for (const [k, { count, of }] of nesting.groupings.entries()) {
    const first = new Float64Array(count).fill(Number.NaN);
    let isConstant = true;
    for (let i = 0; i < values.length && isConstant; i++) {
      const g = of[i]!;
      if (Number.isNaN(first[g]!)) first[g] = values[i]!;
      // Set points are repeated exactly; a billionth allows for their arithmetic.
      else isConstant = Math.abs(values[i]! - first[g]!) <= 1e-9 * (1 + Math.abs(first[g]!));
    }
    if (isConstant) return k;
  }
  return nesting.groupings.length;
}
