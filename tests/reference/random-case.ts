import {
  codedPoint,
  combinationEstimate,
  contrastTest,
  fitSplitPlot,
  fitTable,
  modelChoice,
  modelMatrix,
  type Powers,
  type ResponseFit,
  type RunTable,
  responseSurface,
  Spec,
  settingsOf,
  termKey,
} from '@strandwise/core';

/** One layout with its readings, and what other programs make of it; see datasets/random-cases. */
export interface RandomCase {
  readonly kind: string;
  readonly spec: unknown;
  readonly columns: readonly string[];
  readonly rows: readonly (readonly (string | number)[])[];
  // biome-ignore lint/suspicious/noExplicitAny: what is expected differs from kind to kind
  readonly expected: any;
}

/** A number that is not as expected, beyond its tolerance. */
export interface Finding {
  readonly what: string;
  readonly got: number;
  readonly wanted: number;
  readonly relative: number;
}

/** Collects comparisons; keeps what differs and the largest difference of each sort. */
class Comparison {
  readonly findings: Finding[] = [];
  readonly worst = new Map<string, number>();

  /** @param scale - what the difference is taken against; the wanted value itself when left out */
  compare(
    what: string,
    pair: readonly [got: number | null | undefined, wanted: number],
    tolerance: number,
    scale = Math.abs(pair[1]),
  ): void {
    const [got, wanted] = [pair[0] ?? Number.NaN, pair[1]];
    const off = got === wanted ? 0 : Math.abs(got - wanted) / Math.max(scale, 1e-300);
    const sort = what.split(' of ')[0]!;
    this.worst.set(sort, Math.max(this.worst.get(sort) ?? 0, Number.isNaN(off) ? Infinity : off));
    if (!(off <= tolerance)) this.findings.push({ what, got, wanted, relative: off });
  }
}

/** The whole model among those weighed: its criterion from a likelihood of the other program. */
function weighed(
  told: Comparison,
  { given, spec, terms }: Fitted,
  logLikelihood: number,
  k: number,
) {
  const found = modelChoice({ spec, table: tableOf(given), response: 'y', within: 1e9 });
  if (found.kind !== 'chosen') throw new Error(found.says);
  const own = found.nearlyAsGood.find((model) => model.terms.length === terms.length);
  const n = given.rows.length;
  const wanted = -2 * logLikelihood + 2 * k + (2 * k * (k + 1)) / (n - k - 1);
  told.compare('AICc among models', [own?.criterion, wanted], 1e-6, n);
}

const tableOf = (given: RandomCase): RunTable =>
  Object.fromEntries(given.columns.map((name, c) => [name, given.rows.map((row) => row[c]!)]));

/** Fits a case by the headless fit and compares all that the case has an answer to. */
export function compared(given: RandomCase): Comparison {
  const spec = Spec.parse(given.spec);
  const table = tableOf(given);
  const fit = fitTable({ spec, table }).responses[0]!;
  const told = new Comparison();
  const terms = (given.expected.terms as (Powers | [])[]).map((powers, j) => {
    const key = termKey(Array.isArray(powers) ? {} : powers);
    const term = fit.terms.find((candidate) => termKey(candidate.powers) === key);
    if (!term) told.findings.push({ what: `term ${key}`, got: NaN, wanted: j, relative: NaN });
    return term ?? fit.terms[0]!;
  });
  ways[given.kind]!(told, { given, spec, fit, terms });
  return told;
}

interface Fitted {
  readonly given: RandomCase;
  readonly spec: Spec;
  readonly fit: ResponseFit;
  /** In the order of the expected ones. */
  readonly terms: readonly ResponseFit['terms'][number][];
}

const ways: Record<string, (told: Comparison, fitted: Fitted) => void> = {
  'least-squares': leastSquaresOf,
  'split-plot': nestedOf,
  'two-strata': nestedOf,
  count: countOf,
  'mixed-count': mixedCountOf,
  'pass-fail': passFailOf,
};

