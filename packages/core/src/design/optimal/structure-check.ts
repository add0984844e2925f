import { DomainError } from '../../error/domain-error.ts';
import type { OptimalProblem } from './problem.ts';

/**
 * Refuse sizes and ratios that make no sense.
 * @throws {DomainError} `bad_structure`
 */
export function checkedStructure({ structure, included = [] }: OptimalProblem): void {
  if (structure.kind === 'runs') {
    const least = included.length > 0 ? 0 : 1;
    whole('runs', structure.runs, least);
    return;
  }
  const { wholePlots, subPlots, cells, varianceRatio, subVarianceRatio, replicates } = structure;
  whole('whole plots', wholePlots, 1);
  whole('cells per plot', cells, 1);
  if (subPlots !== undefined) whole('sub-whole plots per whole plot', subPlots, 1);
  ratio('whole-plot variance ratio', varianceRatio);
  if (subVarianceRatio !== undefined) ratio('sub-whole-plot variance ratio', subVarianceRatio);
  if (replicates === undefined) return;
  whole('replicated whole plots', replicates, 0);
  if (replicates >= wholePlots) {
    throw new DomainError(
      'bad_structure',
      `optimalDesign: replicated whole plots must be fewer than the whole plots; got ${replicates} of ${wholePlots}. Replicate fewer.`,
      { replicates, wholePlots },
    );
  }
}

function whole(what: string, got: number, least: number): void {
  if (Number.isInteger(got) && got >= least) return;
  throw new DomainError(
    'bad_structure',
    `optimalDesign: number of ${what} must be a whole number of at least ${least}; got ${got}. Correct it.`,
    { what, got },
  );
}

function ratio(what: string, got: number): void {
  if (Number.isFinite(got) && got >= 0) return;
  throw new DomainError(
    'bad_structure',
    `optimalDesign: the ${what} must be 0 or more; got ${got}. Give σ² of the plot over σ² of a cell.`,
    { what, got },
  );
}
