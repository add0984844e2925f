import type { Point } from '../../factor/coding.ts';
import { termValue } from '../../term/term-value.ts';
import type { LinearConstraint } from '../design.ts';
import { feasibleCentres } from '../optimal/feasible-centre.ts';
import { momentMatrix } from '../optimal/moments.ts';
import type { ForbiddenCombination } from '../optimal/problem.ts';
import { isUnlimited, type Region, regionOf } from '../optimal/region.ts';
import { termTable } from '../optimal/term-table.ts';
import type { AssessedDesign, DesignInformation } from './design-information.ts';

/** Where predictions are wanted: the coded box, cut by limits. */
export interface PredictionRegion {
  readonly constraints?: readonly LinearConstraint[];
  readonly forbidden?: readonly ForbiddenCombination[];
}

/**
 * Variance of the predicted mean at a coded point over σ²: xᵀ(XᵀV⁻¹X)⁻¹x, for blocks weighed by
 * their runs.
 * Columns that the runs cannot tell are left out, as the covariance leaves them out.
 * @source NIST/SEMATECH e-Handbook of Statistical Methods, section 5.5.2.1 (from memory)
 */
export function predictionVariance(information: DesignInformation, coded: Point): number {
  const { design, kept, covariance, termCount } = information;
  const row = kept.map((column) =>
    column < termCount ? termValue(design.terms[column]!, coded, design.factors) : 0,
  );
  const p = kept.length;
  let sum = 0;
  for (let i = 0; i < p; i++) {
    for (let j = 0; j < p; j++) sum += row[i]! * covariance.data[i * p + j]! * row[j]!;
  }
  return sum;
}

/** Average of the prediction variance over the region, over σ². */
export interface AverageVariance {
  readonly value: number;
  /** Standard error of `value` from sampling a cut region; 0 when it is exact. */
  readonly samplingError: number;
}

/**
 * Prediction variance averaged over the region: tr((XᵀV⁻¹X)⁻¹ W), W the moment matrix. Exact on the
 * whole box, sampled (with its error told) on a cut one.
 * @source Goos & Jones (2011), Optimal Design of Experiments, section 4.3.5
 */
export function averagePredictionVariance(
  information: DesignInformation,
  region: PredictionRegion = {},
): AverageVariance {
  const { matrix, batches } = regionMoments(information.design, region);
  const value = traceWith(information, matrix);
  if (batches.length === 0) return { value, samplingError: 0 };
  const traces = batches.map((batch) => traceWith(information, batch));
  const squares = traces.reduce((sum, trace) => sum + (trace - value) ** 2, 0);
  return { value, samplingError: Math.sqrt(squares / (traces.length - 1) / traces.length) };
}

/** Moment matrix of the design's model terms over a region, shape (terms, terms). */
export function regionMoments(design: AssessedDesign, limits: PredictionRegion) {
  const { region, centres } = regionWithCentres(design, limits);
  return momentMatrix(termTable(design.terms, design.factors), region, { centres, seed: 1 });
}

/** The encoded region of a design's factors, and points to start sampling it from. */
export function regionWithCentres(
  { factors }: AssessedDesign,
  limits: PredictionRegion,
): { region: Region; centres: Float64Array[] } {
  const region = regionOf({ factors, ...limits });
  return { region, centres: isUnlimited(region) ? [] : feasibleCentres(region) };
}

/** tr(C W) over the kept model terms. */
function traceWith({ kept, covariance, termCount }: DesignInformation, w: Float64Array): number {
  const p = kept.length;
  let sum = 0;
  for (let i = 0; i < p; i++) {
    if (kept[i]! >= termCount) continue;
    for (let j = 0; j < p; j++) {
      if (kept[j]! >= termCount) continue;
      sum += covariance.data[i * p + j]! * w[kept[i]! * termCount + kept[j]!]!;
    }
  }
  return sum;
}
