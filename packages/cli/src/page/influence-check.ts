import { fQuantile } from '@strandwise/core';
import { fixed, type ModelCheck } from '@strandwise/report';
import { type Checked, type CheckedRun, capitalCells } from './checked-run.ts';

/**
 * Whether a cell pulls the fit alone: leverage against twice its mean (common practice, no source)
 * and Cook's distance against the median of F on p and n − p df.
 *
 * @source Cook (1977), Detection of influential observation in linear regression, Technometrics 19:15–18 (from memory)
 */
export function influenceCheck({ runs, name, fit }: Checked): ModelCheck | null {
  const p = fit.terms.length;
  const df = runs.length - p;
  const judged = runs.filter(({ leverage, cooks }) => leverage !== null && cooks !== null);
  if (judged.length < runs.length || df <= 0) return fullLeverage(runs);
  const guide = fQuantile(0.5, p, df);
  const pulling = judged.filter(({ cooks }) => cooks! > guide);
  const largest = judged.reduce((most, run) => (run.cooks! > most.cooks! ? run : most));
  const amount = `Cook’s distance ${fixed(largest.cooks!, 2)}, guide ${fixed(guide, 2)}`;
  return {
    sentence:
      pulling.length === 0
        ? `No cell pulls the fit alone; cell ${largest.cell} comes nearest (${amount}).`
        : `${capitalCells(pulling.map(({ cell }) => cell))} ${pulling.length === 1 ? 'pulls' : 'pull'} the fit hard (${amount}): look at ${pulling.length === 1 ? 'it' : 'them'} before trusting the terms.`,
    figure: {
      caption:
        pulling.length === 0
          ? 'No cell decides the fit alone'
          : `${capitalCells(pulling.map(({ cell }) => cell))} ${pulling.length === 1 ? 'pulls' : 'pull'} the fit of ${name}`,
      figure: {
        kind: 'influence',
        title: `Influence of each cell on the fit of ${name}`,
        description: 'Leverage and Cook’s distance of each cell over run order, with their guides.',
        runOrders: judged.map(({ cell }) => cell),
        panels: [
          {
            label: 'leverage',
            guide: Math.min(1, (2 * p) / runs.length),
            guideWords: 'twice the mean',
            values: judged.map(({ leverage }) => leverage!),
          },
          {
            label: 'Cook’s distance',
            guide,
            guideWords: 'half-way point of its F',
            values: judged.map(({ cooks }) => cooks!),
          },
        ],
      },
    },
  };
}

/** Cells that decide their own fitted value have no Cook's distance; they are named instead. */
function fullLeverage(runs: readonly CheckedRun[]): ModelCheck | null {
  const alone = runs.filter(({ leverage }) => leverage !== null && leverage > 1 - 1e-8);
  if (alone.length === 0) return null;
  const cells = alone.map(({ cell }) => cell);
  return {
    sentence: `${capitalCells(cells)} ${cells.length === 1 ? 'decides its own fitted value' : 'decide their own fitted values'}: nothing in these runs checks ${cells.length === 1 ? 'it' : 'them'}.`,
  };
}
