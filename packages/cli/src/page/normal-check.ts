import { betaQuantile, normalQuantile } from '@strandwise/core';
import type { ModelCheck } from '@strandwise/report';
import { type Checked, cellsWords, outlyingCells, residualAxis } from './checked-run.ts';

/**
 * About normal: ordered residuals against normal quantiles, in a band that holds each order statistic
 * of a normal sample 19 times in 20.
 */
export function normalCheck(checked: Checked): ModelCheck {
  const { runs, name } = checked;
  const outlying = outlyingCells(checked);
  const n = runs.length;
  const meanResidual = runs.reduce((sum, { residual }) => sum + residual, 0) / n;
  const sd = Math.sqrt(
    runs.reduce((sum, { residual }) => sum + (residual - meanResidual) ** 2, 0) / (n - 1),
  );
  const ordered = [...runs].sort((a, b) => a.residual - b.residual);
  const band = ordered.map((_, i) => {
    const at = (p: number): number =>
      meanResidual + sd * normalQuantile(betaQuantile(p, i + 1, n - i));
    return { x: normalQuantile((i + 1 - 0.375) / (n + 0.25)), low: at(0.025), high: at(0.975) };
  });
  const outside = ordered.filter(
    ({ residual }, i) => residual < band[i]!.low || residual > band[i]!.high,
  );
  const isOff = outside.length > Math.max(1, 0.1 * n);
  const cells = outside.map(({ cell }) => cell).sort((a, b) => a - b);
  const count =
    outside.length === 0 ? `All ${n} residuals lie` : `${n - outside.length} of ${n} residuals lie`;
  return {
    sentence: isOff
      ? `The residuals are not normal: ${outside.length} of ${n} lie outside the band of a normal sample (${cellsWords(cells)}); p-values and intervals are rough.`
      : `${count} within the band of a normal sample${outside.length > 0 ? `; outside: ${cellsWords(cells)}, which chance alone may do` : ''}.`,
    figure: {
      caption: isOff
        ? 'The residuals leave the band of a normal sample'
        : 'The residuals keep to the band of a normal sample',
      note: `The band holds each point of a normal sample 19 times in 20.`,
      figure: {
        kind: 'normal-quantile',
        title: `Residuals of ${name} against normal quantiles`,
        description: `${n} ordered residuals over the quantiles of a normal sample; ${outside.length} outside its band.`,
        x: { label: 'normal quantile' },
        y: residualAxis,
        points: ordered.map(({ cell, residual }, i) => ({
          x: band[i]!.x,
          y: residual,
          ...(outlying.includes(cell) || residual < band[i]!.low || residual > band[i]!.high
            ? { label: `cell ${cell}`, isOutlying: outlying.includes(cell) }
            : {}),
        })),
        line: { intercept: meanResidual, slope: sd },
        band,
      },
    },
  };
}
