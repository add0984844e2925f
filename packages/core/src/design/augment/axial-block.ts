import { DomainError } from '../../error/domain-error.ts';
import { type Factor, isNumeric, type NumericFactor } from '../../factor/factor.ts';
import type { Design, LinearConstraint } from '../design.ts';
import { pointOf, runAt } from '../point-kind.ts';
import { type AlphaRule, alphaOf } from '../response-surface/alpha.ts';
import { axialRuns } from '../response-surface/axial-runs.ts';
import { assertAxialInside, type NaturalLimits } from '../response-surface/limits.ts';
import { fractionFacts } from '../two-level/fraction-facts.ts';
import { roman } from '../two-level/letter.ts';

/** How the axial block is built. */
export interface AxialBlock {
  /** Axial distance in coded units or a rule; orthogonal blocks unless said. */
  readonly alpha?: number | AlphaRule;
  /** Centre runs beside the axial points; 3 unless said. */
  readonly centrePoints?: number;
  readonly limits?: NaturalLimits;
  readonly constraints?: readonly LinearConstraint[];
}

/**
 * A two-level design made composite: axial points and centre runs are added as a new block, so that
 * curvature of each factor can be told apart.
 *
 * @throws {DomainError} `needs_two_level_design` when the runs are not corners and centres of at
 * least two numeric factors
 * @throws {DomainError} `axial_outside_limits` as for a central composite design
 */
export function withAxialBlock(
  design: Design,
  { alpha = 'orthogonal blocks', centrePoints = 3, limits = {}, constraints = [] }: AxialBlock = {},
): Design {
  const factors = numericFactorsOf(design);
  const { runs } = design;
  const corners = runs.filter(({ kind }) => kind === 'corner').length;
  const counts = {
    factors: factors.length,
    cubeRuns: corners,
    cubeCentres: runs.length - corners,
    axialCentres: centrePoints,
  };
  const distance = typeof alpha === 'number' ? alpha : alphaOf(alpha, counts);
  const block = Math.max(...runs.map((run) => run.block)) + 1;
  const axial = axialRuns(factors, distance, block);
  assertAxialInside(axial, factors, { limits, constraints });
  const origin = pointOf(new Array<number>(factors.length).fill(0), factors);
  const centres = Array.from({ length: centrePoints }, () => runAt(origin, factors, block));
  const after = runs.length + axial.length + centrePoints;
  const shown = Number(distance.toFixed(4));
  return {
    ...design,
    runs: [...runs, ...axial, ...centres],
    notes: [
      ...design.notes,
      `Axial block: before ${runs.length} runs, after ${after}, axial points at ±${shown} as a new block. Before: curvature seen only as a whole, if at all. After: ${quadraticWords(design, distance)}`,
    ],
  };
}

function numericFactorsOf({ factors, runs }: Design): NumericFactor[] {
  const numeric = factors.filter(isNumeric);
  const isTwoLevel = runs.every(({ kind }) => kind === 'corner' || kind === 'centre');
  const corners = runs.filter(({ kind }) => kind === 'corner').length;
  if (numeric.length === factors.length && numeric.length >= 2 && isTwoLevel && corners > 0) {
    return numeric;
  }
  throw new DomainError(
    'needs_two_level_design',
    `withAxialBlock: the design must have corners and centre points only, of at least two numeric factors; got ${describeFactors(factors)} and ${isTwoLevel ? 'corner' : 'other'} runs. Plan a "central composite" or "optimal" design anew.`,
  );
}

function describeFactors(factors: readonly Factor[]): string {
  return `${factors.filter(isNumeric).length} numeric of ${factors.length} factors`;
}

function quadraticWords(design: Design, alpha: number): string {
  const facts = fractionFacts(design);
  const isWhole = facts.kind === 'regular' && (facts.resolution === null || facts.resolution >= 5);
  if (!isWhole) {
    const seen =
      facts.kind === 'regular' && facts.resolution !== null
        ? ` (resolution ${roman(facts.resolution)})`
        : '';
    return `the square of each factor is told apart, but the corners still mix interactions with other effects${seen}: fold over first for a full quadratic model.`;
  }
  const levels = Math.abs(alpha - 1) < 1e-12 ? 'three' : 'five';
  return `a full quadratic model, ${levels} levels a factor.`;
}
