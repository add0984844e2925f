import { alternatives } from '../fit/report/alternatives.ts';
import type { CarriedPrior } from '../fit/report/carried-prior.ts';
import type { Alternatives, FitResult, ResponseFit } from '../fit/report/fit-result.ts';
import { fitTable } from '../fit/report/fit-table.ts';
import { modelChoice } from '../fit/report/model-choice.ts';
import type { RunKnowledge } from '../fit/report/prepared-response.ts';
import type { RunTable } from '../fit/report/run-table.ts';
import type { Units } from '../fit/report/usable-run.ts';
import { gaugeFloor } from '../measurement/gauge-floor.ts';
import type { Response, Spec } from '../spec/spec.ts';
import {
  hasIntercept,
  type Model,
  modelTerms,
  type Powers,
  parentTerms,
  termKey,
  termName,
} from '../term/term.ts';
import { spreadName } from './line-response.ts';
import { fittedCells, studySpec, studyTable } from './run-table.ts';
import type { StudyState } from './state.ts';

/** Models by response name. */
export type ResponseModels = Readonly<Record<string, Model>>;

/** Priors by response name, carried from an earlier study. */
export type ResponsePriors = Readonly<Record<string, CarriedPrior>>;

/**
 * Fits of a study's cells: each response under the model chosen for it, else the plan's, with the
 * strata that were walked.
 *
 * @param models - beside and before those recorded in the study
 * @param priors - of the variances, from an earlier study on the same line
 * @param only - names of the responses to fit; all when left out
 */
export function studyFits(
  state: StudyState,
  models: ResponseModels = {},
  priors: ResponsePriors = {},
  only?: readonly string[],
): FitResult {
  const spec = studySpec(state);
  const wanted = spec.responses.filter(({ name }) => only?.includes(name) ?? true);
  const table = studyTable(state);
  const known = { ...studyKnowledge(state), priors };
  return {
    responses: wanted.map((response) => {
      const model = models[response.name] ?? state.models[response.name] ?? spec.model;
      return fittedAlone(spec, response, model, table, known);
    }),
  };
}

/** How cells are called, and the smallest spread the line's gauge could show. */
function studyKnowledge(state: StudyState): RunKnowledge {
  return {
    runNames: fittedCells(state).map(({ cell }) => `cell ${cell}`),
    floors: { [spreadName]: gaugeFloor(state.opened.line.gauge).sdMm },
  };
}

/** A term over what is no factor is a covariate: it stands beside the model. */
function fittedAlone(
  spec: Spec,
  response: Response,
  model: Model,
  table: RunTable,
  known?: RunKnowledge,
): ResponseFit {
  const own = withoutCovariates(spec, model);
  const { covariates: _, ...rest } = spec;
  const one = {
    ...rest,
    responses: [response],
    model: own.model,
    ...(own.covariates.length > 0 ? { covariates: own.covariates } : {}),
  };
  return fitTable({ spec: one, table, ...(known ? { known } : {}) }).responses[0]!;
}

function withoutCovariates({ factors }: Spec, model: Model) {
  if (typeof model === 'string') return { model, covariates: [] };
  const isAside = (powers: Powers): boolean =>
    Object.keys(powers).some((name) => factors.every((factor) => factor.name !== name));
  const terms = model.terms.filter((powers) => !isAside(powers));
  return {
    // What a study keeps of a model may leave out the intercept, which all of them have.
    model: { terms: modelTerms({ terms }, factors) },
    covariates: model.terms.filter(isAside).flatMap((powers) => Object.keys(powers)),
  };
}

/** Terms of a count are kept while their p is below this; hierarchy is kept always. */
const KEEP_BELOW = 0.1;

/** Models this little behind the best by AICc are nearly as good. */
export const NEARLY = 2;

/** What the data support of each response, and the models that are nearly as good. */
export interface ReducedStudy {
  readonly models: ResponseModels;
  readonly alternatives: Readonly<Record<string, Alternatives>>;
}

/**
 * Smaller models that the data support as well, by response: by AICc over hierarchical models for
 * measured values and spreads, by backward elimination for counts. A response whose model someone
 * has chosen keeps it. Terms chosen by the data that test them look surer than they are; whoever
 * shows them says so.
 */
export function reducedStudy(state: StudyState): ReducedStudy {
  const spec = studySpec(state);
  const table = studyTable(state);
  const offered = modelTerms(spec.model, spec.factors).map(termName);
  const models: Record<string, Model> = {};
  const nearly: Record<string, Alternatives> = {};
  for (const response of spec.responses) {
    const { name } = response;
    const isChosen = state.models[name] !== undefined;
    const isDiscrete = response.kind === 'count' || response.kind === 'pass-fail';
    if (isDiscrete && !isChosen) models[name] = backwardModel(spec, response, table);
    const choice = modelChoice({ spec, table, response: name, within: NEARLY });
    if (choice.kind !== 'chosen') continue;
    if (!isDiscrete && !isChosen) models[name] = { terms: [...choice.best.terms] };
    nearly[name] = alternatives(choice, offered, NEARLY);
  }
  return { models, alternatives: nearly };
}

/** The models of `reducedStudy`. */
export const reducedModels = (state: StudyState): ResponseModels => reducedStudy(state).models;

/**
 * A fit with, for every response, the models that are nearly as good as the best one and what they
 * agree on. Models without an intercept are left as they were asked for.
 */
export function withAlternatives(
  result: FitResult,
  spec: Spec,
  table: RunTable,
  units: Units = 'natural',
): FitResult {
  if (!hasIntercept(spec.model)) return result;
  const offered = modelTerms(spec.model, spec.factors).map(termName);
  return {
    responses: result.responses.map((fit) => {
      // A saturated two-level plan is read by Lenth; comparing models on no df left would mislead.
      if (fit.lenth || fit.runs.length < 4) return fit;
      const choice = modelChoice({ spec, table, units, response: fit.name, within: NEARLY });
      return choice.kind === 'chosen'
        ? { ...fit, alternatives: alternatives(choice, offered, NEARLY) }
        : fit;
    }),
  };
}

/** Drops the least supported term that no other needs, until all that could go are supported. */
function backwardModel(spec: Spec, response: Response, table: RunTable): Model {
  let terms: Powers[] = modelTerms(spec.model, spec.factors);
  for (;;) {
    const fit = fittedAlone(spec, response, { terms }, table);
    const needed = new Set(terms.flatMap((powers) => parentTerms(powers).map(termKey)));
    const droppable = fit.terms.filter(
      ({ powers, p }) =>
        Object.keys(powers).length > 0 &&
        p !== null &&
        p > KEEP_BELOW &&
        terms.some((term) => termKey(term) === termKey(powers)) &&
        !needed.has(termKey(powers)),
    );
    const worst = droppable.sort((a, b) => b.p! - a.p!)[0];
    if (!worst) return { terms };
    const key = termKey(worst.powers);
    terms = terms.filter((powers) => termKey(powers) !== key);
  }
}
