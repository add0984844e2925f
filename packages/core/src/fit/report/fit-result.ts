import { z } from 'zod';
import { ResponseKind } from '../../spec/spec.ts';
import { Powers } from '../../term/term.ts';
import { LenthReport, ScreeningReport } from './screening-result.ts';
import { SurfaceReport } from './surface-report.ts';

/** What a fit cannot say, by name. */
export const CannotSayKind = z.enum([
  'aliased',
  'saturated',
  'more-terms-than-runs',
  'not-replicated',
  'identical-replicates',
  'too-few-whole-plots',
  'not-grouped',
  'not-modelled',
  'extrapolated',
  'constant-response',
  'constant-factor',
  'constant-block',
  'all-failed',
  'failed-cells',
  'left-out-runs',
  'invalid-value',
  'perfect-fit',
  'full-leverage',
  'separated',
  'uncertain-nature',
]);
export type CannotSayKind = z.infer<typeof CannotSayKind>;

/** One thing a fit cannot say, in a plain sentence. Rows count from 1. */
export const CannotSay = z.strictObject({
  kind: CannotSayKind,
  says: z.string(),
  terms: z.array(z.string()).optional(),
  rows: z.array(z.int().positive()).optional(),
});
export type CannotSay = z.infer<typeof CannotSay>;

const count = z.int().nonnegative();
const share = z.number().nullable();

/**
 * One estimable term. `df` is null when the statistic is judged as normal, and with
 * `standardError`, `statistic` and `p` when nothing can judge it. `low` and `high`: 95 % interval.
 */
export const FittedTerm = z.strictObject({
  name: z.string(),
  powers: Powers,
  estimate: z.number(),
  standardError: z.number().nullable(),
  df: z.number().nullable(),
  statistic: z.number().nullable(),
  p: z.number().nullable(),
  low: z.number().nullable(),
  high: z.number().nullable(),
});
export type FittedTerm = z.infer<typeof FittedTerm>;

export const AnovaSource = z.strictObject({
  source: z.string(),
  df: z.number(),
  ss: z.number(),
  ms: z.number().nullable(),
  f: z.number().nullable(),
  p: z.number().nullable(),
});
export type AnovaSource = z.infer<typeof AnovaSource>;

export const AnovaTable = z.strictObject({
  model: AnovaSource,
  residual: AnovaSource,
  total: AnovaSource,
  sequential: z.array(AnovaSource),
  partial: z.array(AnovaSource),
});
export type AnovaTable = z.infer<typeof AnovaTable>;

/**
 * A source tested after all others, its contrasts together; `dfError` null for chi-squared.
 * `likelihoodRatio`: of counts, the rise of the deviance when the source is dropped; else null.
 */
export const SourceTest = z.strictObject({
  source: z.string(),
  test: z.enum(['f', 'chi-squared']),
  df: z.number(),
  dfError: z.number().nullable(),
  statistic: z.number(),
  p: z.number(),
  likelihoodRatio: z.number().nullable(),
});
export type SourceTest = z.infer<typeof SourceTest>;

/** Lack of fit; numbers are there when `kind` is `tested`. */
export const LackOfFitReport = z.strictObject({
  kind: z.enum(['tested', 'no-replicates', 'saturated', 'identical-replicates', 'in-plots']),
  says: z.string(),
  f: z.number().nullable(),
  /** Also written as `pValue`, its first name. */
  p: z.number().nullable(),
  pValue: z.number().nullable(),
  ss: z.number().nullable(),
  df: z.number().nullable(),
  pureErrorSs: z.number().nullable(),
  pureErrorDf: z.number().nullable(),
});
export type LackOfFitReport = z.infer<typeof LackOfFitReport>;

export const VarianceReport = z.strictObject({
  name: z.string(),
  variance: z.number(),
  standardDeviation: z.number(),
  low: z.number().nullable(),
  high: z.number().nullable(),
  isAtBoundary: z.boolean(),
});
export type VarianceReport = z.infer<typeof VarianceReport>;

/** How the variance between plots is estimated. */
export const VarianceEstimator = z.enum([
  'restricted likelihood',
  'ratio fixed at 1',
  'pure error',
  'Bayesian',
  'Bayesian, weak prior',
  'Bayesian, wider prior',
]);
export type VarianceEstimator = z.infer<typeof VarianceEstimator>;

