import { columnsOf } from '../../linear/dense.ts';
import { fitCounts } from '../counts.ts';
import { firthLogistic } from '../firth-logistic.ts';
import { fitLogLinear, orthonormalColumns } from '../log-linear.ts';
import { countLogLikelihood } from '../negative-binomial.ts';
import { scaledBasis } from '../penalised-profile.ts';
import { fitPoissonMixed } from '../poisson-mixed.ts';
import { type Criterion, type ModelScore, penalised } from '../selection.ts';
import type { Prepared } from './prepared.ts';

/** How models of counts or of passing are scored, and what a reader must know of it. */
export interface DiscreteScore {
  readonly score: ModelScore;
  readonly remark: string;
}

const OUT = { rss: Number.POSITIVE_INFINITY, criterion: Number.POSITIVE_INFINITY };

/**
 * Models of a count: by the likelihood of the family that the largest model has, its dispersion held
 * (quasi-Poisson) or its size parameter held (negative binomial); with plots by the Laplace likelihood
 * of the mixed model. Null when nothing was counted or the largest model has no fit.
 *
 * @param plots - outermost plot of each run; null where every run stands alone
 * @source quasi-likelihood form of AICc: Burnham & Anderson (2002), Model Selection and Multimodel
 *   Inference, 2nd ed., §2.5 (from memory)
 */
export function countScore(
  prepared: Prepared,
  plots: Int32Array | null,
  criterion: Criterion,
): DiscreteScore | null {
  const { model, y: counts, exposure, response } = prepared;
  if (counts.every((count) => count === 0)) return null;
  if (plots) return mixedScore(prepared, plots, criterion);
  const whole = fitCounts({
    x: model.x,
    counts,
    family: response.family ?? 'automatic',
    ...(exposure ? { exposure } : {}),
  });
  const isFitted = whole.kind === 'fitted';
  const theta = (isFitted ? whole.size?.theta : undefined) ?? Number.POSITIVE_INFINITY;
  const family = isFitted ? whole.family : 'poisson';
  const dispersion = isFitted && family === 'quasi-poisson' ? Math.max(1, whole.dispersion) : 1;
  const offset = counts.map((_, i) => Math.log(exposure?.[i] ?? 1));
  const spare = family === 'poisson' ? 0 : 1;
  return {
    score: (terms) => {
      const columns = orthonormalColumns(columnsOf(model.x, terms));
      if (columns.kind === 'aliased') return OUT;
      const { mean } = fitLogLinear({ basis: columns.basis, counts, offset, theta });
      const deviance = (-2 * countLogLikelihood(counts, mean, theta)) / dispersion;
      const k = terms.length + spare;
      return { rss: deviance, criterion: penalised(criterion, deviance, counts.length, k) };
    },
    remark: familyWords(family, dispersion, theta),
  };
}

function familyWords(family: string, dispersion: number, theta: number): string {
  if (family === 'quasi-poisson')
    return `Models were compared by the Poisson likelihood over the dispersion of the largest, ${dispersion.toPrecision(2)}.`;
  if (family === 'negative-binomial')
    return `Models were compared as negative binomial with the θ of the largest, ${theta.toPrecision(2)}.`;
  return 'Models were compared by the Poisson likelihood.';
}

function mixedScore(
  { model, y: counts, exposure }: Prepared,
  wholePlots: Int32Array,
  criterion: Criterion,
): DiscreteScore {
  return {
    score: (terms) => {
      const x = columnsOf(model.x, terms);
      const fit = fitPoissonMixed({ x, counts, wholePlots, ...(exposure ? { exposure } : {}) });
      if (fit.kind !== 'fitted') return OUT;
      const deviance = -2 * fit.logLikelihood;
      const k = terms.length + 1;
      return { rss: deviance, criterion: penalised(criterion, deviance, counts.length, k) };
    },
    remark: 'Models were compared by the likelihood of the Poisson model with plots.',
  };
}

/**
 * Models of passing: by the plain likelihood at the penalised estimates, as the penalty itself grows
 * with the model and would be compared instead. Null when all passed or all failed.
 */
export function passFailScore({ model, y }: Prepared, criterion: Criterion): DiscreteScore | null {
  const passed = Uint8Array.from(y);
  if (passed.every((value) => value === passed[0])) return null;
  return {
    score: (terms) => {
      const columns = orthonormalColumns(columnsOf(model.x, terms));
      if (columns.kind === 'aliased') return OUT;
      const { probability } = firthLogistic(scaledBasis(columns).basis, passed);
      const deviance = -2 * logLikelihood(passed, probability);
      return { rss: deviance, criterion: penalised(criterion, deviance, y.length, terms.length) };
    },
    remark: 'Models were compared by the plain likelihood at the penalised estimates.',
  };
}

function logLikelihood(passed: Uint8Array, probability: Float64Array): number {
  let sum = 0;
  for (const [i, value] of passed.entries())
    sum += value === 1 ? Math.log(probability[i]!) : Math.log1p(-probability[i]!);
  return sum;
}
