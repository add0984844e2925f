import { naturalValue } from '../factor/coding.ts';
import { isNumeric } from '../factor/factor-kind.ts';
import { cellColumn } from '../study/run-table.ts';
import { gradedValue } from '../surface/best-joint-desirability.ts';
import { surfaceTerms } from '../surface/fitted-rows.ts';
import { leftOutCoefficients } from '../surface/left-out-coefficients.ts';
import { keepsLimits, linearLimits } from '../surface/linear-limits.ts';
import { patternSearch } from '../surface/pattern-search.ts';
import { polynomial, settingsOf } from '../surface/polynomial.ts';
import { backOnScale, type ResponseSurface } from '../surface/response-surface.ts';
import type { Predictor } from './predictor.ts';
import type { Recipe } from './recommendation.ts';
import { cautiousValue } from './wanted-response.ts';

/** What one cell does to the most desirable settings and to what is predicted there. */
export interface CellInfluence {
  readonly cell: number;
  /** How far the best settings move without it, natural units, by factor. */
  readonly moves: Readonly<Record<string, number>>;
  /** The largest move, as a share of that factor's range. */
  readonly largestShare: number;
  readonly factor: string;
  /** Predicted values at the recipe, with and without the cell, own units. */
  readonly predictions: readonly {
    readonly name: string;
    readonly with: number;
    readonly without: number;
  }[];
  /** "Without cell 14 the best hump moves by +3 °C." */
  readonly says: string;
}

/** A move of this share of a range, or more, is worth a word; common practice, no source. */
const NOTABLE = 0.1;
const FINEST = 0.005;

/**
 * How the recommendation hangs on each cell: the surfaces without it (variance ratios held), and the
 * most desirable settings climbed to anew from where they stand. Largest move first.
 */
export function cellInfluences(predictor: Predictor, recipe: Recipe): CellInfluence[] {
  const { fits, rows, surfaces, state, source } = predictor;
  const { factors } = state.opened;
  const cells = source.table[cellColumn] ?? [];
  const without = new Map<number, Map<string, Float64Array>>();
  for (const fit of fits.responses) {
    const own = rows.get(fit.name);
    const surface = surfaces.find(({ name }) => name === fit.name);
    if (!own || !surface) continue;
    const kept = surfaceTerms(fit, factors);
    for (const { row, coefficients } of leftOutCoefficients(fit, own)) {
      const byName = without.get(row) ?? new Map<string, Float64Array>();
      // The move is added to the surface's own coefficients, which may be a posterior mean.
      byName.set(
        fit.name,
        surface.coefficients.map(
          (value, j) => value + coefficients[kept[j]!]! - fit.terms[kept[j]!]!.estimate,
        ),
      );
      without.set(row, byName);
    }
  }
  const at = settingsOf(recipe.coded, factors);
  const start = bestFrom(predictor, surfaces, settingsOf(recipe.joint.coded, factors));
  return [...without]
    .map(([row, byName]) => {
      const moved = surfaces.map((surface) =>
        withCoefficients(surface, byName.get(surface.name), predictor),
      );
      const best = bestFrom(predictor, moved, start);
      return influenceOf(predictor, {
        cell: Number(cells[row - 1] ?? row),
        start,
        best,
        moved,
        at,
      });
    })
    .sort((a, b) => b.largestShare - a.largestShare);
}

function withCoefficients(
  surface: ResponseSurface,
  coefficients: Float64Array | undefined,
  { state }: Predictor,
): ResponseSurface {
  if (!coefficients) return surface;
  const mean = polynomial(surface.terms, coefficients, state.opened.factors);
  return { ...surface, coefficients, mean };
}

/** The most desirable settings near a start; factors without a wanted response stay. */
function bestFrom(
  { state, constraints }: Predictor,
  surfaces: readonly ResponseSurface[],
  start: Float64Array,
): Float64Array {
  const { factors, responses } = state.opened;
  const wanted = responses.flatMap(({ name, goal }) => {
    const surface = surfaces.find((each) => each.name === name);
    return surface && goal ? [{ goal, predict: cautiousValue(surface, goal) }] : [];
  });
  const limits = linearLimits(factors, constraints);
  const axes = factors.flatMap((factor, i) => {
    if (!isNumeric(factor)) return [];
    const axis = new Float64Array(factors.length);
    axis[i] = 1;
    return [axis];
  });
  const score = (at: Float64Array): number =>
    keepsLimits(at, limits) ? gradedValue(wanted, at) : Number.NEGATIVE_INFINITY;
  return patternSearch(start, axes, score, { first: 0.16, last: FINEST }).at;
}

function influenceOf(
  { state, surfaces }: Predictor,
  {
    cell,
    start,
    best,
    moved,
    at,
  }: {
    readonly cell: number;
    readonly start: Float64Array;
    readonly best: Float64Array;
    readonly moved: readonly ResponseSurface[];
    readonly at: Float64Array;
  },
): CellInfluence {
  const { factors } = state.opened;
  const moves: Record<string, number> = {};
  let largestShare = 0;
  let largest = factors.find(isNumeric)!;
  for (const [i, factor] of factors.entries()) {
    if (!isNumeric(factor)) continue;
    moves[factor.name] = naturalValue(best[i]!, factor) - naturalValue(start[i]!, factor);
    const share = Math.abs(best[i]! - start[i]!) / 2;
    if (share <= largestShare) continue;
    largestShare = share;
    largest = factor;
  }
  const by = moves[largest.name] ?? 0;
  const amount = `${by > 0 ? '+' : '−'}${Number(Math.abs(by).toPrecision(2))}${largest.unit ? ` ${largest.unit}` : ''}`;
  return {
    cell,
    moves,
    largestShare,
    factor: largest.name,
    predictions: surfaces.map((surface, s) => ({
      name: surface.name,
      with: backOnScale(surface, surface.mean(at)),
      without: backOnScale(surface, moved[s]!.mean(at)),
    })),
    says:
      largestShare >= NOTABLE
        ? `Without cell ${cell} the best ${largest.name} moves by ${amount}.`
        : `Without cell ${cell} the best settings hardly move.`,
  };
}
