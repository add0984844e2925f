import { isNumeric } from '../../factor/factor.ts';
import type { Spec } from '../../spec/spec.ts';
import { hasIntercept, intercept } from '../../term/term.ts';
import type { ResponseFit } from './fit-result.ts';
import type { RunTable } from './run-table.ts';
import type { Units } from './usable-run.ts';

/** How a model is taken whose term list has no `{}`, and what is told of it. */
export interface StatedModel {
  readonly spec: Spec;
  readonly units: Units;
  readonly isThroughOrigin: boolean;
  readonly remarks: readonly string[];
}

/** Root mean square to mean: settings this far to one side of zero do not straddle it. */
const ONE_SIDED = 0.5;

/**
 * A spec as the kernels fit it.
 *
 * A term list without `{}` has no intercept: the response is zero where all settings are. That is
 * another model after coding, which moves the origin to the middle of the ranges; natural settings
 * are therefore taken as they stand, as if −1 to +1 were their range. Where the settings of every
 * factor straddle zero, zero is merely their middle and nothing makes the response vanish there:
 * the intercept is then kept, which in a balanced plan changes no other estimate, and it is said.
 */
export function statedModel(spec: Spec, units: Units, table: RunTable): StatedModel {
  const { model } = spec;
  if (typeof model === 'string' || hasIntercept(model))
    return { spec, units, isThroughOrigin: false, remarks: [] };
  if (!isOneSided(spec, table)) {
    const says =
      'The term list has no {}, but the settings lie on both sides of zero, which is only their middle: the intercept was kept.';
    const kept = { ...spec, model: { terms: [intercept, ...model.terms] } };
    return { spec: kept, units, isThroughOrigin: false, remarks: [says] };
  }
  const says = `No intercept: the term list has no {}, so the model is zero where every ${units} setting is zero, and its terms are in ${units} units.`;
  const factors = spec.factors.map((factor) =>
    isNumeric(factor) && units === 'natural' ? { ...factor, low: -1, high: 1 } : factor,
  );
  return { spec: { ...spec, factors }, units: 'coded', isThroughOrigin: true, remarks: [says] };
}

/** True when the settings of some factor of the model lie on one side of zero. */
function isOneSided({ factors, model }: Spec, table: RunTable): boolean {
  const terms = typeof model === 'string' ? [] : model.terms;
  return factors.filter(isNumeric).some(({ name }) => {
    if (!terms.some((powers) => Object.hasOwn(powers, name))) return false;
    const cells = Object.hasOwn(table, name) ? table[name]! : [];
    const values = cells.filter((cell) => typeof cell === 'number');
    const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
    const square = values.reduce((sum, value) => sum + value * value, 0) / values.length;
    return Math.abs(mean) > ONE_SIDED * Math.sqrt(square);
  });
}

/**
 * A fit with what must be said of the intercept. The stationary point of a surface through the
 * origin would be in mixed units and is left out when the settings were natural.
 */
export function withStatedModel(
  fit: ResponseFit,
  { isThroughOrigin, remarks }: StatedModel,
  asked: Units,
): ResponseFit {
  if (fit.terms.length === 0 || remarks.length === 0) return fit;
  const told = { ...fit, remarks: [...remarks, ...fit.remarks] };
  if (!isThroughOrigin) return told;
  return {
    ...told,
    stationaryPoint: asked === 'natural' ? null : fit.stationaryPoint,
    sharesSay:
      fit.sharesSay ??
      (fit.rSquared === null ? null : 'about zero, not the mean, as there is no intercept'),
  };
}