function leastSquaresOf(told: Comparison, { given, spec, fit, terms }: Fitted): void {
  const { expected: e, columns, rows } = given;
  // A huge mean leaves its readings few digits beside their scatter: all is exact to that.
  const y = rows.map((row) => Number(row[columns.indexOf('y')]));
  const digits = Math.max(...y.map(Math.abs)) / e.sigma;
  const exact = 1e-10 * Math.max(1, digits * 1e-4);
  for (const [j, term] of terms.entries()) {
    told.compare(`estimate of ${term.name}`, [term.estimate, e.estimate[j]], exact, e.se[j]);
    told.compare(`error of ${term.name}`, [term.standardError, e.se[j]], exact);
    told.compare(`p of ${term.name}`, [term.p, e.p[j]], 1e-7);
  }
  told.compare('residual SD', [fit.residualSd, e.sigma], exact);
  told.compare('R²', [fit.rSquared, e.r2], exact);
  told.compare('adjusted R²', [fit.adjustedRSquared, e.adjusted], exact, 1);
  told.compare('PRESS', [fit.press, e.press], exact * 10);
  if (!columns.includes('w')) {
    const k = terms.length + 1;
    const small = (2 * k * (k + 1)) / (y.length - k - 1);
    told.compare('AICc', [fit.aicc, e.aic + small], exact, y.length);
    told.compare('BIC', [fit.bic, e.bic], exact, y.length);
  }
  for (const table of ['sequential', 'partial'] as const) sources(told, fit, e[table], table);
  for (const [i, run] of fit.runs.entries()) {
    told.compare(`leverage of run ${i}`, [run.leverage, e.hat[i]], exact, 1);
    told.compare(`studentised of run ${i}`, [run.studentised, e.studentised[i]], exact * 10, 1);
    told.compare(`deleted of run ${i}`, [run.deletedStudentised, e.deleted[i]], exact * 100, 1);
    told.compare(`Cook of run ${i}`, [run.cooksDistance, e.cook[i]], exact * 10, 1);
  }
  intervals(told, spec, fit, e);
  const [estimate, error, p] = e.difference;
  const own = fit.contrasts[0]!;
  told.compare('contrast', [own.estimate, estimate], exact, error);
  told.compare('contrast error', [own.standardError, error], exact);
  told.compare('contrast p', [own.p, p], 1e-7);
}

/** Sums of squares by source; R's names are read without their decoration. */
function sources(
  told: Comparison,
  { anova }: ResponseFit,
  wanted: { source: string[]; ss: number[]; p: (number | null)[] },
  table: 'sequential' | 'partial',
): void {
  const scale = wanted.ss.reduce((sum, ss) => sum + ss, 0);
  for (const [i, label] of wanted.source.entries()) {
    if (label === '(Intercept)') continue;
    if (label === 'Residuals') {
      told.compare(`${table} residual`, [anova!.residual.ss, wanted.ss[i]!], 1e-8);
      continue;
    }
    const name = label.replace(/^I\((.+)\^2\)$/, '$1²').replaceAll(':', ' × ');
    const own = anova![table].find(({ source }) => source === name);
    told.compare(`${table} squares of ${name}`, [own?.ss, wanted.ss[i]!], 1e-9, scale);
    told.compare(`${table} p of ${name}`, [own?.p, wanted.p[i]!], 1e-6);
  }
}

function intervals(told: Comparison, spec: Spec, fit: ResponseFit, e: Fitted['given']['expected']) {
  const surface = responseSurface(fit, spec.factors)!;
  for (const [i, at] of (e.at as Record<string, number | string>[]).entries()) {
    const row = surface.row(settingsOf(codedPoint(at, spec.factors), spec.factors));
    const mean = combinationEstimate(surface, row);
    const one = combinationEstimate(surface, row, { noiseShare: 1 });
    const width = e.new_high[i] - e.new_low[i];
    told.compare(`mean of place ${i}`, [mean.value, e.mean[i]], 1e-8, width);
    told.compare(`mean low of place ${i}`, [mean.low, e.mean_low[i]], 1e-8, width);
    told.compare(`mean high of place ${i}`, [mean.high, e.mean_high[i]], 1e-8, width);
    told.compare(`new low of place ${i}`, [one.low, e.new_low[i]], 1e-8, width);
    told.compare(`new high of place ${i}`, [one.high, e.new_high[i]], 1e-8, width);
  }
}

/** Optimisers stop at some distance: variances of the other program are good to about 1e-5. */
function nestedOf(told: Comparison, { given, spec, fit, terms }: Fitted): void {
  const { expected: e } = given;
  for (const [j, term] of terms.entries()) {
    told.compare(`estimate of ${term.name}`, [term.estimate, e.estimate[j]], 1e-5, e.kr_se[j]);
    told.compare(`error of ${term.name}`, [term.standardError, e.kr_se[j]], 1e-5);
    told.compare(`df of ${term.name}`, [term.df, e.kr_df[j]], 1e-4);
  }
  wholeOf(told, { given, spec, terms });
  const components = [
    e.variances.W,
    ...('S' in e.variances ? [e.variances.S] : []),
    e.variances.Residual,
  ];
  for (const [k, variance] of components.entries())
    told.compare(
      `variance of ${fit.varianceComponents[k]?.name}`,
      [fit.varianceComponents[k]?.variance, variance],
      1e-4,
      Math.max(variance, 1e-3 * e.variances.Residual),
    );
}

