import { cholesky, choleskyLogDeterminant } from '../../linear/cholesky.ts';
import type { DesignInformation } from './design-information.ts';
import { averagePredictionVariance, type PredictionRegion } from './prediction-variance.ts';
import { worstPrediction } from './worst-prediction.ts';

/**
 * Efficiencies of a design for its model, in percent, with C = (XᵀV⁻¹X)⁻¹ over σ², n runs and p model
 * terms (block differences are taken out of C, not counted in p). Null when the runs cannot tell
 * every term.
 */
export interface Efficiencies {
  /** 100 · det(C)^(−1/p) / n. 100 for orthogonal columns of ±1. */
  readonly d: number | null;
  /** 100 · p / (n · tr C). 100 for orthogonal columns of ±1. */
  readonly a: number | null;
  /**
   * 100 · p / (n · average prediction variance over the region). Passes 100 where the region is
   * predicted better on average than the runs themselves; a figure to compare designs by.
   */
  readonly i: number | null;
  /** 100 · p / (n · largest prediction variance over the region); at most 100 when V = I. */
  readonly g: number | null;
}

/**
 * @source Atkinson & Donev (1992), Optimum Experimental Designs, chapters on criteria (from memory)
 *   (definitions); Kiefer & Wolfowitz (1960), Canad. J. Math. 12:363–366 (bound on G)
 */
export function efficiencies(
  information: DesignInformation,
  region: PredictionRegion = {},
): Efficiencies {
  const { kept, covariance, termCount: p, aliased, design } = information;
  if (aliased) return { d: null, a: null, i: null, g: null };
  const n = design.runs.length;
  const own = new Float64Array(p * p);
  for (let i = 0; i < p; i++) {
    for (let j = 0; j < p; j++) own[i * p + j] = covariance.data[i * kept.length + j]!;
  }
  let trace = 0;
  for (let i = 0; i < p; i++) trace += own[i * p + i]!;
  const factor = cholesky(own, p);
  const logDet = factor.kind === 'factored' ? choleskyLogDeterminant(factor.lower, p) : null;
  return {
    d: logDet === null ? null : (100 * Math.exp(-logDet / p)) / n,
    a: (100 * p) / (n * trace),
    i: (100 * p) / (n * averagePredictionVariance(information, region).value),
    g: (100 * p) / (n * worstPrediction(information, region).variance),
  };
}
