import type { Design, DesignRun } from '../design/design.ts';
import { pointKind } from '../design/point-kind.ts';
import { DomainError } from '../error/domain-error.ts';
import type { Point } from '../factor/coding.ts';
import { type Factor, isNumeric } from '../factor/factor.ts';
import { confirmationHold } from '../schedule/hold.ts';
import { mainTerms, type Powers } from '../term/term.ts';
import type { CandidateBasis } from './candidate.ts';
import { type Plan, type PlanRequest, planWith } from './plan.ts';

/**
 * Fresh set-ups at one point, each reached from somewhere else: between them stand cells a little to
 * either side in the factor that is dearest to change, since a setting that was not left cannot be
 * set anew. Holds are those of confirmation.
 *
 * @param at - the point in coded units
 * @param setUps - how often the point itself is set up, at least 2
 * @throws {DomainError} `no_numeric_factor` when no factor has a side to step to
 */
export function confirmationPlan(basis: CandidateBasis, at: Point, setUps: number): Plan {
  const { factors } = basis;
  const stepped =
    factors.filter(isNumeric).find(({ changes }) => changes === 'hard') ?? factors.find(isNumeric);
  if (!stepped) {
    throw new DomainError(
      'no_numeric_factor',
      'confirmationPlan: at least one factor must be numeric, to step away and back; got named levels only. Set each cell up anew by hand.',
    );
  }
  const aside = Array.from({ length: setUps - 1 }, (_, i) => asidePoint(at, stepped.name, i));
  const points = [...Array.from({ length: setUps }, () => at), ...aside];
  const request: PlanRequest = {
    ...basis,
    family: 'confirmation',
    model: { terms: [{}, ...sideTerms(stepped)] },
    order: 'complete',
    holdRule: confirmationHold,
  };
  const design: Design = {
    family: 'confirmation',
    factors,
    runs: points.map((coded) => freshRun(coded, factors)),
    notes: [
      `${setUps} fresh set-ups of one point; ${aside.length} cells beside it in ${stepped.name} make each a real reset and show whether the place is flat.`,
    ],
  };
  return planWith(request, design);
}

/** Half-way to an end: sides in turn, a step inward where the point stands near an end. */
function asidePoint(at: Point, name: string, turn: number): Point {
  const from = Number(at[name]);
  const side = turn % 2 === 0 ? 1 : -1;
  const stepped = Math.abs(from + 0.5 * side) <= 1 ? from + 0.5 * side : from - 0.5 * side;
  return { ...at, [name]: stepped };
}

const sideTerms = (factor: Factor): Powers[] => mainTerms(factor);

const freshRun = (coded: Point, factors: readonly Factor[]): DesignRun => ({
  coded,
  kind: pointKind(coded, factors),
  block: 1,
  wholePlot: null,
  subWholePlot: null,
});
