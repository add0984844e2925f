import { normalTwoSided, type ResponseFit, tTwoSided } from '@strandwise/core';
import type { ScatterPoint } from '@strandwise/report';
import { listed } from './sentence.ts';

/** One residual with the cell it belongs to, in units of its own standard error. */
export interface CheckedRun {
  /** The cell's number, which is also its run order. */
  readonly cell: number;
  readonly fitted: number;
  /** Studentised where the fit could; else over the SD of all residuals. */
  readonly residual: number;
  readonly deleted: number | null;
  readonly leverage: number | null;
  readonly cooks: number | null;
}

/** What a check looks at. */
export interface Checked {
  readonly runs: readonly CheckedRun[];
  readonly name: string;
  readonly fit: ResponseFit;
}

/** Name of the axis of residuals. */
export const residualAxis = { label: 'residual, in its own standard errors' };
/** Risk of calling even scatter uneven; common practice. */
export const risk = 0.05;

/** "cell 4", "cells 4 and 7". */
export const cellsWords = (cells: readonly number[]): string =>
  `${cells.length === 1 ? 'cell' : 'cells'} ${listed(cells.map(String))}`;

/**
 * Cells whose residual is too large for chance among so many, by Bonferroni's bound on the deleted
 * residuals; none when the fit gives no deleted residuals.
 */
export function outlyingCells({ runs, fit }: Checked): number[] {
  const df = (fit.dfResidual ?? Number.POSITIVE_INFINITY) - 1;
  return runs.flatMap(({ cell, deleted }) => {
    if (deleted === null || !(df > 0)) return [];
    const p = Number.isFinite(df) ? tTwoSided(deleted, df) : normalTwoSided(deleted);
    return p * runs.length < risk ? [cell] : [];
  });
}

/** Residuals as points, outlying ones named. */
export function residualPoints(
  { runs }: Checked,
  outlying: readonly number[],
  x: (run: CheckedRun) => number,
): ScatterPoint[] {
  return runs.map((run) => {
    const isOutlying = outlying.includes(run.cell);
    return {
      x: x(run),
      y: run.residual,
      ...(isOutlying ? { isOutlying, label: `cell ${run.cell}` } : {}),
    };
  });
}

/** The same at the start of a sentence. */
export const capitalCells = (cells: readonly number[]): string => {
  const words = cellsWords(cells);
  return words.charAt(0).toUpperCase() + words.slice(1);
};
