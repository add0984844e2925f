import { codedPoint } from '../factor/coding.ts';
import {
  type CellOutcome,
  type FeasibilityFit,
  type FeasibilityResult,
  feasibilityAt,
  fitFeasibility,
} from '../fit/feasibility.ts';
import { fittedCells } from '../study/run-table.ts';
import type { StudyState } from '../study/state.ts';
import { termRow } from '../surface/term-row.ts';
import { modelMatrix } from '../term/model-matrix.ts';
import { modelTerms, termName } from '../term/term.ts';
import { pointOf } from '../trade/limits.ts';

/** Where a strand forms, from every attempt of the walk; failed ones count with their direction. */
export interface StrandForms {
  readonly result: FeasibilityResult | null;
  /** Probability that a strand forms at coded settings; 1 where no failure was met. */
  readonly probability: (settings: Float64Array) => number;
  /** Standard error of its ln odds; 0 where no failure was met. */
  readonly error: (settings: Float64Array) => number;
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
  if (attempts.length === 0) return constantChance(null, 1, 'No cell has been run yet.');
  const terms = modelTerms('main', factors);
  const coded = attempts.map(({ natural }) => codedPoint(natural, factors));
  const result = fitFeasibility({
    x: modelMatrix(terms, coded, factors),
    outcomes: attempts.map(({ outcome }) => outcome),
    names: terms.map(termName),
  });
  if (result.kind !== 'fitted')
    return constantChance(result, result.kind === 'none-run' ? 0 : 1, result.words);
  const failed = attempts.filter(({ outcome }) => outcome !== 'runs').length;
  const rowInto = termRow(terms, factors);
  const row = new Float64Array(terms.length);
  return {
    result,
    probability: chanceOf(result, (settings) => {
      rowInto(row, settings);
      return row;
    }),
    error: (settings) => {
      rowInto(row, settings);
      return logOddsError(result, row);
    },
    says: `${failed} of ${attempts.length} attempts failed; they shape where a strand forms.`,
  };
}

const constantChance = (
  result: FeasibilityResult | null,
  chance: number,
  says: string,
): StrandForms => ({ result, probability: () => chance, error: () => 0, says });

/** The product of not failing in any way, as `feasibilityAt` has it, without the errors. */
function chanceOf(
  { stages }: FeasibilityFit,
  rowAt: (settings: Float64Array) => Float64Array,
): (settings: Float64Array) => number {
  const fitted = stages.flatMap((stage) =>
    stage.kind === 'fitted'
      ? [{ columns: stage.columns, slopes: stage.fit.coefficients.map(({ estimate }) => estimate) }]
      : [],
  );
  return (settings) => {
    const row = rowAt(settings);
    let chance = 1;
    for (const { columns, slopes } of fitted) {
      let logOdds = 0;
      for (let c = 0; c < columns.length; c++) logOdds += slopes[c]! * row[columns[c]!]!;
      chance /= 1 + Math.exp(-logOdds);
    }
    return chance;
  };
}

/** Half the width of the feasibility model's own interval, which is symmetric on ln odds. */
function logOddsError(fit: FeasibilityFit, row: Float64Array): number {
  const { low, high } = feasibilityAt({ ...fit, confidence: ONE_SD }, row);
  const logOdds = (chance: number): number =>
    Math.log(Math.max(1e-12, chance) / Math.max(1e-12, 1 - chance));
  return Math.min(LARGEST_ERROR, (logOdds(high) - logOdds(low)) / 2);
}

/** Confidence of an interval of one standard error either way. */
const ONE_SD = 0.6826894921370859;
/** Separated outcomes have no error worth the name: the edge may be anywhere. */
const LARGEST_ERROR = 10;
