import { codedPoint } from '../factor/coding.ts';
import {
  type CellOutcome,
  type FeasibilityResult,
  feasibilityAt,
  fitFeasibility,
} from '../fit/feasibility.ts';
import { fittedCells } from '../study/run-table.ts';
import type { StudyState } from '../study/state.ts';
import { pointFromSettings } from '../surface/polynomial.ts';
import { modelMatrix } from '../term/model-matrix.ts';
import { modelTerms, termName } from '../term/term.ts';
import { pointOf } from '../trade/limits.ts';

/** Where a strand forms, from every attempt of the walk; failed ones count with their direction. */
export interface StrandForms {
  readonly result: FeasibilityResult | null;
  /** Probability that a strand forms at coded settings; 1 where no failure was met. */
  readonly probability: (settings: Float64Array) => number;
  readonly says: string;
}

/** The feasibility model of a study: main effects, one row an attempt. */
export function strandForms(state: StudyState): StrandForms {
  const { factors, line } = state.opened;
  const attempts = fittedCells(state).flatMap((cell) => {
    const natural = cell.entered ? pointOf(cell.entered, factors, line) : cell.run.natural;
    const failed = cell.failures.map(({ direction, setPoints }) => ({
      outcome: direction as CellOutcome,
      natural: setPoints ? pointOf(setPoints, factors, line) : cell.run.natural,
    }));
    return cell.status === 'done'
      ? [...failed, { outcome: 'runs' as CellOutcome, natural }]
      : failed;
  });
  if (attempts.length === 0)
    return { result: null, probability: () => 1, says: 'No cell has been run yet.' };
  const terms = modelTerms('main', factors);
  const coded = attempts.map(({ natural }) => codedPoint(natural, factors));
  const result = fitFeasibility({
    x: modelMatrix(terms, coded, factors),
    outcomes: attempts.map(({ outcome }) => outcome),
    names: terms.map(termName),
  });
  const failed = attempts.filter(({ outcome }) => outcome !== 'runs').length;
  return {
    result,
    probability: (settings) => {
      if (result.kind === 'none-run') return 0;
      if (result.kind === 'all-run') return 1;
      const row = modelMatrix(terms, [pointFromSettings(settings, factors)], factors).data;
      return feasibilityAt(result, row).runs;
    },
    says:
      result.kind === 'fitted'
        ? `${failed} of ${attempts.length} attempts failed; they shape where a strand forms.`
        : result.words,
  };
}