/** What the headless fit does not print: Satterthwaite's df and tests of several terms together. */
function wholeOf(told: Comparison, { given, spec, terms }: Omit<Fitted, 'fit'>): void {
  const { expected: e, columns, rows } = given;
  const column = (name: string) => rows.map((row) => row[columns.indexOf(name)]!);
  const labels = (...names: string[]) => {
    const keys = rows.map((_, i) => names.map((name) => column(name)[i]).join(' '));
    return Int32Array.from(keys, (key) => keys.indexOf(key));
  };
  const points = rows.map((row) =>
    codedPoint(Object.fromEntries(columns.map((name, c) => [name, row[c]!])), spec.factors),
  );
  const fit = fitSplitPlot({
    x: modelMatrix(
      terms.map(({ powers }) => powers),
      points,
      spec.factors,
    ),
    y: Float64Array.from(column('y'), Number),
    strata: columns.includes('part') ? [labels('plot'), labels('plot', 'part')] : [labels('plot')],
  });
  if (fit.kind !== 'fitted') throw new Error(fit.words);
  if (!e.singular)
    for (const [j, wanted] of (e.satterthwaite as number[]).entries())
      told.compare(
        `Satterthwaite df of term ${j}`,
        [fit.coefficients[j]!.satterthwaiteDf, wanted],
        1e-4,
      );
  told.compare('likelihood', [-2 * fit.restrictedLogLikelihood, e.reml], 1e-8);
  if (!e.joint) return;
  // All terms but those of the first factor alone.
  const tested = terms.flatMap(({ powers }, j) =>
    j > 0 && termKey(powers) !== '"a":1' ? [j] : [],
  );
  const data = new Float64Array(tested.length * terms.length);
  for (const [i, j] of tested.entries()) data[i * terms.length + j] = 1;
  const joint = contrastTest(fit, { rows: tested.length, cols: terms.length, data });
  told.compare('joint df', [joint.ddf, e.joint.ddf], 1e-4);
  told.compare('joint F', [joint.f, e.joint.f], 1e-5);
  told.compare('joint p', [joint.p, e.joint.p], 1e-3);
}

function countOf(told: Comparison, fitted: Fitted): void {
  const { given, fit, terms } = fitted;
  const { expected: e } = given;
  const exact = e.family === 'negative-binomial' ? 1e-6 : 1e-7;
  for (const [j, term] of terms.entries()) {
    told.compare(`estimate of ${term.name}`, [term.estimate, e.estimate[j]], exact, e.se[j]);
    told.compare(`error of ${term.name}`, [term.standardError, e.se[j]], exact);
    told.compare(`p of ${term.name}`, [term.p, e.p[j]], 1e-5);
  }
  told.compare('deviance', [fit.deviance, e.deviance], exact);
  const spare = e.family === 'poisson' ? 0 : 1;
  if (e.family !== 'quasi-poisson') weighed(told, fitted, e.log_likelihood, terms.length + spare);
}

function mixedCountOf(told: Comparison, fitted: Fitted): void {
  const { given, fit, terms } = fitted;
  const { expected: e } = given;
  weighed(told, fitted, e.log_likelihood, terms.length + 1);
  for (const [j, term] of terms.entries()) {
    told.compare(`estimate of ${term.name}`, [term.estimate, e.estimate[j]], 1e-4, e.se[j]);
    told.compare(`error of ${term.name}`, [term.standardError, e.se[j]], 1e-3);
  }
  told.compare(
    'plot SD',
    [fit.varianceComponents[0]?.standardDeviation, e.sd],
    1e-3,
    Math.max(e.sd, 0.1),
  );
}

function passFailOf(told: Comparison, { given, terms }: Fitted): void {
  const { expected: e } = given;
  for (const [j, term] of terms.entries()) {
    told.compare(`estimate of ${term.name}`, [term.estimate, e.estimate[j]], 1e-5, e.se[j]);
    told.compare(`error of ${term.name}`, [term.standardError, e.se[j]], 1e-5);
    told.compare(`p of ${term.name}`, [term.p, e.p[j]], 1e-5);
  }
}
