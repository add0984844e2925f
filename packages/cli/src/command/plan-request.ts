import {
  type Factor,
  HoldRule,
  isNamed,
  modelTerms,
  type OrderRule,
  type PlanBudget,
  type PlanRequest,
  type Response,
  type SettingLimit,
  type Spec,
  type StatedChange,
  type StudyState,
  studyDefaults,
  termOrder,
  usualChange,
  wishedFamily,
} from '@strandwise/core';
import { unknownName } from '../input/file-error.ts';
import type { Given, Option } from './command.ts';
import { planOptionValues } from './plan-option.ts';
import { settingLimit } from './setting-limit-text.ts';
import { numberOption, textOption, UsageError, wholeOption } from './usage-error.ts';

const orders = ['complete', 'within-plots', 'trend-robust', 'fewest-hours'] as const;
const models = ['main', 'interactions', 'quadratic'] as const;

/** Options that say what a plan is made from and what it is judged by. */
export const requestOptions: Readonly<Record<string, Option>> = {
  model: {
    type: 'string',
    value: 'NAME',
    says: 'main, interactions or quadratic (default quadratic)',
  },
  set: {
    type: 'string',
    multiple: true,
    value: 'OPTION=VALUE',
    says: "one of the family's options; may be repeated",
  },
  order: {
    type: 'string',
    value: 'NAME',
    says: 'complete, within-plots, trend-robust or fewest-hours',
  },
  limit: {
    type: 'string',
    multiple: true,
    value: 'TEXT',
    says: 'a limit beside those of line and grade, such as "level + 0.5 tilt <= 205"',
  },
  hold: {
    type: 'string',
    value: 'RULE',
    says: 'computed (default), or flat, or "flat 12/4": minutes after a zone change and any other',
  },
  seed: {
    type: 'string',
    value: 'N',
    says: 'seed of every random choice; the same seed gives the same plan',
  },
  effect: {
    type: 'string',
    value: 'PERCENT',
    says: 'change worth finding from low to high (default 25; for a plain response in its unit, default 2)',
  },
  noise: {
    type: 'string',
    value: 'PERCENT',
    says: 'spread between cells set alike (default 15; for a plain response in its unit, default 1)',
  },
  ratio: {
    type: 'string',
    value: 'R',
    says: 'variance of a reset of the hard factors over that of a cell (default 1 when there are any)',
  },
  'sub-ratio': {
    type: 'string',
    value: 'R',
    says: 'the same for settings of semi-hard factors in plans that keep them together (default 0)',
  },
  risk: { type: 'string', value: 'P', says: 'risk of a false alarm (default 0.05)' },
};

function chosen<T extends string>(
  kind: string,
  given: Given,
  name: string,
  known: readonly T[],
): T | undefined {
  const text = textOption(given.options, name);
  if (text === undefined) return undefined;
  const found = known.find((candidate) => candidate === text);
  if (found === undefined) throw unknownName(kind, text, known);
  return found;
}

export const chosenOrder = (given: Given): OrderRule | undefined =>
  chosen('--order', given, 'order', orders);

/** What every request takes from the options: order, hold rule, limits. */
function givenParts(given: Given): Partial<PlanRequest> {
  const order = chosenOrder(given);
  const holdRule = holdRuleOf(textOption(given.options, 'hold'));
  const limits = limitsOf(given);
  return {
    ...(order ? { order } : {}),
    ...(holdRule ? { holdRule } : {}),
    ...(limits.length > 0 ? { limits } : {}),
  };
}

function limitsOf({ options }: Given): SettingLimit[] {
  const { limit } = options;
  if (limit === undefined) return [];
  return (Array.isArray(limit) ? limit : [limit]).map((text) => settingLimit(String(text)));
}

function holdRuleOf(text: string | undefined): HoldRule | undefined {
  if (text === undefined) return undefined;
  const found = /^(computed|flat)(?:\s+(\d+(?:\.\d+)?)\s*\/\s*(\d+(?:\.\d+)?))?$/.exec(text.trim());
  const [, kind, zones, other] = found ?? [];
  if (!found || (kind === 'computed' && zones !== undefined)) {
    throw new UsageError(`--hold must be computed, flat or "flat 12/4"; got "${text}".`);
  }
  if (kind === 'computed') return HoldRule.parse({ kind });
  return HoldRule.parse({
    kind: 'flat',
    ...(zones === undefined
      ? {}
      : { zoneChangeMinutes: Number(zones), otherChangeMinutes: Number(other) }),
  });
}

export function requestFromSpec(spec: Spec, given: Given): PlanRequest {
  const parts = givenParts(given);
  const limits = [...(spec.limits ?? []), ...(parts.limits ?? [])];
  return {
    factors: spec.factors,
    model: chosen('--model', given, 'model', models) ?? spec.model,
    ...wishedFamily(textOption(given.options, 'family') ?? spec.family ?? usualFamily(spec), {
      ...spec.options,
      ...planOptionValues(given.options['set']),
    }),
    seed: wholeOption(given.options, 'seed') ?? 1,
    ...parts,
    ...(limits.length > 0 ? { limits } : {}),
  };
}

/** More two-level combinations than this are dear; a searched plan of fewer runs is the usual one. */
const MOST_COMBINATIONS = 64;

