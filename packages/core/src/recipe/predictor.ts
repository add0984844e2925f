import type { LinearConstraint } from '../design/design.ts';
import { naturalPoint, type Point } from '../factor/coding.ts';
import { isNamed } from '../factor/factor-kind.ts';
import type { FitResult, ResponseFit } from '../fit/report/fit-result.ts';
import { isBlank } from '../fit/report/run-table.ts';
import { planLimits } from '../plan/plan.ts';
import type { Response } from '../spec/spec.ts';
import { studyDefaults, studySpec, studyTable } from '../study/run-table.ts';
import type { StudyState } from '../study/state.ts';
import type { ResponsePriors } from '../study/study-fit.ts';
import type { JudgedRequirement, Requirement } from '../surface/conformance.ts';
import { type ConformanceModel, conformanceModel } from '../surface/conformance-model.ts';
import { type FitSource, type FittedRows, fittedRows, plotBelief } from '../surface/fitted-rows.ts';
import {
  type ResidualCorrelation,
  residualCorrelation,
  responseResiduals,
} from '../surface/residual-correlation.ts';
import { type ResponseSurface, responseSurface } from '../surface/response-surface.ts';
import type { SetUpWander } from '../surface/set-up-wander.ts';
import { setPointsOf } from '../trade/limits.ts';
import { nothingCounted } from './nothing-counted.ts';
import { productRequirements } from './requirement.ts';
import { type SetPointTolerance, setPointWander } from './set-point-wander.ts';
import { type StrandForms, strandForms } from './strand-forms.ts';

/** Everything that predicts a study: surfaces, requirements, where a strand forms, what is allowed. */
export interface Predictor {
  readonly state: StudyState;
  readonly fits: FitResult;
  readonly source: FitSource;
  readonly surfaces: readonly ResponseSurface[];
  /** The runs behind each surface that has any, by response name. */
  readonly rows: ReadonlyMap<string, FittedRows>;
  readonly judged: readonly JudgedRequirement[];
  /** Requirements that nothing measured can judge. */
  readonly unjudged: readonly Requirement[];
  readonly strand: StrandForms;
  readonly constraints: readonly LinearConstraint[];
  readonly correlation: ResidualCorrelation;
  readonly wander: SetUpWander;
  /** The chance that a spool conforms; null when some requirement cannot be judged. */
  readonly conformance: ConformanceModel | null;
  /** The same with few points: for searches, whose end is judged by `conformance`. */
  readonly draft: ConformanceModel | null;
}

export interface PredictorOptions {
  /** How far set points may stand from what was asked; one controller step when left out. */
  readonly tolerance?: SetPointTolerance;
  /** Priors on the variances between plots, carried from an earlier study. */
  readonly priors?: ResponsePriors;
}

/**
 * The predictor of a study's fits. Responses whose runs come in plots are believed by the exact
 * split-plot posterior, others by their fit.
 */
export function predictorOf(
  state: StudyState,
  fits: FitResult,
  { tolerance, priors = {} }: PredictorOptions = {},
): Predictor {
  const { factors, product, line, grade } = state.opened;
  const source: FitSource = { spec: studySpec(state), table: studyTable(state) };
  const rows = new Map<string, FittedRows>();
  const surfaces = fits.responses.flatMap((fit) => surfaceOf(fit, source, { rows, priors }) ?? []);
  const requirements = productRequirements(product);
  const judged = requirements.flatMap((requirement) => {
    const surface = surfaces.find(({ name }) => name === requirement.response);
    return surface ? [{ requirement, surface }] : [];
  });
  const constraints = planLimits(factors, { line, grade, product, defaults: studyDefaults(state) });
  const strand = strandForms(state);
  const correlation = residualCorrelation(
    fits.responses.flatMap((fit) => {
      const own = rows.get(fit.name);
      return own &&
        judged.some(({ surface }) => surface.name === fit.name && surface.noiseVariance > 0)
        ? [responseResiduals(fit, own)]
        : [];
    }),
  );
  const middle = setPointsOf(centreOf(state), factors, line, studyDefaults(state));
  const wander = setPointWander(middle, { factors, line }, tolerance);
  const base = {
    state,
    fits,
    source,
    surfaces,
    rows,
    judged,
    unjudged: requirements.filter(
      ({ response }) => !judged.some(({ surface }) => surface.name === response),
    ),
    strand,
    constraints,
    correlation,
    wander,
  };
  return { ...base, conformance: modelOf(base, 'full'), draft: modelOf(base, 'draft') };
}

/** The joint distribution of a predictor's judged responses; null when one cannot be judged. */
export function modelOf(
  predictor: Omit<Predictor, 'conformance' | 'draft'>,
  effort: 'full' | 'draft',
): ConformanceModel | null {
  const { judged, strand, correlation, wander, state } = predictor;
  if (judged.length === 0 || judged.some(({ surface }) => !surface.belief)) return null;
  return conformanceModel({
    judged,
    correlation,
    wander,
    effort,
    strandForms: strand.probability,
    strandError: strand.error,
    seed: state.opened.seed,
  });
}

function surfaceOf(
  fit: ResponseFit,
  source: FitSource,
  { rows, priors }: { readonly rows: Map<string, FittedRows>; readonly priors: ResponsePriors },
): ResponseSurface | null {
  const { factors } = source.spec;
  if (fit.terms.length === 0) {
    const response = source.spec.responses.find(({ name }) => name === fit.name);
    const metres = response ? uncounted(response, source) : null;
    return metres === null ? null : nothingCounted(fit.name, metres, factors);
  }
  const own = fittedRows(fit, source);
  rows.set(fit.name, own);
  return responseSurface(fit, factors, plotBelief(fit, own, factors, priors[fit.name]));
}

/** Exposure over which not one event was counted; null when some was, or nothing was looked at. */
function uncounted({ name, kind, exposure }: Response, { table }: FitSource): number | null {
  if (kind !== 'count') return null;
  let watched = 0;
  for (const [row, cell] of (table[name] ?? []).entries()) {
    if (isBlank(cell)) continue;
    if (Number(cell) > 0) return null;
    watched += exposure === undefined ? 1 : Number(table[exposure]?.[row] ?? 0);
  }
  return watched > 0 ? watched : null;
}

/** The middle of every factor's range, named ones at their first level; natural units. */
function centreOf({ opened: { factors } }: StudyState): Point {
  const coded = Object.fromEntries(
    factors.map((factor) => [factor.name, isNamed(factor) ? factor.levels[0]! : 0]),
  );
  return naturalPoint(coded, factors);
}