/** A response by one estimate of the variances; `says` is why it has no terms. */
export const SensitivityRow = z.strictObject({
  estimator: VarianceEstimator,
  says: z.string().nullable(),
  components: z.array(z.strictObject({ name: z.string(), standardDeviation: z.number() })),
  terms: z.array(
    z.strictObject({
      name: z.string(),
      estimate: z.number(),
      standardError: z.number().nullable(),
      df: z.number().nullable(),
      low: z.number().nullable(),
      high: z.number().nullable(),
    }),
  ),
});
export type SensitivityRow = z.infer<typeof SensitivityRow>;

/**
 * Which estimate of the variance between plots to judge by, why, and how much the answer depends on
 * it. `terms` of the fit are always those of restricted likelihood.
 */
export const VarianceSensitivity = z.strictObject({
  judgedBy: VarianceEstimator,
  why: z.string(),
  says: z.string(),
  /** What the Bayesian row held before the data. */
  prior: z.string().nullable(),
  /** How much that row changes under another prior. */
  priorSays: z.string().nullable(),
  rows: z.array(SensitivityRow),
});
export type VarianceSensitivity = z.infer<typeof VarianceSensitivity>;

/** A question of the user's own, answered on the scale of the model. */
export const ContrastReport = z.strictObject({
  name: z.string(),
  estimate: z.number(),
  standardError: z.number().nullable(),
  df: z.number().nullable(),
  statistic: z.number().nullable(),
  p: z.number().nullable(),
  low: z.number().nullable(),
  high: z.number().nullable(),
});
export type ContrastReport = z.infer<typeof ContrastReport>;

/** Points for a picture of a check, with lines at some values across. */
export const CheckPicture = z.strictObject({
  x: z.string(),
  y: z.string(),
  points: z.array(z.strictObject({ row: z.int().positive(), x: z.number(), y: z.number() })),
  guides: z.array(z.strictObject({ at: z.number(), says: z.string() })),
});
export type CheckPicture = z.infer<typeof CheckPicture>;

export const CheckKind = z.enum([
  'leverage',
  'outliers',
  'influence',
  'outlying plots',
  'normality',
  'constant variance',
  'drift over run order',
  'drift over the clock',
  'lack of fit',
  'gauge floor',
]);
export type CheckKind = z.infer<typeof CheckKind>;

/** One look at whether a fit stands, in one plain sentence. Rows count from 1. */
export const Check = z.strictObject({
  kind: CheckKind,
  /** `concern`: read on before using the fit. `unknown`: these runs cannot tell. */
  standing: z.enum(['sound', 'concern', 'unknown']),
  says: z.string(),
  rows: z.array(z.int().positive()),
  statistic: z.number().nullable(),
  p: z.number().nullable(),
  picture: CheckPicture.nullable(),
});
export type Check = z.infer<typeof Check>;

/** Hierarchical models that the runs hardly tell from the best one. */
export const Alternatives = z.strictObject({
  criterion: z.enum(['aicc', 'bic']),
  within: z.number(),
  looked: z.int(),
  search: z.enum(['all', 'guided']),
  says: z.string(),
  inAll: z.array(z.string()),
  inNone: z.array(z.string()),
  models: z.array(
    z.strictObject({
      terms: z.array(Powers),
      names: z.array(z.string()),
      criterion: z.number(),
      behind: z.number(),
    }),
  ),
});
export type Alternatives = z.infer<typeof Alternatives>;

/** On the scale of the model (see `scale`); coded and natural are null for an exact rising ridge. */
export const StationaryReport = z.strictObject({
  coded: z.record(z.string(), z.number()).nullable(),
  natural: z.record(z.string(), z.number()).nullable(),
  nature: z.enum(['maximum', 'minimum', 'saddle', 'stationary ridge', 'rising ridge']),
  says: z.string(),
  eigenvalues: z.array(z.number()),
  /** Standard errors of the eigenvalues, the directions held fixed; null when nothing can judge them. */
  eigenvalueErrors: z.array(z.number()).nullable(),
  directions: z.array(z.record(z.string(), z.number())),
  value: z.number().nullable(),
  distance: z.number().nullable(),
  isInside: z.boolean(),
  averagedOver: z.array(z.string()),
});
export type StationaryReport = z.infer<typeof StationaryReport>;