/** The family of a spec that names none: all combinations when these are few and serve the model. */
function usualFamily({ factors, model, limits }: Spec): string {
  const combinations = factors.reduce(
    (product, factor) => product * (isNamed(factor) ? factor.levels.length : 2),
    1,
  );
  const isCurved = modelTerms(model, factors).some((powers) =>
    Object.values(powers).some((power) => typeof power === 'number' && power > 1),
  );
  if (isCurved || limits !== undefined) return 'optimal';
  if (combinations <= MOST_COMBINATIONS) return 'full factorial';
  return isScreened(factors, model) ? 'plackett-burman' : 'optimal';
}

/** Main effects of many two-level factors, all easy to set: a screening array serves at once. */
function isScreened(factors: readonly Factor[], model: Spec['model']): boolean {
  return (
    factors.length <= 47 &&
    factors.every((factor) => !isNamed(factor) || factor.levels.length === 2) &&
    factors.every(({ changes }) => changes === 'easy') &&
    modelTerms(model, factors).every((powers) => termOrder(powers) <= 1)
  );
}

/** The plan that a study's factors and line ask for; nothing said means an optimal one. */
export function requestFromStudy(state: StudyState, given: Given): PlanRequest {
  const { factors, line, grade, product, seed } = state.opened;
  return {
    factors,
    model: chosen('--model', given, 'model', models) ?? 'quadratic',
    ...wishedFamily(
      textOption(given.options, 'family') ?? 'optimal',
      planOptionValues(given.options['set']),
    ),
    seed: wholeOption(given.options, 'seed') ?? seed,
    surroundings: { line, grade, product, defaults: studyDefaults(state) },
    ...givenParts(given),
  };
}

/** The change worth finding, from the options and what is usual for the first response. */
export function changeFrom(
  given: Given,
  factors: readonly Factor[],
  responses: readonly Response[],
): StatedChange {
  const usual = usualChange(factors, responses[0]?.kind);
  const above = (name: string, least: number): number | undefined => {
    const value = numberOption(given.options, name);
    if (value === undefined) return undefined;
    if (value > least || (name.endsWith('ratio') && value === 0)) return value;
    throw new UsageError(`--${name} must be above ${least}; got ${value}.`);
  };
  const alpha = above('risk', 0) ?? usual.alpha;
  if (alpha >= 1) throw new UsageError(`--risk must be between 0 and 1; got ${alpha}.`);
  return {
    ...usual,
    effect: above('effect', 0) ?? usual.effect,
    noise: above('noise', 0) ?? usual.noise,
    plotRatio: above('ratio', 0) ?? usual.plotRatio,
    subPlotRatio: above('sub-ratio', 0) ?? usual.subPlotRatio,
    alpha,
  };
}

/** Variance ratios that a search plans for, and the options that say what a plan is judged by. */
const ratioOptions = [
  ['ratio', 'varianceRatio', 'plotRatio'],
  ['sub-ratio', 'subVarianceRatio', 'subPlotRatio'],
] as const;

/**
 * One idea of the variance of resets for the search and for the chances: a ratio given once, as
 * --ratio or as an option of the family, counts for both; two that differ stay as they are given.
 */
export function sameRatios(
  request: PlanRequest,
  change: StatedChange,
  given: Given,
): { readonly request: PlanRequest; readonly change: StatedChange } {
  if (request.family.trim().toLowerCase() !== 'optimal') return { request, change };
  const options: Record<string, unknown> = { ...request.options };
  const judged = { ...change };
  for (const [flag, option, key] of ratioOptions) {
    const stated = given.options[flag] !== undefined;
    const planned = options[option];
    if (stated && planned === undefined) options[option] = change[key];
    if (!stated && typeof planned === 'number' && planned >= 0) judged[key] = planned;
  }
  return { request: { ...request, options }, change: judged };
}

/** Hours and grams there are to spend. */
export function budgetFrom({ options }: Given): PlanBudget {
  const amount = (name: 'hours' | 'grams'): number | undefined => {
    const value = numberOption(options, name);
    if (value !== undefined && !(value > 0))
      throw new UsageError(`--${name} must be above 0; got ${value}.`);
    return value;
  };
  const [hours, grams] = [amount('hours'), amount('grams')];
  return {
    ...(hours === undefined ? {} : { hours }),
    ...(grams === undefined ? {} : { grams }),
  };
}

/**
 * One plan of a comparison from text: the family, then what differs from the other options, parted
 * by semicolons: "central composite; alpha=face-centred; order=complete".
 */
export function besideRequest(text: string, basis: PlanRequest): PlanRequest {
  const [family, ...settings] = text.split(';').map((part) => part.trim());
  if (!family) throw new UsageError('--beside must begin with the name of a family.');
  const { order, model, ...options } = planOptionValues(settings.filter((part) => part !== ''));
  return {
    ...basis,
    ...wishedFamily(family, options),
    ...(order === undefined ? {} : { order: known('order', order, orders) }),
    ...(model === undefined ? {} : { model: known('model', model, models) }),
  };
}

function known<T extends string>(kind: string, value: unknown, names: readonly T[]): T {
  const found = names.find((name) => name === value);
  if (found === undefined) throw unknownName(`--beside ${kind}`, String(value), names);
  return found;
}
