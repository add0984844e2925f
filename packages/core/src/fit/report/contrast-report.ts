import { normalTwoSided, normalUpperQuantile } from '../../distribution/normal.ts';
import { tTwoSided, tUpperQuantile } from '../../distribution/student-t.ts';
import { DomainError, nearestName } from '../../error/domain-error.ts';
import { codedValue } from '../../factor/coding.ts';
import { type Factor, isNamed } from '../../factor/factor.ts';
import type { Contrast } from '../../spec/spec.ts';
import { modelTerms, type Powers, termKey, termName } from '../../term/term.ts';
import type { CannotSay, ContrastReport, FittedTerm } from './fit-result.ts';
import type { Prepared } from './prepared.ts';
import { REPORT_LEVEL } from './report-level.ts';

/** Estimates with their covariance, and the df of a combination of them; null is normal. */
export interface Combinable {
  readonly terms: readonly Pick<FittedTerm, 'estimate'>[];
  readonly covariance: readonly (readonly number[])[] | null;
  readonly df: (weights: Float64Array) => number | null;
}

/**
 * The user's own questions answered by a fit. A term that could not be estimated is named where a
 * question needs it.
 *
 * @throws {DomainError} `unknown_factor` or `unknown_level` when a question names what is not there
 */
export function contrastReports(
  prepared: Prepared,
  fit: Combinable,
): { readonly contrasts: ContrastReport[]; readonly cannotSay: CannotSay[] } {
  const contrasts: ContrastReport[] = [];
  const cannotSay: CannotSay[] = [];
  for (const contrast of prepared.spec.contrasts ?? []) {
    const { weights, missing } = contrastWeights(prepared, contrast);
    contrasts.push({ name: contrast.name, ...combined(fit, weights) });
    if (missing.length === 0) continue;
    cannotSay.push({
      kind: 'aliased',
      says: `"${contrast.name}" needs ${missing.join(', ')}, which the fit does not have: its answer holds only if these are zero.`,
      terms: missing,
    });
  }
  return { contrasts, cannotSay };
}

function combined({ terms, covariance, df }: Combinable, weights: Float64Array) {
  const estimate = terms.reduce((sum, term, j) => sum + weights[j]! * term.estimate, 0);
  let variance = 0;
  for (let i = 0; i < weights.length; i++)
    for (let j = 0; j < weights.length; j++)
      variance += weights[i]! * weights[j]! * (covariance?.[i]?.[j] ?? Number.NaN);
  if (!(variance > 0)) {
    const nothing = { df: null, statistic: null, p: null, low: null, high: null };
    return { estimate, standardError: null, ...nothing };
  }
  const standardError = Math.sqrt(variance);
  const own = df(weights);
  const statistic = estimate / standardError;
  const tail = (1 - REPORT_LEVEL) / 2;
  const half =
    standardError * (own === null ? normalUpperQuantile(tail) : tUpperQuantile(tail, own));
  return {
    estimate,
    standardError,
    df: own,
    statistic,
    p: own === null ? normalTwoSided(statistic) : tTwoSided(statistic, own),
    low: estimate - half,
    high: estimate + half,
  };
}

/** A question as weights on the fitted columns, and the terms it needs that are not among them. */
function contrastWeights(prepared: Prepared, contrast: Contrast) {
  const { model, spec, factors } = prepared;
  const asked =
    'weights' in contrast
      ? contrast.weights.map(({ term, weight }) => ({ powers: term, weight }))
      : settingDifference(modelTerms(spec.model, factors), prepared, contrast);
  const weights = new Float64Array(model.columns.length);
  const missing: string[] = [];
  for (const { powers, weight } of asked) {
    if (weight === 0) continue;
    const j = model.columns.findIndex((column) => termKey(column.powers) === termKey(powers));
    if (j < 0) missing.push(termName(powers));
    else weights[j]! += weight;
  }
  return { weights, missing };
}

function settingDifference(
  terms: readonly Powers[],
  prepared: Prepared,
  { name, at, less }: Extract<Contrast, { at: unknown }>,
) {
  const to = place(prepared, name, at);
  const from = place(prepared, name, less);
  return terms.map((powers) => ({
    powers,
    weight: valueAt(powers, to, prepared.factors) - valueAt(powers, from, prepared.factors),
  }));
}

type Place = ReadonlyMap<string, number | string>;

/** Coded settings of the factors that a question names. */
function place(
  { factors, units }: Prepared,
  contrast: string,
  settings: Readonly<Record<string, number | string>>,
): Place {
  return new Map(
    Object.entries(settings).map(([name, value]): [string, number | string] => {
      const factor = factors.find((candidate) => candidate.name === name);
      if (!factor) throw unknownFactor(contrast, name, factors);
      const isFit = isNamed(factor)
        ? factor.levels.includes(String(value))
        : typeof value === 'number';
      if (!isFit) {
        throw new DomainError(
          'unknown_level',
          `contrasts: "${contrast}" must set "${name}" to ${isNamed(factor) ? `one of ${factor.levels.join(', ')}` : 'a number'}; got ${JSON.stringify(value)}. Mend the contrast.`,
          { contrast, factor: name },
        );
      }
      if (isNamed(factor)) return [name, String(value)];
      return [name, units === 'coded' ? Number(value) : codedValue(Number(value), factor)];
    }),
  );
}

function unknownFactor(contrast: string, name: string, factors: readonly Factor[]): DomainError {
  const known = factors.map((factor) => factor.name);
  const near = nearestName(name, known);
  return new DomainError(
    'unknown_factor',
    `contrasts: "${contrast}" must name known factors; got "${name}". ${near ? `Did you mean "${near}"?` : `Known: ${known.join(', ')}.`}`,
    { contrast, factor: name },
  );
}

/** A term at a place; a factor not named stands at its centre, a named one at the mean of its levels. */
function valueAt(powers: Powers, settings: Place, factors: readonly Factor[]): number {
  return Object.entries(powers).reduce((value, [name, power]) => {
    const setting = settings.get(name);
    if (typeof power === 'number') return value * Number(setting ?? 0) ** power;
    if (setting === undefined) return 0;
    const factor = factors.find((candidate) => candidate.name === name);
    const last = factor && isNamed(factor) ? factor.levels.at(-1) : undefined;
    return value * (setting === power ? 1 : setting === last ? -1 : 0);
  }, 1);
}
