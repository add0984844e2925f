import type { CheckedFit } from '../diagnosis/checked-fit.ts';
import { fitChecks } from '../diagnosis/fit-checks.ts';
import type { Check, ResponseFit } from './fit-result.ts';
import type { Prepared } from './prepared.ts';

/** A response as one way of fitting tells it, with what the checks need besides. */
export interface Reported {
  readonly fit: ResponseFit;
  /** Standardised effects of the outermost plots; none without plots. */
  readonly plots: CheckedFit['plots'];
}

const TRIED = 'tried column';

/**
 * Looks at whether a fit stands. Drift is looked for by fitting again with time as one column more,
 * so that it is judged as any other term of that kind of model.
 *
 * @param again - the way this response was fitted
 */
export function reportedChecks(
  prepared: Prepared,
  { fit, plots }: Reported,
  again: (prepared: Prepared) => Reported,
): Check[] {
  const isJudged = fit.terms.some(({ p }) => p !== null);
  if (!isJudged || fit.runs.length === 0) return [];
  const { order, hours } = times(prepared, fit);
  return fitChecks({
    name: fit.name,
    scaleName: scaleName(fit),
    runName: prepared.runName,
    runs: fit.runs,
    terms: fit.terms.length,
    dfResidual: fit.runs.length - fit.terms.length,
    lackOfFit: fit.lackOfFit,
    plots,
    plotName: prepared.plotNames[0] ?? null,
    order,
    isOrderKnown: prepared.isOrderKnown,
    hours,
    tryColumn: (column) => {
      const model = widened(prepared.model, column);
      const wider = again({ ...prepared, model, tested: model.columns.length - 1 }).fit;
      const term = wider.terms.find(({ name }) => name === TRIED);
      if (!term || term.p === null || term.statistic === null) return null;
      const { estimate, statistic, df, p } = term;
      return { change: 2 * estimate, statistic, df, p };
    },
    floor: fit.kind === 'spread' ? prepared.floor : null,
  });
}

function times({ order, hours }: Prepared, { runs }: ResponseFit) {
  const clock = hours && Float64Array.from(runs, ({ row }) => hours[row - 1]!);
  return {
    order: Float64Array.from(runs, ({ row }) => order[row - 1]!),
    hours: clock?.every((hour) => Number.isFinite(hour)) ? clock : null,
  };
}

/** What the terms of a response add up to, in words. */
export function scaleName({ name, scale }: Pick<ResponseFit, 'name' | 'scale'>): string {
  switch (scale) {
    case 'response':
      return name;
    case 'ln response':
      return `ln ${name}`;
    case 'ln rate':
      return `ln rate of ${name}`;
    case 'log odds':
      return `log odds of ${name}`;
  }
}

function widened({ columns, x }: Prepared['model'], column: Float64Array): Prepared['model'] {
  const cols = x.cols + 1;
  const data = new Float64Array(x.rows * cols);
  for (let i = 0; i < x.rows; i++) {
    data.set(x.data.subarray(i * x.cols, (i + 1) * x.cols), i * cols);
    data[i * cols + x.cols] = column[i]!;
  }
  const tried = { name: TRIED, powers: { [TRIED]: 1 }, source: TRIED, isAside: true };
  return { columns: [...columns, tried], x: { rows: x.rows, cols, data } };
}
