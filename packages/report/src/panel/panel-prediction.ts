import {
  backOnScale,
  brokenConstraints,
  codedPoint,
  type Point,
  pointOf,
  profileOf,
  profileTerms,
  type Requirement,
  refusals,
  type SetPoints,
  settingsOf,
  surfacePrediction,
  zoneTemperatures,
} from '@strandwise/core';
import { fixed } from '../format/number.ts';
import { withUnit } from '../format/unit.ts';
import type { LivePanel, LiveSurface } from './live-panel.ts';
import type { PanelModel } from './panel-model.ts';

export interface Interval {
  readonly low: number;
  readonly high: number;
}

/** What one response is expected to be, in its own unit. */
export interface PanelPrediction {
  readonly name: string;
  readonly unit: string | undefined;
  readonly estimate: number;
  /** Where the mean lies; null when nothing can judge it. */
  readonly mean: Interval | null;
  /** Where one new set-up will fall; null when nothing can judge it. */
  readonly newRun: Interval | null;
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
export function panelReading(panel: LivePanel, setPoints: SetPoints): PanelReading {
  const { model, surfaces, chance } = panel;
  const natural = panelPoint(model, setPoints);
  const coded = codedPoint(natural, model.factors);
  const reasons = refusalReasons(model, setPoints, coded);
  if (reasons.length > 0) return { kind: 'refused', reasons };
  const settings = settingsOf(coded, model.factors);
  return {
    kind: 'predicted',
    predictions: surfaces.map((surface) => prediction(surface, settings, model.confidence)),
    chance: chance ? chance(settings) : null,
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

function prediction(
  { surface, unit, requirements }: LiveSurface,
  settings: Float64Array,
  confidence: number,
): PanelPrediction {
  const { name, mean, next } = surfacePrediction(surface, settings, confidence);
  return {
    name,
    unit,
    estimate: mean.value,
    mean: intervalOf(mean),
    newRun: intervalOf(next),
    isWithin:
      requirements.length === 0
        ? null
        : requirements.every((requirement) => requirementMargin(mean.value, requirement) >= 0),
  };
}

const intervalOf = ({ low, high }: { low: number | null; high: number | null }): Interval | null =>
  low === null || high === null ? null : { low, high };

/** How far inside a requirement a value is, as a share of the limit; negative outside. */
export function requirementMargin(value: number, { atMost, atLeast }: Requirement): number {
  const below =
    atMost === undefined ? Number.POSITIVE_INFINITY : (atMost - value) / (Math.abs(atMost) || 1);
  const above =
    atLeast === undefined ? Number.POSITIVE_INFINITY : (value - atLeast) / (Math.abs(atLeast) || 1);
  return Math.min(below, above);
}

/** The fitted value of a surface in the response's own unit. */
export const fittedValue = ({ surface }: LiveSurface, settings: Float64Array): number =>
  backOnScale(surface, surface.mean(settings));

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
