import { fitBayesSplitPlot } from '../fit/bayes-split-plot.ts';
import type { RatioPrior } from '../fit/ratio-prior.ts';
import { fittedRows } from '../surface/fitted-rows.ts';
import { studySpec, studyTable } from './run-table.ts';
import type { StudyState } from './state.ts';
import { type ResponsePriors, studyFits } from './study-fit.ts';

/**
 * What an earlier study on the same line holds about how much plots differ: for every measured value
 * and spread, the posterior of the SD between plots over the SD within, as a log-normal prior; one for
 * each stratum, by its name. Only ratios are carried: another grade scatters more or less, but the line's resets stand to its
 * readings much as before.
 *
 * @returns by response name; empty when the study has no plots to learn from
 */
export function carriedPriors(earlier: StudyState): ResponsePriors {
  const source = { spec: studySpec(earlier), table: studyTable(earlier) };
  const from = earlier.opened.name;
  return Object.fromEntries(
    studyFits(earlier).responses.flatMap((fit) => {
      const isNormal = fit.kind === 'continuous' || fit.kind === 'spread';
      if (!isNormal || fit.terms.length === 0) return [];
      const { x, y, strata, strataNames, weights } = fittedRows(fit, source);
      if (strata.length === 0) return [];
      const found = fitBayesSplitPlot({ x, y, strata, ...(weights ? { weights } : {}) });
      if (found.kind !== 'fitted') return [];
      const ratios = strata.map((_, k) => ratioPrior(found.posterior.nodes, k));
      return [[fit.name, { ratios, strata: strataNames, from }]];
    }),
  );
}

/** Two figures are all that a prior deserves; fewer plots leave a wider one by themselves. */
function ratioPrior(
  nodes: readonly { readonly weight: number; readonly ratios: readonly number[] }[],
  k: number,
): RatioPrior {
  const logs = nodes.map(({ ratios }) => Math.log(ratios[k]!) / 2);
  const mean = nodes.reduce((sum, { weight }, i) => sum + weight * logs[i]!, 0);
  const variance = nodes.reduce((sum, { weight }, i) => sum + weight * (logs[i]! - mean) ** 2, 0);
  const rounded = (value: number): number => Number(value.toPrecision(2));
  return {
    kind: 'log-normal',
    median: rounded(Math.exp(mean)),
    logSd: rounded(Math.sqrt(variance)),
  };
}
