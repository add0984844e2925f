import { modelTerms, type ResponseFit, type StudyState } from '@strandwise/core';
import {
  type Fact,
  fixed,
  type ModelReport,
  probabilityValue,
  significantFigures,
  type Table,
  type TermRow,
  type VarianceRow,
  withUnit,
} from '@strandwise/report';
import { modelChecks } from './model-check.ts';
import { inCells, type PagedResponse, type PagedStudy } from './paged-study.ts';
import { capital, counted } from './sentence.ts';

/** The models: their terms, their scatter, and whether they stand. */
export function modelParts(study: PagedStudy): ModelReport[] {
  return study.responses
    .filter(({ fit }) => fit.terms.length > 0)
    .map((response) => modelReport(study, response));
}

function modelReport({ state, isReduced }: PagedStudy, response: PagedResponse): ModelReport {
  const { fit, name } = response;
  return {
    response: name,
    verdict: verdictWords(fit, state),
    sentence: modelSentence(fit, isReduced && isSmaller(fit, state)),
    statistic: fit.terms.every(({ df }) => df === null) ? 'z' : 't',
    terms: fit.terms.map(termRowOf),
    variance: varianceRows(fit),
    facts: modelFacts(fit, state),
    tables: fit.sourceTests.some(({ df }) => df > 1) ? [sourceTable(fit)] : [],
    checks: modelChecks(response, state),
  };
}

/** Whether the model stands, in a sentence or two; every concern in full. */
function verdictWords(fit: ResponseFit, state: StudyState): string {
  const { checks, predictiveRSquared } = fit;
  const concerns = checks.filter(({ standing }) => standing === 'concern');
  const untold = checks.filter(({ standing }) => standing === 'unknown');
  const foretells =
    predictiveRSquared === null
      ? ''
      : predictiveRSquared <= 0
        ? 'It foretells a run that it has not seen no better than the mean of all would. '
        : `It foretells runs that it has not seen well enough to explain ${withUnit(fixed(100 * predictiveRSquared, 0), '%')} of their variance. `;
  const stands =
    checks.length === 0
      ? 'There is nothing to check it by.'
      : concerns.length > 0
        ? `${concerns.length} of ${counted(checks.length, 'check')} ${concerns.length === 1 ? 'raises' : 'raise'} a concern: ${concerns.map(({ says }) => inCells(says, state)).join(' ')}`
        : `None of ${counted(checks.length, 'check')} raises a concern${untold.length > 0 ? `, ${untold.length} cannot be told` : ''}.`;
  return `${foretells}${stands}`;
}

/** True when terms of the plan's model were left out. */
const isSmaller = ({ terms }: ResponseFit, { plan, opened }: StudyState): boolean =>
  terms.length < modelTerms(plan?.model ?? 'quadratic', opened.factors).length;

const scaleSays: Readonly<Record<ResponseFit['scale'], (name: string) => string>> = {
  response: (name) => name,
  'ln response': (name) => `the natural logarithm of ${name}`,
  'ln rate': (name) => `the natural logarithm of the rate of ${name}`,
  'log odds': (name) => `the log odds of ${name}`,
};

function modelSentence(fit: ResponseFit, isReduced: boolean): string {
  const { method, name, scale, cells, strata } = fit;
  return [
    `${capital(method)} on ${scaleSays[scale](name)}, ${cells.used} of ${cells.total} cells, in coded units: −1 is the low end of a factor and +1 its high end.`,
    ...strata.map((words) => `${capital(words)}.`),
    ...(isReduced
      ? [
          'Terms that the runs do not support were left out; the same runs test those that stayed, so their p-values are optimistic.',
        ]
      : []),
  ].join(' ');
}

const termRowOf = ({
  name,
  estimate,
  standardError,
  df,
  statistic,
  p,
}: ResponseFit['terms'][number]): TermRow => ({
  name,
  estimate,
  standardError: standardError ?? Number.NaN,
  df,
  statistic,
  p,
});

/** Where a part of the scatter comes from: "between zone settings", "within a zone setting". */
const sourceName = (name: string): string =>
  name.startsWith('within ') ? name.replace('within ', 'within a ') : `between ${name}s`;

function varianceRows({ varianceComponents, residualSd, dfResidual }: ResponseFit): VarianceRow[] {
  if (varianceComponents.length > 0)
    return varianceComponents.map(({ name, standardDeviation, low, high, isAtBoundary }) => ({
      name: `${sourceName(name)}${isAtBoundary ? ' (none seen)' : ''}`,
      sd: standardDeviation,
      ...(low === null || high === null ? {} : { low: Math.sqrt(low), high: Math.sqrt(high) }),
      ...(varianceComponents.length > 1 || dfResidual === null ? {} : { df: dfResidual }),
    }));
  if (residualSd === null) return [];
  return [
    { name: 'between cells', sd: residualSd, ...(dfResidual === null ? {} : { df: dfResidual }) },
  ];
}

function modelFacts(fit: ResponseFit, state: StudyState): Fact[] {
  const shares = [
    fit.rSquared === null ? null : `R² ${fixed(fit.rSquared, 3)}`,
    fit.adjustedRSquared === null ? null : `adjusted ${fixed(fit.adjustedRSquared, 3)}`,
    fit.predictiveRSquared === null ? null : `predictive ${fixed(fit.predictiveRSquared, 3)}`,
  ].filter((text) => text !== null);
  return [
    ...(shares.length > 0 ? [{ name: 'share explained', value: shares.join(', ') }] : []),
    ...(fit.lackOfFit ? [{ name: 'lack of fit', value: fit.lackOfFit.says }] : []),
    ...(fit.dispersion === null || fit.kind !== 'count'
      ? []
      : [
          {
            name: 'scatter of counts',
            value: `${significantFigures(fit.dispersion, 3)} × that of Poisson counts`,
          },
        ]),
    ...(fit.stationaryPoint
      ? [{ name: 'stationary point', value: capital(fit.stationaryPoint.says) }]
      : []),
    ...(fit.power
      ? [
          {
            name: 'power that fits best',
            value: `${fixed(fit.power.lambda, 2)}${fit.power.low === null || fit.power.high === null ? '' : ` (${fixed(fit.power.low, 2)} … ${fixed(fit.power.high, 2)})`}; 1 leaves values as they are, 0 takes logarithms`,
          },
        ]
      : []),
    ...(fit.remarks.length > 0
      ? [{ name: 'remarks', value: fit.remarks.map((says) => inCells(says, state)).join(' ') }]
      : []),
  ];
}

/** Sources tested as a whole, such as the levels of a named factor. */
function sourceTable({ sourceTests, name }: ResponseFit): Table {
  return {
    caption: `Sources of ${name} tested as a whole`,
    columns: [
      { head: 'source', holds: 'words' },
      { head: 'df', holds: 'numbers' },
      { head: 'error df', holds: 'numbers' },
      { head: 'statistic', holds: 'numbers' },
      { head: 'p', holds: 'numbers' },
    ],
    rows: sourceTests.map(({ source, test, df, dfError, statistic, p }) => [
      `${source} (${test === 'f' ? 'F' : 'chi-squared'})`,
      fixed(df, 0),
      dfError === null ? '—' : fixed(dfError, Number.isInteger(dfError) ? 0 : 1),
      { shown: fixed(statistic, 2), exported: statistic },
      { shown: probabilityValue(p), exported: p },
    ]),
  };
}
