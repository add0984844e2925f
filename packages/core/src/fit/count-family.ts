import type { CountFamily } from './count-result.ts';
import type { LogLinearData, LogLinearFit } from './log-linear.ts';
import { fitNegativeBinomial } from './negative-binomial.ts';

/** Pearson χ²/df above which counts are taken to vary more than Poisson counts; common practice. */
const EXCESS = 1.5;

/** A family with its fit. */
export interface FamilyChoice {
  readonly family: CountFamily;
  readonly reason: string;
  readonly fit: LogLinearFit;
  readonly theta: number;
  readonly sizeError: number | undefined;
  readonly pearson: number;
  readonly pearsonResiduals: Float64Array;
  readonly dispersion: number;
  readonly remarks: readonly string[];
}

/**
 * The family asked for, or the one the data ask for.
 *
 * Automatic: Poisson while Pearson χ²/df is at most 1.5. Above it, negative binomial when the excess
 * grows with the mean (mean squared Pearson residual in the upper half of the fitted counts more
 * than 1.5 times that in the lower half) over at least a fourfold range of fitted counts and 20
 * df; else quasi-Poisson, whose excess is the same everywhere.
 */
export function familyChoice(
  asked: 'automatic' | CountFamily,
  data: Omit<LogLinearData, 'theta'>,
  poisson: LogLinearFit,
): FamilyChoice {
  const df = data.counts.length - data.basis.cols;
  const { residuals, pearson } = pearsonOf(data.counts, poisson.mean, Number.POSITIVE_INFINITY);
  const excess = df > 0 ? pearson / df : 1;
  const shown = `Pearson χ²/df = ${excess.toFixed(2)} on ${df} df`;
  const asPoisson = (reason: string, remarks: string[] = []): FamilyChoice => ({
    family: 'poisson',
    reason,
    fit: poisson,
    theta: Number.POSITIVE_INFINITY,
    sizeError: undefined,
    pearson,
    pearsonResiduals: residuals,
    dispersion: 1,
    remarks,
  });
  if (df === 0 && asked !== 'poisson')
    return asPoisson(
      'as many terms as runs, so the spread of the counts cannot be checked: Poisson',
    );
  if (asked === 'poisson') {
    const remarks =
      excess > EXCESS
        ? [`The counts vary more than Poisson counts (${shown}): errors shown are too small.`]
        : [];
    return asPoisson('Poisson, as asked for', remarks);
  }
  if (asked === 'automatic' && excess <= EXCESS)
    return asPoisson(`the counts vary as Poisson counts do (${shown}, not above ${EXCESS})`);
  const grows = excessGrows(poisson.mean, residuals) && df >= 20;
  if (asked === 'negative-binomial' || (asked === 'automatic' && grows)) {
    const choice = negativeBinomial(asked, data, poisson, shown);
    if (choice !== undefined) return choice;
    if (asked === 'negative-binomial')
      return asPoisson(`the counts vary no more than Poisson counts (${shown}), so θ is infinite`);
  }
  const why =
    asked === 'quasi-poisson'
      ? `quasi-Poisson, as asked for (${shown})`
      : `the counts vary more than Poisson counts (${shown}) by a factor that does not clearly grow with the mean: quasi-Poisson`;
  const remarks =
    excess < 1 ? ['The counts vary less than Poisson counts; errors are shrunk accordingly.'] : [];
  return { ...asPoisson(why, remarks), family: 'quasi-poisson', dispersion: excess };
}

function negativeBinomial(
  asked: 'automatic' | CountFamily,
  data: Omit<LogLinearData, 'theta'>,
  poisson: LogLinearFit,
  shown: string,
): FamilyChoice | undefined {
  const found = fitNegativeBinomial(data, poisson);
  if (found.kind !== 'fitted') return undefined;
  const { residuals, pearson } = pearsonOf(data.counts, found.fit.mean, found.theta);
  return {
    family: 'negative-binomial',
    reason:
      asked === 'automatic'
        ? `the counts vary more than Poisson counts (${shown}), the more so the larger they are: negative binomial`
        : `negative binomial, as asked for (${shown})`,
    fit: found.fit,
    theta: found.theta,
    sizeError: found.standardError,
    pearson,
    pearsonResiduals: residuals,
    dispersion: 1,
    remarks: [],
  };
}

function pearsonOf(counts: Float64Array, mean: Float64Array, theta: number) {
  let pearson = 0;
  const residuals = counts.map((y, i) => {
    const m = mean[i]!;
    const r = (y - m) / Math.sqrt(theta === Number.POSITIVE_INFINITY ? m : m + (m * m) / theta);
    pearson += r * r;
    return r;
  });
  return { residuals, pearson };
}

/** Whether squared Pearson residuals are larger where more is expected. */
function excessGrows(mean: Float64Array, residuals: Float64Array): boolean {
  const order = Array.from(mean, (_, i) => i).sort((a, b) => mean[a]! - mean[b]!);
  const half = Math.floor(order.length / 2);
  if (half === 0 || mean[order.at(-1)!]! < 4 * mean[order[0]!]!) return false;
  const average = (part: number[]) =>
    part.reduce((sum, i) => sum + residuals[i]! ** 2, 0) / part.length;
  return average(order.slice(-half)) > 1.5 * average(order.slice(0, half));
}