/** One run as the fit sees it; `observed` and `fitted` on the scale of the model. */
export const RunReport = z.strictObject({
  row: z.int().positive(),
  observed: z.number(),
  fitted: z.number(),
  residual: z.number(),
  leverage: z.number().nullable(),
  studentised: z.number().nullable(),
  deletedStudentised: z.number().nullable(),
  cooksDistance: z.number().nullable(),
});
export type RunReport = z.infer<typeof RunReport>;

/** Where the cells went. Rows count from 1. */
export const CellCount = z.strictObject({
  total: count,
  used: count,
  /** Cells without a value: they failed, or were not measured. */
  failed: z.array(z.int().positive()),
  /** Cells that could not be used for another reason. */
  leftOut: z.array(z.strictObject({ row: z.int().positive(), why: z.string() })),
});
export type CellCount = z.infer<typeof CellCount>;

/** The power of the response that the model likes best, with its 95 % interval (Box and Cox). */
export const PowerReport = z.strictObject({
  lambda: z.number(),
  low: z.number().nullable(),
  high: z.number().nullable(),
});
export type PowerReport = z.infer<typeof PowerReport>;

/**
 * What the likelihood of a count, or of passing or failing, says. `theta`: size of the negative
 * binomial, whose variance is mean + mean²/θ. `terms`: of passing or failing, the terms by plain
 * maximum likelihood beside the penalised ones of the fit; empty for counts.
 */
export const LikelihoodReport = z.strictObject({
  logLikelihood: z.number().nullable(),
  aic: z.number().nullable(),
  deviance: z.number(),
  /** Of one rate, or one chance of passing, for all runs. */
  nullDeviance: z.number(),
  dfNull: z.number(),
  /** Pearson χ². */
  pearson: z.number(),
  theta: z.number().nullable(),
  thetaError: z.number().nullable(),
  terms: z.array(FittedTerm),
  naturalTerms: z.array(FittedTerm),
});
export type LikelihoodReport = z.infer<typeof LikelihoodReport>;

/** What a fit says of one response, and what it cannot say. Terms are in coded units. */
export const ResponseFit = z.strictObject({
  name: z.string(),
  kind: ResponseKind,
  method: z.enum([
    'least squares',
    'weighted least squares',
    'restricted maximum likelihood',
    'Poisson',
    'Poisson with whole plots',
    'quasi-Poisson',
    'negative binomial',
    'penalised likelihood',
    'none',
  ]),
  /** What the terms add up to. */
  scale: z.enum(['response', 'ln response', 'ln rate', 'log odds']),
  terms: z.array(FittedTerm),
  /** The same model written out in natural units. Empty where there are no terms. */
  naturalTerms: z.array(FittedTerm),
  /** Covariance of the estimates in the order of `terms`; null when nothing can judge them. */
  covariance: z.array(z.array(z.number())).nullable(),
  anova: AnovaTable.nullable(),
  sourceTests: z.array(SourceTest),
  dfResidual: z.number().nullable(),
  residualSd: share,
  rSquared: share,
  adjustedRSquared: share,
  predictiveRSquared: share,
  press: share,
  /** What the shares stand for where it is not the usual, or why there are none. */
  sharesSay: z.string().nullable(),
  /** Small-sample Akaike and Bayesian information of the model; smaller is better. */
  aicc: share,
  bic: share,
  /** Of a count: Pearson χ² over its df, or 1. */
  dispersion: share,
  deviance: share,
  /** Null for measured values and spreads, and where there is no likelihood to speak of. */
  likelihood: LikelihoodReport.nullable(),
  lackOfFit: LackOfFitReport.nullable(),
  lenth: LenthReport.nullable(),
  power: PowerReport.nullable(),
  varianceComponents: z.array(VarianceReport),
  /** Which terms rest on how many df, in words; one sentence a stratum. */
  strata: z.array(z.string()),
  sensitivity: VarianceSensitivity.nullable(),
  contrasts: z.array(ContrastReport),
  checks: z.array(Check),
  screening: ScreeningReport.nullable(),
  alternatives: Alternatives.nullable(),
  stationaryPoint: StationaryReport.nullable(),
  cells: CellCount,
  runs: z.array(RunReport),
  cannotSay: z.array(CannotSay),
  remarks: z.array(z.string()),
});
export type ResponseFit = z.infer<typeof ResponseFit>;

/** The answer of `fit`. `surfaces`: of the responses that have one, where they were looked at. */
export const FitResult = z.strictObject({
  responses: z.array(ResponseFit),
  surfaces: z.array(SurfaceReport).optional(),
});
export type FitResult = z.infer<typeof FitResult>;
