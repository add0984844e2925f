import type { PlannedRun } from '../schedule/planned-run.ts';
import { assurance } from '../surface/assurance.ts';
import { plotRatio } from '../surface/left-out-coefficients.ts';
import { settingsOf } from '../surface/polynomial.ts';
import type { ResponseSurface } from '../surface/response-surface.ts';
import { type AddedRun, meanScale, surfaceAfter } from '../surface/surface-after.ts';
import { modelOf, type Predictor } from './predictor.ts';

/** What more runs are expected to do at one place, the estimates staying what they are. */
export interface ExpectedGain {
  /** Chance of conforming, and the least it can be, before and after; null when they cannot be judged. */
  readonly chance: {
    readonly before: number;
    readonly after: number;
    readonly notBelowBefore: number;
    readonly notBelowAfter: number;
  } | null;
  /** Variance of the predicted means after over before, averaged over the responses; 0 to 1. */
  readonly varianceLeft: number;
}

/** The gain of runs, coded on the study's own ranges. */
export function expectedGain(
  predictor: Predictor,
  at: Float64Array,
  runs: readonly Pick<PlannedRun, 'coded' | 'wholePlot'>[],
): ExpectedGain {
  const { factors } = predictor.state.opened;
  const added = runs.map(
    ({ coded, wholePlot }): AddedRun => ({ settings: settingsOf(coded, factors), plot: wholePlot }),
  );
  const surfaces = predictor.surfaces.map((surface) =>
    surfaceAfter(surface, added, {
      plotShare: plotShareOf(predictor, surface),
      ...(surface.scale === 'ln rate' ? { exposure: usualExposure(predictor) } : {}),
    }),
  );
  const judged = predictor.judged.map(({ requirement, surface }) => ({
    requirement,
    surface: surfaces.find(({ name }) => name === surface.name) ?? surface,
  }));
  const after = modelOf({ ...predictor, surfaces, judged }, 'full');
  const shares = predictor.surfaces.flatMap((surface, s) => {
    const now = meanScale(surface, at);
    return now > 0 ? [meanScale(surfaces[s]!, at) / now] : [];
  });
  const varianceLeft =
    shares.length > 0 ? shares.reduce((sum, share) => sum + share, 0) / shares.length : 1;
  const { conformance } = predictor;
  if (!conformance || !after) return { chance: null, varianceLeft };
  const seed = predictor.state.opened.seed;
  return {
    chance: {
      before: conformance.at(at).probability,
      after: after.at(at).probability,
      notBelowBefore: assurance(conformance.parts, { seed })(at).notBelow,
      notBelowAfter: assurance(after.parts, { seed })(at).notBelow,
    },
    varianceLeft,
  };
}

/** Plots' part of a set-up's variance; all of it for a rate, whose single scatter is Poisson's. */
function plotShareOf({ fits, rows }: Predictor, { name, scale }: ResponseSurface): number {
  const fit = fits.responses.find((each) => each.name === name);
  const own = rows.get(name);
  if (!fit || !own || own.strata.length === 0) return 0;
  if (scale === 'ln rate') return 1;
  const ratio = own.strata.reduce((sum, _, s) => sum + plotRatio(fit, s), 0);
  return ratio / (1 + ratio);
}

/** The middle of the lengths counted so far; 8 m where none is known (common practice, no source). */
export function usualExposure({ state }: Predictor): number {
  const lengths = state.cells
    .flatMap(({ readings }) => (readings.bubbles ? [readings.bubbles.metres] : []))
    .sort((a, b) => a - b);
  return lengths[Math.floor(lengths.length / 2)] ?? 8;
}
