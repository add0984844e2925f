import type { Point } from '../../factor/coding.ts';
import { type PlotNesting, plotNesting, stratumOfColumn } from '../../fit/plot-nesting.ts';
import { replicateGroups } from '../../fit/replicate.ts';
import { columnOf, type Dense, zeros } from '../../linear/dense.ts';
import { qrFactor } from '../../linear/qr.ts';
import type { DesignInformation } from './design-information.ts';

/** A tier of the design in which effects are judged against that tier's own error. */
export type StratumName = 'whole plots' | 'sub-whole plots' | 'cells';

/** Degrees of freedom of one stratum. `model + lackOfFit + pureError = total`. */
export interface StratumDf {
  readonly name: StratumName;
  /** Plots of this tier, or runs. */
  readonly units: number;
  /** What the tier above leaves: units less the rank of the tier above (mean counted in the first). */
  readonly total: number;
  /** Taken by the mean, blocks and terms judged here. */
  readonly model: number;
  /** Left to judge effects by: lackOfFit + pureError. */
  readonly error: number;
  /** From settings the model does not pass through. */
  readonly lackOfFit: number;
  /** From settings repeated within this stratum. */
  readonly pureError: number;
}

/** Where the degrees of freedom of a design go. */
export interface DfBudget {
  readonly runs: number;
  readonly strata: readonly StratumDf[];
  /** Stratum each column of the information is judged in, an index into `strata`; shape (columns). */
  readonly stratumOf: readonly number[];
}

/**
 * Degrees of freedom stratum by stratum, by ranks: with Z the indicators of the plots above, a
 * stratum's error df are (units) − rank[Z, columns constant within its units], and its pure error
 * df the same with one column for each distinct setting. A column belongs to the outermost stratum
 * whose plots it is constant in.
 *
 * @source Searle, Casella & McCulloch (1992), Variance Components, ch. 5 (within-stratum ranks);
 *   NIST/SEMATECH e-Handbook 4.4.4.6 (lack of fit and pure error)
 */
export function dfBudget({ design, x }: DesignInformation): DfBudget {
  const { runs } = design;
  const nesting = nestingOf(design.runs);
  const groupings = nesting?.groupings ?? [];
  const stratumOf = Array.from({ length: x.cols }, (_, j) =>
    nesting ? stratumOfColumn(columnOf(x, j), nesting) : 0,
  );
  const isFirstWhole = runs.some(({ wholePlot }) => wholePlot !== null);
  const labels: StratumName[] = [];
  if (groupings.length > 0) labels.push(isFirstWhole ? 'whole plots' : 'sub-whole plots');
  if (groupings.length > 1) labels.push('sub-whole plots');
  labels.push('cells');
  const strata = labels.map((name, level) =>
    stratum(name, { level, design: { runs }, x, nesting, stratumOf }),
  );
  return { runs: runs.length, strata, stratumOf };
}

interface StratumInput {
  readonly level: number;
  readonly design: Pick<DesignInformation['design'], 'runs'>;
  readonly x: Dense;
  readonly nesting: PlotNesting | null;
  readonly stratumOf: readonly number[];
}

function stratum(name: StratumName, input: StratumInput): StratumDf {
  const { level, design, x, nesting, stratumOf } = input;
  const { runs } = design;
  const above = level > 0 ? nesting!.groupings[level - 1]! : null;
  const own = nesting?.groupings[level] ?? null;
  const units = own?.count ?? runs.length;
  const firsts = firstRows(own?.of ?? Int32Array.from(runs.keys()), units);
  const plotColumns = above ? indicators(firsts.map((row) => above.of[row]!)) : null;
  const modelColumns = columnsAt(x, firsts, (j) => stratumOf[j]! <= level);
  const settings = replicateGroups(
    firsts.map((row) => constantPart(runs, own?.of ?? null, row)),
    firsts.map((row) => runs[row]!.block),
  );
  const blocks = indicators(firsts.map((row) => runs[row]!.block));
  const rankAbove = above ? above.count : 0;
  const rankModel = rank([plotColumns, modelColumns]);
  const rankFull = rank([plotColumns, modelColumns, blocks, indicators([...settings])]);
  return {
    name,
    units,
    total: units - rankAbove,
    model: rankModel - rankAbove,
    error: units - rankModel,
    lackOfFit: rankFull - rankModel,
    pureError: units - rankFull,
  };
}

/** Plots as the design labels them; runs without a label are plots of their own. Null without plots. */
function nestingOf(
  runs: readonly { readonly wholePlot: number | null; readonly subWholePlot: number | null }[],
): PlotNesting | null {
  const labelled = (pick: 'wholePlot' | 'subWholePlot'): Int32Array | null => {
    if (runs.every((run) => run[pick] === null)) return null;
    const largest = Math.max(...runs.map((run) => run[pick] ?? 0));
    return Int32Array.from(runs, (run, i) => run[pick] ?? largest + 1 + i);
  };
  const strata = [labelled('wholePlot'), labelled('subWholePlot')].filter((s) => s !== null);
  return strata.length === 0 ? null : plotNesting(strata, runs.length);
}

function firstRows(of: Int32Array, count: number): number[] {
  const firsts = new Array<number>(count).fill(-1);
  for (const [row, unit] of of.entries()) if (firsts[unit] === -1) firsts[unit] = row;
  return firsts;
}

/** The settings that every run of the row's unit shares. */
function constantPart(
  runs: readonly { readonly coded: Point }[],
  of: Int32Array | null,
  row: number,
): Point {
  const { coded } = runs[row]!;
  if (!of) return coded;
  return Object.fromEntries(
    Object.entries(coded).filter(([name]) => isConstantInUnits(runs, of, name)),
  );
}

function isConstantInUnits(
  runs: readonly { readonly coded: Point }[],
  of: Int32Array,
  name: string,
): boolean {
  const seen = new Map<number, number | string>();
  return runs.every(({ coded }, i) => {
    const value = coded[name]!;
    const before = seen.get(of[i]!);
    if (before === undefined) {
      seen.set(of[i]!, value);
      return true;
    }
    return typeof value === 'number' && typeof before === 'number'
      ? Math.abs(value - before) <= 1e-9
      : value === before;
  });
}

function indicators(groups: readonly number[]): Dense {
  const labels = [...new Set(groups)];
  const out = zeros(groups.length, labels.length);
  for (const [i, group] of groups.entries()) out.data[i * out.cols + labels.indexOf(group)] = 1;
  return out;
}

function columnsAt(x: Dense, rows: readonly number[], isWanted: (j: number) => boolean): Dense {
  const wanted = Array.from({ length: x.cols }, (_, j) => j).filter(isWanted);
  const out = zeros(rows.length, wanted.length);
  for (const [i, row] of rows.entries()) {
    for (const [c, j] of wanted.entries()) out.data[i * out.cols + c] = x.data[row * x.cols + j]!;
  }
  return out;
}

function rank(parts: readonly (Dense | null)[]): number {
  const present = parts.filter((part) => part !== null);
  const rows = present[0]!.rows;
  const out = zeros(
    rows,
    present.reduce((sum, part) => sum + part.cols, 0),
  );
  let at = 0;
  for (const { cols, data } of present) {
    for (let i = 0; i < rows; i++) {
      out.data.set(data.subarray(i * cols, (i + 1) * cols), i * out.cols + at);
    }
    at += cols;
  }
  return qrFactor(out).rank;
}
