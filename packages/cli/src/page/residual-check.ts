import { type ResponseFit, tUpperQuantile } from '@strandwise/core';
import { type ModelCheck, probabilityValue, signed, signedInterval } from '@strandwise/report';
import {
  type Checked,
  type CheckedRun,
  capitalCells,
  outlyingCells,
  residualAxis,
  residualPoints,
  risk,
} from './checked-run.ts';
import { rankCorrelation } from './rank-correlation.ts';

/** Even scatter: the rank correlation of its size with the fitted value (Spearman). */
export function evenCheck(checked: Checked): ModelCheck | null {
  const { runs, name, fit } = checked;
  // A model of the mean alone fits every cell alike: there is nothing to look over.
  if (runs.every(({ fitted }) => fitted === runs[0]!.fitted)) return null;
  const outlying = outlyingCells(checked);
  const { rho, p } = rankCorrelation(
    runs.map(({ fitted }) => fitted),
    runs.map(({ residual }) => Math.abs(residual)),
  );
  const isUneven = p !== null && p < risk;
  const how = rho > 0 ? 'grows with' : 'shrinks with';
  const tested =
    p === null ? '' : ` (rank correlation ${signed(rho, 2)}, p ${probabilityValue(p)})`;
  const apart =
    outlying.length > 0
      ? ` ${capitalCells(outlying)} ${outlying.length === 1 ? 'stands' : 'stand'} apart.`
      : '';
  const unit = scaleWords(fit, name);
  return {
    sentence: isUneven
      ? `The size of the scatter ${how} the fitted value${tested}: intervals are too narrow at one end and too wide at the other.${apart}`
      : `The scatter is even over the fitted values${tested}.${apart}`,
    figure: {
      caption: isUneven
        ? `A funnel: the scatter of ${name} ${how} the fit`
        : 'No funnel: the scatter does not follow the fit',
      figure: {
        kind: 'residuals',
        title: `Residuals of ${name} over fitted values`,
        description: `${runs.length} residuals over the fitted ${unit}.`,
        x: { label: `fitted ${unit}` },
        y: residualAxis,
        points: residualPoints(checked, outlying, ({ fitted }) => fitted),
        over: 'values',
      },
    },
  };
}

const scaleWords = ({ scale }: ResponseFit, name: string): string =>
  scale === 'ln response' ? `ln ${name}` : scale === 'ln rate' ? `${name} in a cell` : name;

/** No drift: the slope of the residuals over run order, from the first to the last cell. */
export function driftCheck(checked: Checked): ModelCheck {
  const { runs, name } = checked;
  const outlying = outlyingCells(checked);
  const { change, low, high } = slopeOver(runs);
  const isDrift = low * high > 0;
  return {
    sentence: `From the first cell to the last the residuals move by ${signed(change, 1)} of their standard errors (${signedInterval(low, high, 1)}).`,
    figure: {
      caption: isDrift ? `${name} drifted while the cells were run` : 'No drift over the run order',
      figure: {
        kind: 'residuals',
        title: `Residuals of ${name} over run order`,
        description: `${runs.length} residuals in the order the cells were run.`,
        x: { label: 'run order' },
        y: residualAxis,
        points: residualPoints(checked, outlying, ({ cell }) => cell),
        over: 'order',
      },
    },
  };
}

/** Change of the residuals over the whole run order with its 95 % interval. */
function slopeOver(runs: readonly CheckedRun[]): { change: number; low: number; high: number } {
  const n = runs.length;
  const meanX = runs.reduce((sum, { cell }) => sum + cell, 0) / n;
  const meanY = runs.reduce((sum, { residual }) => sum + residual, 0) / n;
  const sxx = runs.reduce((sum, { cell }) => sum + (cell - meanX) ** 2, 0);
  const sxy = runs.reduce(
    (sum, { cell, residual }) => sum + (cell - meanX) * (residual - meanY),
    0,
  );
  const slope = sxy / sxx;
  const rss = runs.reduce(
    (sum, { cell, residual }) => sum + (residual - meanY - slope * (cell - meanX)) ** 2,
    0,
  );
  const span =
    Math.max(...runs.map(({ cell }) => cell)) - Math.min(...runs.map(({ cell }) => cell));
  const half = tUpperQuantile(0.025, n - 2) * Math.sqrt(rss / (n - 2) / sxx) * span;
  const change = slope * span;
  return { change, low: change - half, high: change + half };
}
