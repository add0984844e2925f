import { DomainError, nearestName } from '../../error/domain-error.ts';
import type { Spec } from '../../spec/spec.ts';
import type { Powers } from '../../term/term.ts';
import { type Criterion, type Selection, selectModel } from '../selection.ts';
import type { CannotSay } from './fit-result.ts';
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
  if (response.kind === 'count' || response.kind === 'pass-fail') {
    const says = `Models are chosen for measured values and spreads; ${response.name} is a ${response.kind} response. Pick its terms by their tests.`;
    return { kind: 'not-chosen', says };
  }
  const read = readRuns(spec, table, runCount(table), units);
  const prepared = preparedResponse(spec, response, table, read, { units });
  if ('refused' in prepared)
    return { kind: 'not-chosen', says: prepared.refused.cannotSay.map((c) => c.says).join(' ') };
  const { model, weights, y } = prepared;
  if (y.length < 4)
    return { kind: 'not-chosen', says: `${y.length} runs are too few to choose a model by.` };
  const roots = weights?.map(Math.sqrt);
  const { rows, cols, data } = model.x;
  const x = roots
    ? { rows, cols, data: data.map((value, at) => value * roots[Math.floor(at / cols)]!) }
    : model.x;
  const selection = selectModel({
    x,
    y: roots ? y.map((value, i) => value * roots[i]!) : y,
    terms: model.columns.map((column) => column.powers),
    keep: model.columns.flatMap((column, j) => (column.isAside ? [j] : [])),
    criterion,
    within,
  });
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
  const remarks = [
    'The terms were chosen by the same runs that test them, so their p-values are optimistic.',
  ];
  if (plotStrata(prepared).strata.length > 0)
    remarks.push(
      'The choice did not take account of the plots; judge the terms in the split-plot fit.',
    );
  return {
    kind: 'chosen',
    criterion,
    best: chosen(selection.best),
    nearlyAsGood: selection.nearlyAsGood.map(chosen),
    looked: selection.looked,
    search: selection.search,
    cannotSay: prepared.cannotSay,
    remarks,
  };
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
