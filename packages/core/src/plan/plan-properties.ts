import { z } from 'zod';
import { TimeTrend } from '../schedule/time-trend.ts';
import { Model, Powers } from '../term/term.ts';
import { AskedCriteria } from './asked-criteria.ts';
import { FractionReport } from './fraction-report.ts';
import { StatedChange } from './stated-change.ts';

const share = z.number().min(0).max(1);
const settings = z.union([z.number(), z.string()]);

const efficiency = (formula: string) =>
  z
    .number()
    .nullable()
    .describe(
      `percent: ${formula}, with C the covariance of the p coefficients over the cell variance and n cells; null when a term cannot be told`,
    );

/** How well one term can be told. Standard errors are over the SD between cells of one setting. */
export const PlannedTerm = z.strictObject({
  name: z.string(),
  powers: Powers,
  standardError: z.number().nonnegative().nullable(),
  /** Variance of the coefficient over what it would be were its column orthogonal to the others. */
  varianceInflation: z.number().nullable(),
  /** The tier whose error the term is judged against. */
  judgedBetween: z.enum(['whole plots', 'sub-whole plots', 'cells']),
  df: z.number(),
  /** Chance to see the stated change; null when the plan cannot tell the term or no error df are left. */
  power: share.nullable(),
});
export type PlannedTerm = z.infer<typeof PlannedTerm>;

const DfStratum = z.strictObject({
  name: z.enum(['whole plots', 'sub-whole plots', 'cells']),
  units: z.int(),
  model: z.int(),
  error: z.int(),
  lackOfFit: z.int(),
  pureError: z.int(),
});

const LostCellReport = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('grows'), runOrder: z.int(), growth: z.number() }),
  z.strictObject({
    kind: z.literal('loses-terms'),
    runOrder: z.int(),
    terms: z.array(z.string()),
  }),
]);

/**
 * What a plan costs and what it will be able to tell, computed on the settings after rounding.
 *
 * `assessed` is the largest model that the plan can estimate with error df to spare, the asked model
 * when it can; every number about terms, prediction and efficiency is for that model.
 */
export const PlanProperties = z.strictObject({
  cells: z.int().positive(),
  /** Zone settings, or settings of whatever is hard to change; null when every cell is set anew. */
  zoneSettings: z.int().positive().nullable(),
  /** Cells whose hold waits for zones or for the melt to be renewed. */
  holds: z.int().nonnegative().nullable(),
  hours: z.number().nonnegative().nullable(),
  holdHours: z.number().nonnegative().nullable(),
  grams: z.number().nonnegative().nullable(),
  spools: z.int().nonnegative().nullable(),
  /** Shifts of eight hours. */
  shifts: z.int().nonnegative().nullable(),
  trends: z.array(TimeTrend),
  largestTrend: z.number().min(0),
  underFlushed: z.array(z.int()),
  falseResets: z.array(z.int()),
  change: StatedChange,
  model: Model,
  assessed: Model,
  terms: z.array(PlannedTerm),
  /** Joint F test of each named factor with three levels or more, for the pair of levels seen worst. */
  namedFactors: z.array(z.strictObject({ factor: z.string(), power: share.nullable() })),
  df: z.array(DfStratum),
  efficiencies: z.strictObject({
    d: efficiency('100 · det(C)^(−1/p) / n'),
    a: efficiency('100 · p / (n · trace C)'),
    i: efficiency('100 · p / (n · average prediction variance over the region)'),
    g: efficiency('100 · p / (n · largest prediction variance over the region)'),
  }),
  /** Of the asked model, every run set anew. */
  asked: AskedCriteria,
  /** Of the two-level part; null when there is none or all its combinations are run. */
  resolution: z.int().nullable(),
  /** Words of length 3, 4, … of the two-level part; null when there is none. */
  wordLengthPattern: z.array(z.number()).nullable(),
  fraction: FractionReport.nullable(),
  /** How far the axial points of a composite stand out, coded units; null when there are none. */
  axialDistance: z.number().nullable(),
  averageError: z
    .number()
    .describe('root of the prediction variance averaged over the region, over the SD of a cell'),
  fractionOfRegion: z.strictObject({
    fractions: z.array(share),
    standardErrors: z.array(z.number()),
  }),
  slices: z.array(
    z.strictObject({
      factor: z.string(),
      settings: z.array(settings),
      standardErrors: z.array(z.number().nullable()),
    }),
  ),
  /** Pairs of terms whose columns are correlated by 0.3 or more. */
  correlations: z.array(
    z.strictObject({ first: z.string(), second: z.string(), correlation: z.number() }),
  ),
  /** Shares of terms left out of the assessed model in the estimates; only those of 0.05 and more. */
  aliases: z.array(z.strictObject({ term: z.string(), leftOut: z.string(), share: z.number() })),
  /** In run order. */
  leverages: z.array(z.number()),
  worstLoss: LostCellReport.nullable(),
  cannotTell: z.array(z.strictObject({ kind: z.string(), words: z.string() })),
  notes: z.array(z.string()),
});
export type PlanProperties = z.infer<typeof PlanProperties>;
