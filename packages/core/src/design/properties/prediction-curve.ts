import type { Point } from '../../factor/coding.ts';
import { isNumeric } from '../../factor/factor.ts';
import { seededUniform } from '../../random/uniform.ts';
import { feasibleSequence } from '../optimal/moments.ts';
import { decodedPoint, isInside } from '../optimal/region.ts';
import type { DesignInformation } from './design-information.ts';
import {
  type PredictionRegion,
  predictionVariance,
  regionWithCentres,
} from './prediction-variance.ts';

/** Share of the region predicted at least as well as a standard error. */
export interface FractionOfRegion {
  /** 0 to 1 in equal steps. */
  readonly fractions: Float64Array;
  /** Standard error of prediction over σ not passed on that fraction of the region. */
  readonly standardErrors: Float64Array;
  readonly points: number;
}

/**
 * Fraction-of-region curve of the prediction standard error, from a seeded spread of points.
 * @source Zahran, Anderson-Cook & Myers (2003), J. Quality Technology 35:377–386
 */
export function fractionOfRegion(
  information: DesignInformation,
  options: PredictionRegion & {
    readonly points?: number;
    readonly steps?: number;
    readonly seed?: number;
  } = {},
): FractionOfRegion {
  const { points = 2000, steps = 100, seed = 1, ...limits } = options;
  const { factors } = information.design;
  const { region, centres } = regionWithCentres(information.design, limits);
  const next = feasibleSequence(region, centres, seededUniform(seed, 'fraction of region'));
  const errors = new Float64Array(points);
  for (let i = 0; i < points; i++) {
    errors[i] = Math.sqrt(predictionVariance(information, decodedPoint(next(), 0, factors)));
  }
  errors.sort();
  const at = (fraction: number): number => {
    const place = fraction * (points - 1);
    const below = Math.floor(place);
    const above = Math.min(points - 1, below + 1);
    return errors[below]! + (place - below) * (errors[above]! - errors[below]!);
  };
  const fractions = Float64Array.from({ length: steps + 1 }, (_, i) => i / steps);
  return { fractions, standardErrors: fractions.map(at), points };
}

/** Prediction standard error along one factor, the others held. */
export interface PredictionSlice {
  readonly factor: string;
  /** Coded values of a numeric factor, level names of a named one. */
  readonly settings: readonly (number | string)[];
  /** Over σ; null where a limit forbids the point. */
  readonly standardErrors: readonly (number | null)[];
}

/** One slice a factor through a coded point (the centre and the first levels when left out). */
export function predictionSlices(
  information: DesignInformation,
  options: PredictionRegion & { readonly through?: Point; readonly steps?: number } = {},
): PredictionSlice[] {
  const { factors } = information.design;
  const { through, steps = 20, ...limits } = options;
  const { region } = regionWithCentres(information.design, limits);
  const base: Point =
    through ?? Object.fromEntries(factors.map((f) => [f.name, isNumeric(f) ? 0 : f.levels[0]!]));
  return factors.map((factor, j) => {
    const settings = isNumeric(factor)
      ? Array.from({ length: steps + 1 }, (_, i) => -1 + (2 * i) / steps)
      : [...factor.levels];
    return {
      factor: factor.name,
      settings,
      standardErrors: settings.map((setting, at) => {
        const point = { ...base, [factor.name]: setting };
        const encoded = Float64Array.from(factors, (f, i) =>
          isNumeric(f)
            ? Number(point[f.name])
            : i === j
              ? at
              : f.levels.indexOf(String(point[f.name])),
        );
        return isInside(region, encoded) ? Math.sqrt(predictionVariance(information, point)) : null;
      }),
    };
  });
}
