import {
  type CellInfluence,
  type CellState,
  type FitResult,
  fittedCells,
  type NextStep,
  type Predictor,
  predictorOf,
  type Recommendation,
  type Recommended,
  type Response,
  type ResponseFit,
  type ResponseSurface,
  recommendation,
  reducedModels,
  type StudyEvent,
  type StudyState,
  studyFits,
  usualProbability,
} from '@strandwise/core';
import { type TradedSettings, tradedSettings } from '../analysis/traded-settings.ts';
import { outlookOf } from '../command/fit/outlook.ts';

/** One response with its fit and what it is drawn with. */
export interface PagedResponse {
  readonly name: string;
  /** Unit of the fitted surface; undefined for a plain number. */
  readonly unit: string | undefined;
  readonly response: Response;
  readonly fit: ResponseFit;
  readonly surface: ResponseSurface | null;
  /** Something is wanted of it, so the recipe rests on it. */
  readonly decides: boolean;
}

/** Chance of conforming at coded settings, with the few points that a map takes. */
export type ChanceAt = (settings: Float64Array) => number;

/** A study with everything computed once that the parts of its page share. */
export interface PagedStudy {
  readonly state: StudyState;
  readonly events: readonly StudyEvent[];
  readonly version: string;
  readonly asked: number;
  /** True when terms that the runs do not support were left out. */
  readonly isReduced: boolean;
  readonly fits: FitResult;
  readonly predictor: Predictor;
  readonly found: Recommendation;
  /** The recommended settings, or the nearest miss; null too when no response tells settings apart. */
  readonly recipe: Recommended | null;
  /** What the recipe rests on first. */
  readonly responses: readonly PagedResponse[];
  /** Null when the runs cannot judge it. */
  readonly chance: ChanceAt | null;
  /** What to do next, best first, and the cells that the recommendation hangs on: as `fit` tells them. */
  readonly next: readonly NextStep[];
  readonly influences: readonly CellInfluence[];
  /** Null when there is nothing to trade. */
  readonly traded: TradedSettings | null;
  readonly raw: RawBytes;
}

/** The bytes of a log by their hash; undefined when they are not at hand. */
export type RawBytes = (sha256: string) => Uint8Array | undefined;

export interface PageRequest {
  readonly state: StudyState;
  readonly events: readonly StudyEvent[];
  readonly version: string;
  /** Chance of conforming that the window must keep. */
  readonly asked?: number;
  /** Keep every term of the model. */
  readonly isWhole?: boolean;
  /** Where the logs are, to draw them; without it none is drawn. */
  readonly raw?: RawBytes;
}

/** Fits a study and recommends, as `fit` does, for the page. */
export function pagedStudy({
  state,
  events,
  version,
  asked = usualProbability,
  isWhole = false,
  raw = () => undefined,
}: PageRequest): PagedStudy {
  const fits = studyFits(state, isWhole ? {} : reducedModels(state));
  const predictor = predictorOf(state, fits);
  const found = recommendation(predictor, asked);
  const responses = pagedResponses(state, fits, predictor);
  const recipe = tellsSettingsApart(responses) && 'setPoints' in found ? found : null;
  const outlook = recipe ? outlookOf(predictor, found, asked) : { next: [], influences: [] };
  return {
    state,
    events,
    version,
    asked,
    isReduced: !isWhole && fits.responses.length > 0,
    fits,
    predictor,
    found,
    recipe,
    responses,
    chance: chanceOf(predictor),
    ...outlook,
    traded: recipe ? tradedSettings(predictor) : null,
    raw,
  };
}

function pagedResponses(
  { opened }: StudyState,
  { responses }: FitResult,
  { surfaces }: Predictor,
): PagedResponse[] {
  const paged = responses.flatMap((fit): PagedResponse[] => {
    const response = opened.responses.find(({ name }) => name === fit.name);
    if (!response) return [];
    return [
      {
        name: fit.name,
        unit: responseUnit(response),
        response,
        fit,
        surface: surfaces.find(({ name }) => name === fit.name) ?? null,
        decides: response.goal !== undefined,
      },
    ];
  });
  return paged.sort((a, b) => Number(b.decides) - Number(a.decides));
}

/** True when some response with a goal depends on a factor: else the middle is as good as any setting. */
const tellsSettingsApart = (responses: readonly PagedResponse[]): boolean =>
  responses.some(
    ({ decides, surface }) =>
      decides && surface?.terms.some((powers) => Object.keys(powers).length > 0),
  );

/** What a response is read in: a count by the metre, anything else as it was declared. */
export const responseUnit = ({ kind, unit }: Response): string | undefined =>
  kind === 'count' ? 'per m' : unit === '' ? undefined : unit;

function chanceOf({ draft }: Predictor): ChanceAt | null {
  return draft && ((settings) => draft.at(settings).probability);
}

/** The cell behind a row of the fitted table; rows count from 1. */
export const cellOfRow = (state: StudyState, row: number): CellState | undefined =>
  fittedCells(state)[row - 1];

/** A sentence of a fit with its rows named by the cells that stand in them. */
export function inCells(says: string, state: StudyState): string {
  return says.replace(
    /\b(rows?) (\d+(?:, \d+)*(?: and \d+)?)/g,
    (_, word: string, list: string) => {
      const cells = list.replace(/\d+/g, (row) =>
        String(cellOfRow(state, Number(row))?.cell ?? row),
      );
      return `${word === 'row' ? 'cell' : 'cells'} ${cells}`;
    },
  );
}
