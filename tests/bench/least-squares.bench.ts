import {
  anova,
  determination,
  Factor,
  lackOfFit,
  leastSquares,
  modelMatrix,
  modelTerms,
  replicateGroups,
  runDiagnostics,
  seededUniform,
  termTests,
} from '@strandwise/core';
import { bench, describe, expect } from 'vitest';

// The worry: an analysis after every cell and every click must not be felt. 60 runs, quadratic in
// six factors (28 columns): fit, tests, analysis of variance, PRESS, diagnostics, lack of fit.
const factors = [...'abcdef'].map((name) => Factor.parse({ name, low: -1, high: 1 }));
const uniform = seededUniform(1);
const points = Array.from({ length: 60 }, (_, i) =>
  Object.fromEntries(
    [...'abcdef'].map((name) => [name, i < 6 ? 0 : Math.round(2 * uniform()) - 1]),
  ),
);
const terms = modelTerms('quadratic', factors);
const x = modelMatrix(terms, points, factors);
const y = Float64Array.from(points, () => 20 + uniform());
const groups = terms.slice(1).map((_, j) => ({ source: String(j), columns: [j + 1] }));

function analysis(): number {
  const fit = leastSquares({ x, y });
  if (fit.kind !== 'fitted') throw new Error(fit.kind);
  const tests = termTests(fit);
  const table = anova(fit, groups);
  const shares = determination(fit);
  const rows = runDiagnostics(fit);
  const bend = lackOfFit(fit, y, replicateGroups(points));
  return tests.length + table.model.ss + shares.press! + rows.length + bend.kind.length;
}

describe('60 runs, 28 columns', () => {
  expect(Number.isFinite(analysis())).toBe(true);
  bench('full analysis', () => {
    analysis();
  });
  bench('fit alone', () => {
    leastSquares({ x, y });
  });
});
