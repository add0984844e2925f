import type { Response } from '../../spec/spec.ts';
import type { CannotSay, CellCount, ResponseFit } from './fit-result.ts';

/** The scale that the terms of a kind of response add up on. */
export function scaleOf(kind: Response['kind']): ResponseFit['scale'] {
  switch (kind) {
    case 'continuous':
      return 'response';
    case 'spread':
      return 'ln response';
    case 'count':
      return 'ln rate';
    case 'pass-fail':
      return 'log odds';
  }
}

/** A response of which nothing is said yet; what is known is laid over it. */
export function emptyFit(
  { name, kind }: Response,
  cells: CellCount,
  cannotSay: readonly CannotSay[],
): ResponseFit {
  return {
    name,
    kind,
    method: 'none',
    scale: scaleOf(kind),
    terms: [],
    naturalTerms: [],
    covariance: null,
    anova: null,
    sourceTests: [],
    dfResidual: null,
    residualSd: null,
    rSquared: null,
    adjustedRSquared: null,
    predictiveRSquared: null,
    press: null,
    sharesSay: null,
    aicc: null,
    bic: null,
    dispersion: null,
    deviance: null,
    likelihood: null,
    lackOfFit: null,
    lenth: null,
    power: null,
    varianceComponents: [],
    strata: [],
    sensitivity: null,
    contrasts: [],
    checks: [],
    screening: null,
    alternatives: null,
    stationaryPoint: null,
    cells,
    runs: [],
    cannotSay: [...cannotSay],
    remarks: [],
  };
}
