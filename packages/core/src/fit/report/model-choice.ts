import { DomainError, nearestName } from '../../error/domain-error.ts';
import type { Spec } from '../../spec/spec.ts';
import type { Powers } from '../../term/term.ts';
import { fitBayesSplitPlot } from '../bayes-split-plot.ts';
import { plotNesting } from '../plot-nesting.ts';
import { freedOfPlots } from '../plot-projection.ts';
import {
  type Criterion,
  type Selection,
  type SelectionTerms,
  selectBy,
  selectModel,
} from '../selection.ts';
import { countScore, passFailScore } from './discrete-score.ts';
import type { CannotSay } from './fit-result.ts';
import type { Prepared } from './prepared.ts';
import { preparedResponse } from './prepared-response.ts';
import { plotStrata } from './report-split-plot.ts';
import { type RunTable, runCount } from './run-table.ts';
import { readRuns, type Units } from './usable-run.ts';

/** A hierarchical model by its terms; `behind` is its criterion above the best one's. */
export interface ChosenModel {
  readonly terms: readonly Powers[];
  readonly names: readonly string[];
  readonly criterion: number;
  readonly behind: number;
}

export type ModelChoice =
  | {
      readonly kind: 'chosen';
      readonly criterion: Criterion;
      readonly best: ChosenModel;
      /** Models that the runs hardly tell from the best one, best first, itself included. */
      readonly nearlyAsGood: readonly ChosenModel[];
      readonly looked: number;
      readonly search: Selection['search'];
      readonly cannotSay: readonly CannotSay[];
      readonly remarks: readonly string[];
    }
  | { readonly kind: 'not-chosen'; readonly says: string };

export interface ModelChoiceInput {
  readonly spec: Spec;
  readonly table: RunTable;
  readonly units?: Units;
  /** Name of the response. */
  readonly response: string;
  readonly criterion?: Criterion;
  /** How far behind the best a model may be and still be listed; 2 when left out. */
  readonly within?: number;
}

/**
 * Chooses a hierarchical model for one response out of the terms of the spec, and lists those that
 * are about as good. Blocks always stay. A model chosen by looking at the data tests too well: its
 * p-values are optimistic, which the remarks say.
 *
 * @throws {DomainError} `unknown_response` when the spec has none of that name; else as `fitTable`
 */
export function modelChoice(input: ModelChoiceInput): ModelChoice {
  const { spec, table, units = 'natural', criterion = 'aicc', within = 2 } = input;
  const response = responseNamed(spec, input.response);
  const read = readRuns(spec, table, runCount(table), units);
  const prepared = preparedResponse(spec, response, table, read, { units });
  if ('refused' in prepared)
    return { kind: 'not-chosen', says: prepared.refused.cannotSay.map((c) => c.says).join(' ') };
  const { model, y } = prepared;
  const kept = 1 + model.columns.filter((column) => column.isAside).length;
  if (y.length < kept + 3)
    return { kind: 'not-chosen', says: `${y.length} runs are too few to choose a model by.` };
  if (y.every((value) => value === y[0]))
    return { kind: 'not-chosen', says: sameThroughout[response.kind] };
  const compared = comparison(prepared, {
    terms: model.columns.map((column) => column.powers),
    keep: model.columns.flatMap((column, j) => (column.isAside ? [j] : [])),
    criterion,
    within,
  });
  if (!compared) return { kind: 'not-chosen', says: sameThroughout[response.kind] };
  const { selection } = compared;
  const chosen = (candidate: Selection['best']): ChosenModel => {
    const columns = candidate.terms.flatMap((j) =>
      model.columns[j]!.isAside ? [] : [model.columns[j]!],
    );
    return {
      terms: columns.map((column) => column.powers),
      names: columns.map((column) => column.name),
      criterion: candidate.criterion,
      behind: candidate.behind,
    };
  };
  return {
    kind: 'chosen',
    criterion,
    best: chosen(selection.best),
    nearlyAsGood: selection.nearlyAsGood.map(chosen),
    looked: selection.looked,
    search: selection.search,
    cannotSay: prepared.cannotSay,
    remarks: [
      'The terms were chosen by the same runs that test them, so their p-values are optimistic.',
      ...compared.remarks,
    ],
  };
}

const sameThroughout = {
  continuous: 'All runs gave one value, so no model can be told from another.',
  spread: 'All runs gave one value, so no model can be told from another.',
  count: 'The counts cannot tell one model from another.',
  'pass-fail': 'All runs ended alike, so no model can be told from another.',
} as const;

/** Likelihoods take a search each, so fewer models of counts or of passing are looked at one by one. */
const MOST_LIKELIHOODS = 300;

/** The models weighed, by the likelihood that the kind of response has; null when it has none. */
function comparison(
  prepared: Prepared,
  among: SelectionTerms,
): { readonly selection: Selection; readonly remarks: readonly string[] } | null {
  const { kind } = prepared.response;
  const { criterion = 'aicc' } = among;
  if (kind === 'count' || kind === 'pass-fail') {
    const plots = plotStrata(prepared).strata[0] ?? null;
    const found =
      kind === 'count'
        ? countScore(prepared, plots, criterion)
        : passFailScore(prepared, criterion);
    const smallest = prepared.model.columns.flatMap(({ isAside, powers }, j) =>
      isAside || Object.keys(powers).length === 0 ? [j] : [],
    );
    if (!found || !Number.isFinite(found.score(smallest).criterion)) return null;
    const limit = plots && kind === 'count' ? 0 : MOST_LIKELIHOODS;
    const selection = selectBy({ ...among, limit }, found.score);
    return { selection, remarks: [found.remark] };
  }
  const { x, y, ratio } = choiceRows(prepared);
  const held =
    ratio === null
      ? []
      : [
          `Models were compared with the variance between plots held at ${ratio.toPrecision(2)} times that within, as the largest model has it.`,
        ];
  return { selection: selectModel({ ...among, x, y }), remarks: held };
}

/**
 * Rows that ordinary least squares may compare models on: weighted, and freed of the plots at the
 * posterior median of their variance under the largest model. Restricted likelihood would put it at
 * zero too often, and terms set once a plot would then win too easily.
 */
function choiceRows(prepared: Prepared) {
  const { model, y, weights } = prepared;
  const { strata } = plotStrata(prepared);
  if (strata.length === 0) {
    const input = { x: model.x, weights, nesting: null, ratios: [] };
    return { ...(weights ? freedOfPlots(input, y) : { x: model.x, y }), ratio: null };
  }
  const found = fitBayesSplitPlot({ x: model.x, y, strata, ...(weights ? { weights } : {}) });
  const medians =
    found.kind === 'fitted' ? found.varianceComponents.map(({ median }) => median) : [];
  const within = medians.at(-1) ?? 1;
  const ratios = strata.map((_, k) => (medians[k] ?? 1) / within);
  const nesting = plotNesting(strata, y.length);
  return { ...freedOfPlots({ x: model.x, weights, nesting, ratios }, y), ratio: ratios[0]! };
}

function responseNamed(spec: Spec, name: string): Spec['responses'][number] {
  const found = spec.responses.find((response) => response.name === name);
  if (found) return found;
  const known = spec.responses.map((response) => response.name);
  const near = nearestName(name, known);
  throw new DomainError(
    'unknown_response',
    `modelChoice: response must be one of ${known.join(', ') || 'none'}; got "${name}". ${near ? `Did you mean "${near}"?` : 'Name a response of the spec.'}`,
    { response: name, known },
  );
}
