import type { FitResult, ResponseFit } from '../fit/report/fit-result.ts';
import { fitTable } from '../fit/report/fit-table.ts';
import { modelChoice } from '../fit/report/model-choice.ts';
import type { RunTable } from '../fit/report/run-table.ts';
import type { Response, Spec } from '../spec/spec.ts';
import { type Model, modelTerms, type Powers, parentTerms, termKey } from '../term/term.ts';
import { studySpec, studyTable } from './run-table.ts';
import type { StudyState } from './state.ts';

/** Models by response name. */
export type ResponseModels = Readonly<Record<string, Model>>;

/**
 * Fits of a study's cells: each response under the model chosen for it, else the plan's, with the
 * strata that were walked.
 *
 * @param models - beside and before those recorded in the study
 */
export function studyFits(state: StudyState, models: ResponseModels = {}): FitResult {
  const spec = studySpec(state);
  const table = studyTable(state);
  return {
    responses: spec.responses.map((response) => {
      const model = models[response.name] ?? state.models[response.name] ?? spec.model;
      return fittedAlone(spec, response, model, table);
    }),
  };
}

const fittedAlone = (spec: Spec, response: Response, model: Model, table: RunTable): ResponseFit =>
  fitTable({ spec: { ...spec, responses: [response], model }, table }).responses[0]!;

/** Terms of a count are kept while their p is below this; hierarchy is kept always. */
const KEEP_BELOW = 0.1;

/**
 * Smaller models that the data support as well, by response: by AICc over hierarchical models for
 * measured values and spreads, by backward elimination for counts. Terms chosen by the data that
 * test them look surer than they are; whoever shows them says so.
 */
export function reducedModels(state: StudyState): ResponseModels {
  const spec = studySpec(state);
  const table = studyTable(state);
  const entries = spec.responses.flatMap((response): [string, Model][] => {
    if (response.kind === 'count' || response.kind === 'pass-fail') {
      return [[response.name, backwardModel(spec, response, table)]];
    }
    const choice = modelChoice({ spec, table, response: response.name });
    return choice.kind === 'chosen' ? [[response.name, { terms: [...choice.best.terms] }]] : [];
  });
  return Object.fromEntries(entries);
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
        !needed.has(termKey(powers)),
    );
    const worst = droppable.sort((a, b) => b.p! - a.p!)[0];
    if (!worst) return { terms };
    const key = termKey(worst.powers);
    terms = terms.filter((powers) => termKey(powers) !== key);
  }
}
