import {
  brokenConstraints,
  codedPoint,
  denseFromRows,
  modelMatrix,
  type Point,
  pointOf,
  profileOf,
  profileTerms,
  refusals,
  type SetPoints,
  scaledPredictionVariance,
  zoneTemperatures,
} from '@strandwise/core';
import { fixed } from '../format/number.ts';
import { withUnit } from '../format/unit.ts';
import type { PanelChance, PanelModel, PanelResponse } from './panel-model.ts';

/** What one response is expected to be, in its own unit. */
export interface PanelPrediction {
  readonly name: string;
  readonly unit: string | undefined;
  readonly estimate: number;
  readonly low: number;
  readonly high: number;
  /** Where one new set-up will fall, when the model can say. */
  readonly newRun: { readonly low: number; readonly high: number } | null;
  /** Whether the estimate keeps its limits; null without limits. */
  readonly isWithin: boolean | null;
}

/** What the panel says of one setting; of one that may not be run, only why. */
export type PanelReading =
  | { readonly kind: 'refused'; readonly reasons: readonly string[] }
  | {
      readonly kind: 'predicted';
      readonly predictions: readonly PanelPrediction[];
      readonly chance: number | null;
      /** Sentences about what the models know nothing of. */
      readonly warnings: readonly string[];
    };

/** Natural units of every factor at given set points. */
export function panelPoint({ factors, line }: PanelModel, setPoints: SetPoints): Point {
  if (line) return pointOf(setPoints, factors, line);
  return Object.fromEntries(factors.map(({ name }) => [name, setPoints.other[name]!]));
}

/** What the models say at given set points. */
export function panelReading(model: PanelModel, setPoints: SetPoints): PanelReading {
  const natural = panelPoint(model, setPoints);
  const coded = codedPoint(natural, model.factors);
  const reasons = refusalReasons(model, setPoints, coded);
  if (reasons.length > 0) return { kind: 'refused', reasons };
  return {
    kind: 'predicted',
    predictions: model.responses.map((response) => prediction(response, coded, model)),
    chance: model.chance ? conformingShare(model.chance, coded, model) : null,
    warnings: [...outsideWarnings(natural, model), ...profileWarnings(setPoints, model)],
  };
}

/** Limits of line and grade as set, zone by zone; failing those, the limits of the region. */
function refusalReasons(model: PanelModel, setPoints: SetPoints, coded: Point): string[] {
  const { line, grade, product, limits } = model;
  const refused = line && grade ? refusals(setPoints, line, grade, product) : [];
  if (refused.length > 0) return refused.map(({ says }) => says);
  return brokenConstraints(coded, limits).map(({ says }) => `Not allowed: ${says}.`);
}

/** Value in the response's unit of a value on the fit's scale. */
export const fromFitScale = (value: number, { scale }: Pick<PanelResponse, 'scale'>): number =>
  scale === 'identity' ? value : Math.exp(value);

/** Fitted means at coded points, in the response's own unit. */
export function panelMeans(
  response: PanelResponse,
  coded: readonly Point[],
  { factors }: Pick<PanelModel, 'factors'>,
): number[] {
  const { rows, cols, data } = modelMatrix(response.terms, coded, factors);
  return Array.from({ length: rows }, (_, i) =>
    fromFitScale(dot(data.subarray(i * cols, (i + 1) * cols), response.coefficients), response),
  );
}

/**
 * Mean with its interval, and the interval of a new set-up: xᵀb ± q·√v and xᵀb ± q·√(v + v₁) on the
 * fit's scale, with v = xᵀCx, then carried to the response's unit.
 */
