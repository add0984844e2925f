import { z } from 'zod';
import { ResponseKind } from '../../spec/spec.ts';
import { Powers } from '../../term/term.ts';

/** What a fit cannot say, by name. */
export const CannotSayKind = z.enum([
  'aliased',
  'saturated',
  'more-terms-than-runs',
  'not-replicated',
  'identical-replicates',
  'too-few-whole-plots',
  'not-grouped',
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

/** A source tested after all others, its contrasts together; `dfError` null for chi-squared. */
export const SourceTest = z.strictObject({
  source: z.string(),
  test: z.enum(['f', 'chi-squared']),
  df: z.number(),
  dfError: z.number().nullable(),
  statistic: z.number(),
  p: z.number(),
});
export type SourceTest = z.infer<typeof SourceTest>;

/** Lack of fit; numbers are there when `kind` is `tested`. */
export const LackOfFitReport = z.strictObject({
  kind: z.enum(['tested', 'no-replicates', 'saturated', 'identical-replicates', 'in-plots']),
  says: z.string(),
  f: z.number().nullable(),
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

/** Lenth's reading of a saturated two-level design: effects beyond `me` stand out, beyond `sme` surely. */
export const LenthReport = z.strictObject({
  pse: z.number(),
  df: z.number(),
  me: z.number(),
  sme: z.number(),
  effects: z.array(
    z.strictObject({ name: z.string(), effect: z.number(), p: z.number().nullable() }),
  ),
});
export type LenthReport = z.infer<typeof LenthReport>;

/** The power of the response that the model likes best, with its 95 % interval (Box and Cox). */
export const PowerReport = z.strictObject({
  lambda: z.number(),
  low: z.number().nullable(),
  high: z.number().nullable(),
});
export type PowerReport = z.infer<typeof PowerReport>;

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
  /** Small-sample Akaike and Bayesian information of the model; smaller is better. */
  aicc: share,
  bic: share,
  /** Of a count: Pearson χ² over its df, or 1. */
  dispersion: share,
  deviance: share,
  lackOfFit: LackOfFitReport.nullable(),
  lenth: LenthReport.nullable(),
  power: PowerReport.nullable(),
  varianceComponents: z.array(VarianceReport),
  /** Which terms rest on how many df, in words; one sentence a stratum. */
  strata: z.array(z.string()),
  stationaryPoint: StationaryReport.nullable(),
  cells: CellCount,
  runs: z.array(RunReport),
  cannotSay: z.array(CannotSay),
  remarks: z.array(z.string()),
});
export type ResponseFit = z.infer<typeof ResponseFit>;

/** The answer of `fit`. */
export const FitResult = z.strictObject({ responses: z.array(ResponseFit) });
export type FitResult = z.infer<typeof FitResult>;
