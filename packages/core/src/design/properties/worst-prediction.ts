import type { Point } from '../../factor/coding.ts';
import { candidatePoints } from '../optimal/potential-terms.ts';
import { decodedPoint, isInside, narrowStretchInto, type Region } from '../optimal/region.ts';
import type { DesignInformation } from './design-information.ts';
import {
  type PredictionRegion,
  predictionVariance,
  regionWithCentres,
} from './prediction-variance.ts';

const CLIMBS = 8;
const CLIMB_LEVELS = 21;

/**
 * The worst-predicted point found and its variance over σ²: the worst of a grid of −1, 0, 1 (or a
 * sample of it and of the region), then coordinate climbs over 21 levels from the eight worst. For
 * quadratic models on a box the worst point is a grid point; elsewhere the value is a lower bound.
 */
export function worstPrediction(
  information: DesignInformation,
  limits: PredictionRegion = {},
): { readonly coded: Point; readonly variance: number } {
  const { design } = information;
  const { region, centres } = regionWithCentres(design, limits);
  const k = design.factors.length;
  const grid = candidatePoints(region, centres);
  const variance = (point: Float64Array): number =>
    predictionVariance(information, decodedPoint(point, 0, design.factors));
  const starts = Array.from({ length: grid.length / k }, (_, i) => {
    const point = grid.slice(i * k, (i + 1) * k);
    return { point, variance: variance(point) };
  })
    .sort((a, b) => b.variance - a.variance)
    .slice(0, CLIMBS);
  const climbed = starts.map(({ point }) => climb(region, point, variance));
  const worst = climbed.reduce((a, b) => (b.variance > a.variance ? b : a));
  return { coded: decodedPoint(worst.point, 0, design.factors), variance: worst.variance };
}

function climb(
  region: Region,
  start: Float64Array,
  variance: (point: Float64Array) => number,
): { point: Float64Array; variance: number } {
  let point = start;
  let best = variance(point);
  const stretch = new Float64Array(2);
  for (let pass = 0; pass < 20; pass++) {
    const before = best;
    for (let j = 0; j < point.length; j++) {
      stretch[0] = -1;
      stretch[1] = 1;
      const levels = region.levels[j];
      if (!levels) narrowStretchInto(stretch, region, { points: point, offset: 0, j });
      const settings =
        levels ??
        Float64Array.from(
          { length: CLIMB_LEVELS },
          (_, i) => stretch[0]! + ((stretch[1]! - stretch[0]!) * i) / (CLIMB_LEVELS - 1),
        );
      for (const setting of settings) {
        const moved = point.slice();
        moved[j] = setting;
        if (!isInside(region, moved)) continue;
        const value = variance(moved);
        if (value > best * (1 + 1e-12)) {
          best = value;
          point = moved;
        }
      }
    }
    if (best === before) break;
  }
  return { point, variance: best };
}
