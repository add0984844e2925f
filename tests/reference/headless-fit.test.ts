import { join } from 'node:path';
import { type FittedTerm, fitTable, type ResponseFit, Spec, termKey } from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { readDelimited } from '../../packages/cli/src/reading/delimited-text.ts';
import { runTable } from '../../packages/cli/src/reading/run-table.ts';
import { expectClose, expectedOf } from './dataset.ts';

// Tables that ship with R, as a spec and a delimited file through the functions that the command
// calls, against lm, glm, glm.nb and lmer with Kenward–Roger (datasets/base-r-tables/SOURCE.md).

interface WantedTerm {
  readonly powers: FittedTerm['powers'];
  readonly estimate: number;
  readonly standardError: number;
  readonly statistic?: number;
  readonly df?: number;
  readonly p?: number;
}

interface Case {
  readonly id: string;
  readonly title: string;
  readonly spec: unknown;
  readonly expected: Readonly<Record<string, unknown>> & {
    readonly terms?: readonly WantedTerm[];
    readonly naturalTerms?: readonly WantedTerm[];
    readonly likelihoodNaturalTerms?: readonly WantedTerm[];
  };
}

const cases = expectedOf('base-r-tables') as readonly Case[];

/** What iteration leaves: exact for least squares, as near as lmer and glm themselves stop. */
const tolerances: Readonly<Record<string, number>> = {
  'least squares': 1e-9,
  'weighted least squares': 1e-9,
  Poisson: 1e-8,
  'quasi-Poisson': 1e-7,
  'negative binomial': 1e-5,
  'penalised likelihood': 1e-7,
  'restricted maximum likelihood': 2e-5,
};

function fitted({ id, spec: raw }: Case): ResponseFit {
  const spec = Spec.parse(raw);
  const file = join(import.meta.dirname, `../../datasets/base-r-tables/data/${id}.csv`);
  const { table } = runTable(readDelimited(file), spec);
  return fitTable({ spec, table }).responses[0]!;
}

function expectTerms(seen: readonly FittedTerm[], wanted: readonly WantedTerm[], within: number) {
  const found = new Map(seen.map((term) => [termKey(term.powers), term]));
  for (const want of wanted) {
    const term = found.get(termKey(want.powers))!;
    expect(term, JSON.stringify(want.powers)).toBeDefined();
    const slack = within * want.standardError;
    const off = Math.abs(term.estimate - want.estimate);
    expect(off, `${term.name}: got ${term.estimate}, expected ${want.estimate}`).toBeLessThan(
      slack,
    );
    expectClose(term.standardError!, want.standardError, within, `error of ${term.name}`);
    if (want.df !== undefined) expectClose(term.df!, want.df, 1e-3, `df of ${term.name}`);
    // A tail multiplies the error of its statistic.
    if (want.p !== undefined && term.p !== null)
      expectClose(term.p, want.p, 1e3 * within, `p of ${term.name}`);
  }
}

describe.each(cases)('$id ($title)', (given) => {
  const fit = fitted(given);
  const { expected } = given;
  const within = tolerances[fit.method]!;

  it('has the terms', () => {
    if (expected.terms) expectTerms(fit.terms, expected.terms, within);
    if (expected.naturalTerms) expectTerms(fit.naturalTerms, expected.naturalTerms, within);
    if (expected.likelihoodNaturalTerms)
      expectTerms(fit.likelihood!.naturalTerms, expected.likelihoodNaturalTerms, within);
  });

  it('has the figures', () => {
    const figures: Readonly<Record<string, number | null | undefined>> = {
      residualSd: fit.residualSd,
      rSquared: fit.rSquared,
      adjustedRSquared: fit.adjustedRSquared,
      press: fit.press,
      predictiveRSquared: fit.predictiveRSquared,
      modelF: fit.anova?.model.f,
      deviance: fit.deviance ?? fit.likelihood?.deviance,
      nullDeviance: fit.likelihood?.nullDeviance,
      pearson: fit.likelihood?.pearson,
      logLikelihood: fit.likelihood?.logLikelihood,
      theta: fit.likelihood?.theta,
      thetaError: fit.likelihood?.thetaError,
      dfResidual: fit.dfResidual,
      power: fit.power?.lambda,
    };
    for (const [name, seen] of Object.entries(figures)) {
      const want = expected[name];
      if (typeof want !== 'number') continue;
      expectClose(seen!, want, name === 'power' ? 1e-5 : within, name);
    }
    const variances = Object.values((expected['variances'] ?? {}) as Record<string, number>);
    const seen = fit.varianceComponents.map(({ variance }) => variance).sort((a, b) => a - b);
    for (const [i, want] of variances.sort((a, b) => a - b).entries())
      expectClose(seen[i]!, want, 1e-4, 'variance');
    const partial = (expected['partial'] ?? {}) as Record<string, Record<'ss' | 'f' | 'p', number>>;
    for (const [label, want] of Object.entries(partial)) {
      const source = label.replace(':', ' × ').replace(/^I\((.+)\^2\)$/, '$1²');
      const row = fit.anova!.partial.find((found) => found.source === source)!;
      expectClose(row.ss, want.ss, 1e-9, `sum of squares of ${source}`);
      expectClose(row.f!, want.f, 1e-9, `F of ${source}`);
      expectClose(row.p!, want.p, 1e-7, `p of ${source}`);
    }
    if (expected['cannotSay'])
      expect(fit.cannotSay.map(({ kind }) => kind)).toContain(expected['cannotSay']);
  });
});
