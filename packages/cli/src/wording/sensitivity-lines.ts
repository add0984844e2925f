import type { ResponseFit, VarianceSensitivity } from '@strandwise/core';
import { type Line, line } from '../terminal/line.ts';
import { decimalsFor, figures } from '../terminal/number.ts';
import { told } from './told.ts';

/** Which variance estimate was used, why, and a small table of how much the answer depends on it. */
export function sensitivityLines({ sensitivity, strata }: ResponseFit, columns: number): Line[] {
  if (!sensitivity) return strata.flatMap((says) => told(`${says}.`, columns));
  const { judgedBy, why, says, prior, priorSays } = sensitivity;
  return [
    line('   the variance between plots', 'quiet'),
    ...strata.flatMap((words) => told(`${words}.`, columns, { indent: 5 })),
    ...told(`Judged by ${judgedWords[judgedBy]}: ${why}.`, columns, { indent: 5 }),
    ...told(says, columns, { indent: 5 }),
    ...table(sensitivity, columns),
    ...(priorSays ? told(priorSays, columns, { indent: 5 }) : []),
    ...(prior ? told(`Held before the data: ${prior}`, columns, { indent: 5, role: 'quiet' }) : []),
  ];
}

const judgedWords = {
  'restricted likelihood': 'restricted likelihood (REML, Kenward–Roger)',
  'ratio fixed at 1': 'a variance ratio fixed at 1',
  'pure error': 'pure error from repeated settings',
  Bayesian: 'the exact Bayesian fit',
  'Bayesian, weak prior': 'the exact Bayesian fit under its weak prior',
  'Bayesian, wider prior': 'the exact Bayesian fit under a wider prior',
} as const;

/** Most terms shown: those whose error changes most between the estimates. */
const MOST_TERMS = 3;

function table({ rows }: VarianceSensitivity, columns: number): Line[] {
  const told1 = rows.filter(({ terms }) => terms.length > 0);
  if (told1.length === 0) return [];
  const picked = mostDependent(told1).slice(0, columns < 90 ? 2 : MOST_TERMS);
  const names = told1[0]!.terms.map(({ name }) => name);
  const plots = told1[0]!.components.slice(0, -1).map(({ name }) => `SD ${name}`);
  const heads = [...plots, ...picked.map((j) => names[j]!)];
  const cells = rows.map((row) => ({
    name: row.estimator,
    cells:
      row.terms.length === 0
        ? null
        : [
            ...row.components.slice(0, -1).map((c) => figures(c.standardDeviation)),
            ...picked.map((j) => withError(row.terms[j]!)),
          ],
  }));
  const width = heads.map((head, c) =>
    Math.max([...head].length, ...cells.map((row) => [...(row.cells?.[c] ?? '')].length)),
  );
  const name = Math.max(...rows.map(({ estimator }) => estimator.length));
  const set = (texts: readonly string[]): string =>
    texts.map((text, c) => text.padStart(width[c]!)).join('  ');
  if (columns < 60) return [];
  return [
    line(`     ${''.padEnd(name)}  ${set(heads)}`, 'quiet'),
    ...cells.map((row) =>
      line(`     ${row.name.padEnd(name)}  ${row.cells ? set(row.cells) : 'cannot be had here'}`),
    ),
  ];
}

function withError({
  estimate,
  standardError,
}: {
  estimate: number;
  standardError: number | null;
}): string {
  if (standardError === null || !(standardError > 0)) return figures(estimate);
  const decimals = decimalsFor(standardError);
  return `${estimate.toFixed(decimals)} ± ${standardError.toFixed(decimals)}`;
}

/** Terms but the intercept, by the largest ratio of their errors over the estimates. */
function mostDependent(rows: VarianceSensitivity['rows']): number[] {
  const spread = (j: number): number => {
    const errors = rows.flatMap((row) => row.terms[j]?.standardError ?? []);
    return errors.length > 1 ? Math.max(...errors) / Math.min(...errors) : 0;
  };
  return [...rows[0]!.terms.keys()].slice(1).sort((a, b) => spread(b) - spread(a));
}
