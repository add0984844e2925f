import { resolve } from 'node:path';
import {
  carriedPriors,
  type FitResult,
  type Model,
  openJournal,
  type Predictor,
  predictorOf,
  type ResponseFit,
  type ResponseModels,
  type ResponsePriors,
  reducedStudy,
  type StudyState,
  studyFits,
  studySpec,
} from '@strandwise/core';
import { sqliteStudyStore } from '@strandwise/store';
import type { Given, Surroundings } from '../command.ts';
import { textOption, UsageError } from '../usage-error.ts';

/** A study fitted, with everything that predicts it. */
export interface Analysis {
  readonly state: StudyState;
  /** The model of every response. */
  readonly models: ResponseModels;
  readonly result: FitResult;
  readonly predictor: Predictor;
}

export interface AnalysisOptions {
  readonly priors?: ResponsePriors;
  /** Keep every term of the plan's model. */
  readonly isWhole?: boolean;
}

/**
 * Fits a study again and again under changing models, each response only when its own model is new:
 * what a screen needs to follow a term that is switched on and off.
 */
export interface Analyst {
  readonly reduced: ResponseModels;
  /** The study under models tried, before those recorded, before those the data support. */
  analysis(state: StudyState, tried: ResponseModels): Analysis;
}

export function analyst(
  opened: StudyState,
  { priors = {}, isWhole = false }: AnalysisOptions = {},
): Analyst {
  const spec = studySpec(opened);
  const { models: supported, alternatives } = reducedStudy(opened);
  const reduced = isWhole ? {} : supported;
  const fits = new Map<string, ResponseFit>();
  const fitOf = (state: StudyState, name: string, model: Model): ResponseFit => {
    const key = `${name} ${JSON.stringify(model)}`;
    const known = fits.get(key);
    if (known) return known;
    // A model that takes a covariate in must be known to the spec before it is recorded.
    const trying = { ...state, models: { ...state.models, [name]: model } };
    const fit = studyFits(trying, {}, priors, [name]).responses[0]!;
    const told = { ...fit, alternatives: alternatives[name] ?? null };
    fits.set(key, told);
    return told;
  };
  return {
    reduced,
    analysis(state, tried) {
      const models = Object.fromEntries(
        spec.responses.map(({ name }): [string, Model] => [
          name,
          tried[name] ?? state.models[name] ?? reduced[name] ?? spec.model,
        ]),
      );
      const responses = spec.responses.map(({ name }) => fitOf(state, name, models[name]!));
      const result = { responses };
      const known = { ...state, models: { ...state.models, ...tried } };
      const predictor = predictorOf(known, result, { priors });
      return { state, models, result, predictor };
    },
  };
}

/** Priors from the study that `--prior` names; none without it. */
export function priorsOf({ options }: Given, around: Surroundings): ResponsePriors {
  const name = textOption(options, 'prior');
  if (name === undefined) return {};
  const store = sqliteStudyStore(resolve(around.cwd, name), { mode: 'read' });
  try {
    const earlier = openJournal(store, around.clock, 'reader').state();
    const priors = carriedPriors(earlier);
    if (Object.keys(priors).length === 0)
      throw new UsageError(
        `${name} holds no fitted response whose cells came in zone settings; there is nothing to carry.`,
      );
    return priors;
  } finally {
    store.close();
  }
}
