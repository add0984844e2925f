import type { LackOfFitReport, RunReport } from '../report/fit-result.ts';

/** One column tried beside the model: how sure it is that the response follows it. */
export interface TriedColumn {
  /** Change of the response from the column's −1 to its +1. */
  readonly change: number;
  readonly statistic: number;
  readonly df: number | null;
  readonly p: number;
}

/** A fit as the checks see it. */
export interface CheckedFit {
  readonly name: string;
  /** What the residuals are of, in words for a picture: "ln SD of diameter". */
  readonly scaleName: string;
  /** How a run is called: "row 7", "cell 7". */
  readonly runName: (row: number) => string;
  readonly runs: readonly RunReport[];
  /** Terms of the model. */
  readonly terms: number;
  readonly dfResidual: number;
  readonly lackOfFit: LackOfFitReport | null;
  /** Standardised plot effects of the outermost plots, where there are plots. */
  readonly plots: readonly { readonly name: string; readonly t: number; readonly row: number }[];
  readonly plotName: string | null;
  /** When the runs were made: a place in the order, and hours if a clock was kept; shape (n). */
  readonly order: Float64Array;
  /** Otherwise the order is that of the rows, which may stand sorted. */
  readonly isOrderKnown: boolean;
  readonly hours: Float64Array | null;
  /** Tries a column, already coded from −1 to +1; null when the model holds it already. */
  readonly tryColumn: (column: Float64Array) => TriedColumn | null;
  /** Smallest value of the response that the gauge could show, on the response's own scale. */
  readonly floor: number | null;
}

/** A p below this is a concern; several looks are taken, so one in twenty would cry wolf. */
export const CONCERN = 0.01;
export const HINT = 0.05;

/** "p 0.03", "p below 0.001". */
export const pText = (p: number): string => (p < 0.001 ? 'p below 0.001' : `p ${p.toPrecision(2)}`);

/** Up to `most` names, then how many more. */
export function someNames(names: readonly string[], most = 4): string {
  const shown =
    names.length > most ? [...names.slice(0, most), `${names.length - most} more`] : names;
  return shown.length <= 1
    ? (shown[0] ?? '')
    : `${shown.slice(0, -1).join(', ')} and ${shown.at(-1)}`;
}
