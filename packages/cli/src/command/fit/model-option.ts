import {
  dryingColumn,
  editedModel,
  hasIntercept,
  type Journal,
  type Model,
  ModelName,
  modelChange,
  modelTerms,
  type Powers,
  type ResponseFit,
  reducedModels,
  type Spec,
  type StudyState,
  studyFits,
  studySpec,
  studyTable,
} from '@strandwise/core';
import { unknownName } from '../../input/file-error.ts';
import { painted } from '../../terminal/line.ts';
import type { Theme } from '../../theme.ts';
import { changeLines } from '../../wording/change-lines.ts';
import type { Given, Surroundings } from '../command.ts';
import { textOption, UsageError } from '../usage-error.ts';

/** What the options ask of models; null when they ask nothing. */
export interface ModelOption {
  readonly response: string | undefined;
  readonly start: string | undefined;
  readonly add: readonly string[];
  readonly drop: readonly string[];
}

export function modelOption({ options }: Given): ModelOption | null {
  const many = (name: string): string[] => {
    const value = options[name];
    return Array.isArray(value) ? value.map(String) : [];
  };
  const asked = {
    response: textOption(options, 'response'),
    start: textOption(options, 'model'),
    add: many('add'),
    drop: many('drop'),
  };
  const isAsked = asked.start !== undefined || asked.add.length + asked.drop.length > 0;
  if (!isAsked && asked.response !== undefined)
    throw new UsageError('--response goes with --add, --drop or --model; got none of them.');
  return isAsked ? asked : null;
}

/** A model by the name given with `--model`; `best` is left to the caller. */
export function startModel(name: string): Model {
  const parsed = ModelName.safeParse(name);
  if (parsed.success) return parsed.data;
  throw unknownName('--model', name, [...ModelName.options, 'best']);
}

/** Changes the recorded models of a study as the options ask, and shows what changed. */
export function editStudyModels(
  journal: Journal,
  given: Given,
  around: Surroundings,
  theme: Theme,
): void {
  const asked = modelOption(given);
  if (!asked) return;
  const before = journal.state();
  const spec = studySpec(before);
  const name = responseAsked(asked.response, spec);
  const was = currentModel(before, spec, name);
  const start = asked.start === undefined ? was : startOf(asked.start, before, name);
  const edit = editedModel(
    modelTerms(start, spec.factors),
    asked,
    spec.factors,
    Object.hasOwn(studyTable(before), dryingColumn) ? [dryingColumn] : [],
  );
  const model: Model = { terms: [...edit.terms] };
  const change = modelChange(fitOf(before, name, was), fitOf(before, name, model));
  journal.record({ kind: 'model chosen', response: name, model }, change.says.join(' '));
  const lines = changeLines(name, change, edit.says, Math.min(100, around.columns));
  around.tell(painted(lines, theme));
}

/** The response that the options name; needed when there are several. */
export function responseAsked(asked: string | undefined, spec: Spec): string {
  const names = spec.responses.map(({ name }) => name);
  if (asked === undefined) {
    if (names.length === 1) return names[0]!;
    throw new UsageError(`name the response with --response; there are ${names.join(', ')}.`);
  }
  const found = names.find((name) => name.toLowerCase() === asked.toLowerCase());
  if (found === undefined) throw unknownName('--response', asked, names);
  return found;
}

/** The model a response is fitted with now: chosen, else reduced, else the plan's. */
export function currentModel(state: StudyState, spec: Spec, name: string): Model {
  return state.models[name] ?? reducedModels(state)[name] ?? spec.model;
}

function startOf(name: string, state: StudyState, response: string): Model {
  if (name !== 'best') return startModel(name);
  const { [response]: _, ...others } = state.models;
  return reducedModels({ ...state, models: others })[response] ?? studySpec(state).model;
}

const fitOf = (state: StudyState, name: string, model: Model): ResponseFit =>
  // A model that takes a covariate in must be known to the spec before it is recorded.
  studyFits({ ...state, models: { ...state.models, [name]: model } }).responses.find(
    (fit) => fit.name === name,
  )!;

/** Terms of an edited model for data from files: the same words, nothing recorded. */
export function editedSpec(
  spec: Spec,
  asked: ModelOption,
): { spec: Spec; says: readonly string[] } {
  const start = asked.start === undefined ? spec.model : startModel(asked.start);
  const terms: readonly Powers[] = modelTerms(start, spec.factors);
  const edit = editedModel(terms, asked, spec.factors);
  const isKept = (powers: Powers): boolean => hasIntercept(start) || Object.keys(powers).length > 0;
  return { spec: { ...spec, model: { terms: edit.terms.filter(isKept) } }, says: edit.says };
}
