// One set of readings judged in five ways, each as the surface that the product would make of it.
import {
  combinationDf,
  fitBayesSplitPlot,
  fitSplitPlot,
  leastSquares,
  polynomial,
  posteriorBelief,
  type RatioSource,
  type ResponseSurface,
  type SplitPlotFit,
  type SurfaceBelief,
  singleBelief,
  termRow,
  tTwoSided,
} from '@strandwise/core';
import type { TrialPlan } from './calibration-plan.ts';

export const WAYS = [
  'least squares',
  'restricted likelihood, Kenward–Roger',
  'restricted likelihood, Satterthwaite',
  'pure error',
  'Bayesian',
] as const;
export type Way = (typeof WAYS)[number];

/** A surface and, for each term, whether a 5 % test says that it is not its true value. */
export interface Judged {
  readonly surface: ResponseSurface;
  readonly refuted: readonly boolean[];
}

/** One judgement a way; null where the way refuses these runs. */
export function judgements(plan: TrialPlan, y: Float64Array): Map<Way, Judged | null> {
  const reml = nested(plan, y, { kind: 'reml' });
  const pure = nested(plan, y, { kind: 'pure-error', treatments: plan.treatments });
  return new Map<Way, Judged | null>([
    ['least squares', byLeastSquares(plan, y)],
    ['restricted likelihood, Kenward–Roger', reml && byKenwardRoger(plan, reml)],
    ['restricted likelihood, Satterthwaite', reml && bySatterthwaite(plan, reml)],
    ['pure error', pure && byKenwardRoger(plan, pure)],
    ['Bayesian', byPosterior(plan, y)],
  ]);
}

function nested({ x, plots }: TrialPlan, y: Float64Array, ratioSource: RatioSource) {
  const fit = fitSplitPlot({ x, y, strata: [plots], ratioSource });
  return fit.kind === 'fitted' ? fit : null;
}

function byLeastSquares(plan: TrialPlan, y: Float64Array): Judged | null {
  const fit = leastSquares({ x: plan.x, y });
  if (fit.kind !== 'fitted') return null;
  const noise = fit.residualSd ** 2;
  return judged(plan, fit.coefficients, {
    covariance: fit.unscaledCovariance.data.map((value) => value * noise),
    noise,
    termDf: new Float64Array(plan.terms.length).fill(fit.dfResidual),
  });
}

const noiseOf = ({ varianceComponents }: SplitPlotFit): number =>
  varianceComponents.reduce((sum, { variance }) => sum + variance, 0);
const estimatesOf = ({ coefficients }: SplitPlotFit): Float64Array =>
  Float64Array.from(coefficients, ({ estimate }) => estimate);

const byKenwardRoger = (plan: TrialPlan, fit: SplitPlotFit): Judged =>
  judged(plan, estimatesOf(fit), {
    covariance: fit.adjustedCovariance.data,
    noise: noiseOf(fit),
    termDf: Float64Array.from(fit.coefficients, ({ df }) => df),
  });

const bySatterthwaite = (plan: TrialPlan, fit: SplitPlotFit): Judged =>
  judged(plan, estimatesOf(fit), {
    covariance: fit.glsCovariance.data,
    noise: noiseOf(fit),
    termDf: Float64Array.from(fit.coefficients, ({ satterthwaiteDf }) => satterthwaiteDf),
  });

interface Doubt {
  readonly covariance: Float64Array;
  readonly noise: number;
  readonly termDf: Float64Array;
}

function judged(plan: TrialPlan, estimates: Float64Array, doubt: Doubt): Judged {
  const p = estimates.length;
  const refuted = Array.from(estimates, (estimate, j) => {
    const error = Math.sqrt(doubt.covariance[j * p + j]!);
    return tTwoSided((estimate - plan.trueTerms[j]!) / error, doubt.termDf[j]!) < 0.05;
  });
  return { surface: surfaceOf(plan, estimates, doubt), refuted };
}

function surfaceOf(
  { terms, factors }: TrialPlan,
  coefficients: Float64Array,
  { covariance, noise, termDf, belief }: Doubt & { readonly belief?: SurfaceBelief },
): ResponseSurface {
  const rowInto = termRow(terms, factors);
  const row = (at: Float64Array): Float64Array => {
    const out = new Float64Array(terms.length);
    rowInto(out, at);
    return out;
  };
  const surface: ResponseSurface = {
    name: 'y',
    scale: 'response',
    terms,
    coefficients,
    covariance,
    noiseVariance: noise,
    df: Math.min(...termDf),
    termDf,
    belief: null,
    mean: polynomial(terms, coefficients, factors),
    row,
    rowInto,
  };
  if (belief) return { ...surface, belief };
  const df = combinationDf(surface, row(new Float64Array(factors.length)), noise);
  return { ...surface, belief: singleBelief(coefficients, covariance, { noise, df }) };
}

function byPosterior(plan: TrialPlan, y: Float64Array): Judged | null {
  const { x, plots, terms, trueTerms } = plan;
  const fit = fitBayesSplitPlot({ x, y, strata: [plots] });
  if (fit.kind !== 'fitted') return null;
  const belief = posteriorBelief(
    fit.posterior,
    terms.map((_, j) => j),
  );
  return {
    surface: beliefSurface(plan, belief),
    refuted: fit.coefficients.map(
      ({ low, high }, j) => trueTerms[j]! < low || trueTerms[j]! > high,
    ),
  };
}

/** The surface of a belief, as the product makes it: mean and covariance of the mixture. */
function beliefSurface(plan: TrialPlan, belief: SurfaceBelief): ResponseSurface {
  const p = plan.terms.length;
  const wide = belief.df > 2 ? belief.df / (belief.df - 2) : 3;
  const mean = new Float64Array(p);
  for (const { weight, coefficients } of belief.nodes)
    for (let j = 0; j < p; j++) mean[j]! += weight * coefficients[j]!;
  const covariance = new Float64Array(p * p);
  let noise = 0;
  for (const node of belief.nodes) {
    noise += wide * node.weight * node.noise;
    for (let i = 0; i < p; i++)
      for (let j = 0; j < p; j++) {
        let sum = 0;
        for (let k = 0; k <= Math.min(i, j); k++)
          sum += node.lower[i * p + k]! * node.lower[j * p + k]!;
        const between = (node.coefficients[i]! - mean[i]!) * (node.coefficients[j]! - mean[j]!);
        covariance[i * p + j]! += node.weight * (wide * sum + between);
      }
  }
  const termDf = new Float64Array(p).fill(belief.df);
  return surfaceOf(plan, mean, { covariance, noise, termDf, belief });
}