function prediction(response: PanelResponse, coded: Point, model: PanelModel): PanelPrediction {
  const row = modelMatrix(response.terms, [coded], model.factors).data;
  const p = row.length;
  const rows = Array.from({ length: p }, (_, i) => response.covariance.slice(i * p, (i + 1) * p));
  const unscaledCovariance = denseFromRows(rows);
  const variance = response.covarianceScale * scaledPredictionVariance({ unscaledCovariance }, row);
  const centre = dot(row, response.coefficients);
  const ends = (spread: number): { low: number; high: number } => ({
    low: fromFitScale(centre - response.quantile * Math.sqrt(spread), response),
    high: fromFitScale(centre + response.quantile * Math.sqrt(spread), response),
  });
  const estimate = fromFitScale(centre, response);
  const { newRunVariance } = response;
  return {
    name: response.name,
    unit: response.unit,
    estimate,
    ...ends(variance),
    newRun: newRunVariance === null ? null : ends(variance + newRunVariance),
    isWithin: response.limits ? keepsLimits(estimate, response) : null,
  };
}

export function keepsLimits(value: number, { limits }: Pick<PanelResponse, 'limits'>): boolean {
  const { low = Number.NEGATIVE_INFINITY, high = Number.POSITIVE_INFINITY } = limits ?? {};
  return value >= low && value <= high;
}

/** Share of the draws in which every response keeps its limits. */
function conformingShare(chance: PanelChance, coded: Point, model: PanelModel): number {
  const parts = chance.responses.flatMap(({ response: name, coefficients, scatter }) => {
    const response = model.responses.find((candidate) => candidate.name === name);
    if (!response) return [];
    const row = modelMatrix(response.terms, [coded], model.factors).data;
    return [{ response, row, coefficients, scatter }];
  });
  const draws = Math.min(...parts.map(({ coefficients }) => coefficients.length));
  let conforming = 0;
  for (let d = 0; d < draws; d++) {
    const isConforming = parts.every(({ response, row, coefficients, scatter }) =>
      keepsLimits(fromFitScale(dot(row, coefficients[d]!) + (scatter[d] ?? 0), response), response),
    );
    if (isConforming) conforming++;
  }
  return conforming / draws;
}

/** Factors set beyond the range that was run. */
function outsideWarnings(natural: Point, { factors }: PanelModel): string[] {
  return factors.flatMap((factor) => {
    if (!('low' in factor)) return [];
    const value = Number(natural[factor.name]);
    const room = 1e-6 * (factor.high - factor.low);
    if (value >= factor.low - room && value <= factor.high + room) return [];
    const decimals = factor.high - factor.low >= 20 ? 0 : 1;
    const at = withUnit(fixed(value, decimals), factor.unit);
    return [
      `${factor.name} would be ${at}, outside what was run (${fixed(factor.low, decimals)} to ${fixed(factor.high, decimals)}): the models have no data there.`,
    ];
  });
}

/** Shapes of the barrel profile that no factor stands for, and that therefore nobody has tried. */
function profileWarnings(setPoints: SetPoints, { factors, line, start }: PanelModel): string[] {
  if (!line) return [];
  const acts = new Set(factors.map((factor) => ('acts' in factor ? factor.acts : undefined)));
  if (!profileTerms.some((term) => acts.has(term))) return [];
  const now = profileParts(setPoints, line);
  const then = profileParts(start, line);
  // Rounding to the controller's step alone moves a contrast by about a step.
  const slack = 1.5 * line.setPointStepCelsius;
  const warnings = profileTerms
    .filter((term) => !acts.has(term))
    .filter((term) => Math.abs(now.profile[term] - then.profile[term]) > slack)
    .map((term) => {
      const change = withUnit(fixed(now.profile[term] - then.profile[term], 0), '°C');
      return `The zones' ${term} differs by ${change} from what was run, and is not in the models.`;
    });
  const isUneven = now.rest.some((celsius, i) => Math.abs(celsius - then.rest[i]!) > slack);
  if (isUneven) {
    warnings.push(
      'The zones make a shape that the profile factors cannot say; the nearest is used.',
    );
  }
  return warnings;
}

/** The profile of the zones, and what is left of them beside it. */
function profileParts({ zonesCelsius }: SetPoints, line: NonNullable<PanelModel['line']>) {
  const profile = profileOf(zonesCelsius, line);
  const smooth = zoneTemperatures(profile, line);
  return { profile, rest: zonesCelsius.map((celsius, i) => celsius - smooth[i]!) };
}

function dot(a: ArrayLike<number>, b: ArrayLike<number>): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!;
  return sum;
}
