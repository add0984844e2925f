import { zeros } from '../linear/dense.ts';
import { contrastTest } from './contrast-test.ts';
import { fullTreatmentModel } from './full-treatment-model.ts';
import { fitSplitPlot } from './split-plot.ts';
import type { SplitPlotInput } from './split-plot-result.ts';

/** Does the model bend where the runs bend, judged against plots and runs that repeat settings? */
export type SplitPlotLackOfFit =
  | {
      readonly kind: 'tested';
      readonly f: number;
      readonly df: number;
      readonly dfError: number;
      readonly pValue: number;
    }
  /** Every setting is in the model already. */
  | { readonly kind: 'saturated'; readonly terms: number; readonly distinctRuns: number }
  /** Without repeats there is nothing to judge by; `words` says of what. */
  | { readonly kind: 'in-plots'; readonly words: string };

/**
 * Lack of fit of a nested model: the model widened to one mean for each treatment is fitted by
 * restricted likelihood, and what was added is tested together after Kenward and Roger. Runs that
 * repeat a setting within a plot judge what varies within plots only; plots must repeat too.
 *
 * @param treatments - equal settings of all factors share a label, shape (n)
 * @source the treatment model as the source of pure error: Gilmour, Goos & Großmann (2025) (the idea
 *   only); on one stratum it is the usual test (NIST/SEMATECH e-Handbook, 4.4.4.6)
 */
export function splitPlotLackOfFit(
  input: SplitPlotInput,
  treatments: Int32Array,
): SplitPlotLackOfFit {
  const { cols: p } = input.x;
  const full = fullTreatmentModel(input.x, treatments);
  if (full.added === 0) return { kind: 'saturated', terms: p, distinctRuns: full.settings };
  const names = Array.from(
    { length: full.x.cols },
    (_, j) => input.names?.[j] ?? (j < p ? `term ${j}` : `setting ${j}`),
  );
  const result = fitSplitPlot({ ...input, x: full.x, names });
  if (result.kind !== 'fitted') return { kind: 'in-plots', words: reasons[result.kind] };
  const l = zeros(full.added, full.x.cols);
  for (let i = 0; i < full.added; i++) l.data[i * l.cols + p + i] = 1;
  const { f, ndf, ddf, p: pValue } = contrastTest(result, l);
  if (!(ddf > 0 && Number.isFinite(f)))
    return { kind: 'in-plots', words: reasons['too-few-whole-plots'] };
  return { kind: 'tested', f, df: ndf, dfError: ddf, pValue };
}

const reasons = {
  'one-whole-plot': 'all runs stand in one plot',
  'too-few-whole-plots': 'no plot was set anew to settings it had before, so plots have no repeats',
  'saturated-within-plots': 'no setting was run twice within its plot or in another',
  'no-residual-variation': 'the repeated runs agree to the last digit',
  aliased: 'the runs cannot tell the settings apart',
} as const;
