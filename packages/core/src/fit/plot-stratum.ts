import { columnOf, type Dense } from '../linear/dense.ts';
import { describeAliased } from './aliased.ts';
import type { PlotBasis } from './plot-basis.ts';
import { several } from './plot-name.ts';
import { type PlotNesting, stratumOfColumn } from './plot-nesting.ts';
import type { SplitPlotRefusal, StratumSummary } from './split-plot-result.ts';

/** Residual squares below this share of the response's squares are rounding. */
export const ROUNDING_SHARE = 1e-24;

/** How a model is called in words about it. */
export interface PlotWords {
  readonly names: readonly string[];
  /** One a stratum, for example "whole plots". */
  readonly strataNames: readonly string[];
}

/**
 * Why a nested model cannot be fitted, or undefined when it can.
 *
 * @param isRatioKnown - with known ratios only aliasing and saturation stand in the way
 */
export function plotRefusal(
  x: Dense,
  basis: PlotBasis,
  nesting: PlotNesting,
  words: PlotWords,
  isRatioKnown: boolean,
): SplitPlotRefusal | undefined {
  if (basis.kind === 'aliased') {
    return {
      kind: 'aliased',
      rank: basis.rank,
      terms: basis.involved.map((j) => words.names[j]!),
      words: `These runs cannot tell all terms apart: ${describeAliased(basis, words.names)}. Leave out ${listed(basis.leaveOut.map((j) => words.names[j]!))}.`,
    };
  }
  if (x.rows === x.cols) {
    return {
      kind: 'saturated-within-plots',
      words: `There are as many terms as runs (${x.rows}), so nothing is left to judge them by. Use a smaller model or add runs.`,
    };
  }
  if (basis.residualShare < ROUNDING_SHARE) return noVariation('reading');
  if (isRatioKnown) return undefined;
  const name = words.strataNames.map(several);
  if (nesting.groupings[0]!.count === 1) {
    return {
      kind: 'one-whole-plot',
      words: `All runs stand in one of the ${name[0]}, so the variation between ${name[0]} cannot be seen. Reset at least twice, or fit by ordinary least squares and claim nothing about terms set once a plot.`,
    };
  }
  for (const [k, { count }] of nesting.groupings.entries()) {
    if (basis.stratumDf[k]! > 0) continue;
    const terms = termsOfStratum(x, nesting, words.names, k);
    return {
      kind: 'too-few-whole-plots',
      stratum: k,
      plots: count,
      terms,
      words: `${count} ${name[k]} leave no df among ${name[k]} for a model with ${listed(terms) || 'these terms'}: their variation cannot be estimated. Add replicate ${name[k]}, drop terms, or fix the variance ratio.`,
    };
  }
  return withinRefusal(basis, name);
}

function withinRefusal(
  basis: Extract<PlotBasis, { kind: 'full-rank' }>,
  name: readonly string[],
): SplitPlotRefusal | undefined {
  const innermost = name.at(-1)!;
  if (basis.stratumDf.at(-1) === 0) {
    return {
      kind: 'saturated-within-plots',
      words: `The model leaves no df within ${innermost}: the error between runs of one plot cannot be told from that between plots. Drop terms, repeat runs within plots, or fix the variance ratio.`,
    };
  }
  if (basis.withinShare < ROUNDING_SHARE) {
    return noVariation(`reading within ${innermost}`);
  }
  return undefined;
}

/** Nothing is left over to judge by. */
export const noVariation = (what: string): SplitPlotRefusal => ({
  kind: 'no-residual-variation',
  words: `The model passes through every ${what}, so there is no error to judge terms by. Check that the readings were not computed from the settings.`,
});

/** Names of the terms judged in stratum k, the constant left out. */
function termsOfStratum(
  x: Dense,
  nesting: PlotNesting,
  names: readonly string[],
  k: number,
): string[] {
  return names.filter((_, j) => {
    const values = columnOf(x, j);
    return stratumOfColumn(values, nesting) === k && !isConstant(values);
  });
}

function isConstant(values: Float64Array): boolean {
  return values.every((value) => value === values[0]);
}

/** Degrees of freedom and judged terms of each stratum, outermost first, within plots last. */
export function stratumSummaries(
  x: Dense,
  stratumDf: readonly number[],
  nesting: PlotNesting,
  { names, strataNames }: PlotWords,
): StratumSummary[] {
  return stratumDf.map((df, k) => {
    const isWithin = k === nesting.groupings.length;
    const name = isWithin ? `within ${strataNames.at(-1)}` : strataNames[k]!;
    const terms = termsOfStratum(x, nesting, names, k);
    const where = isWithin
      ? `within ${several(strataNames.at(-1)!)}`
      : `among ${several(strataNames[k]!)}`;
    const subject = listed(terms);
    return {
      name,
      plots: isWithin ? x.rows : nesting.groupings[k]!.count,
      df,
      terms,
      words:
        terms.length === 0
          ? `no term is judged ${where}; ${df} df are left there`
          : `${subject} ${terms.length === 1 ? 'rests' : 'rest'} on ${df} df ${where}`,
    };
  });
}

/** "a", "a and b", "a, b and c"; long lists end with how many more there are. */
function listed(names: readonly string[]): string {
  const shown = names.length > 8 ? [...names.slice(0, 7), `${names.length - 7} more`] : names;
  if (shown.length <= 1) return shown.join('');
  return `${shown.slice(0, -1).join(', ')} and ${shown.at(-1)}`;
}
