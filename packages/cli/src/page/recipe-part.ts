import {
  type Chance,
  fittedCells,
  isNumeric,
  type Recipe,
  type Recommended,
  type SetPoints,
  type StudyState,
  type SurfacePrediction,
  setPointsSame,
  shareWords,
  type WindowRange,
} from '@strandwise/core';
import {
  type Fact,
  fixed,
  interval,
  type RecipePrediction,
  type RecipeSetPoint,
  type StudyPageInput,
  significantFigures,
  type Table,
  withUnit,
} from '@strandwise/report';
import {
  belowAskedWords,
  cannotJudgeWords,
  edgeWords,
  nearestMissWords,
} from '../wording/recipe-word.ts';
import { confirmationWords } from './confirmation.ts';
import { failureWays } from './outcome.ts';
import type { PagedStudy } from './paged-study.ts';
import { capital, counted } from './sentence.ts';
import { factorDecimals, type SetPointKey, setPointKeys, setPointWords } from './setting.ts';

type RecipePart = StudyPageInput['recipe'];

/** The recipe with all that is known of it, or why there is none. */
export function recipePart(study: PagedStudy): RecipePart {
  const { state, found, recipe, asked } = study;
  if (!recipe) return { kind: 'none', sentence: noRecipeWords(study), reasons: reasonsOf(study) };
  const keys = setPointKeys(state.opened.line, state.opened.factors);
  const setPoints = keys.map((key): RecipeSetPoint => {
    const window = keyedWindow(recipe, key);
    return {
      name: key.name,
      value: key.value(recipe.setPoints),
      decimals: key.decimals,
      ...(key.unit === undefined ? {} : { unit: key.unit }),
      ...(window ? { window } : {}),
    };
  });
  return {
    kind: 'recommended',
    sentence: recipeSentence(study, recipe),
    ...(setPoints.some(({ window }) => window)
      ? {
          windowSays: `Under each set point: how far it alone may go, the others held, with a chance of conforming of ${asked} or more.`,
        }
      : {}),
    setPoints,
    confidence: withUnit('95', '%'),
    predictions: recipe.predictions.map((prediction) => predictionOf(prediction, study)),
    ...(recipe.chance ? { chance: chancePart(recipe.chance) } : {}),
    ...wanderPart(study, recipe),
    cautions: cautionsOf(study, recipe, found.kind === 'nowhere acceptable'),
  };
}

function noRecipeWords({ state, found }: PagedStudy): string {
  if (state.plan === null)
    return 'There is no recipe: no plan has been adopted, so nothing was run.';
  const cells = fittedCells(state);
  if (cells.length === 0) return 'There is no recipe yet: no cell of the plan has been walked.';
  if (cells.every(({ status }) => status === 'failed'))
    return `There is no recipe: all ${counted(cells.length, 'cell')} failed, so no response could be fitted.`;
  if (found.kind === 'no model' || found.kind === 'nothing feasible')
    return `There is no recipe. ${found.says}`;
  return 'There is no recipe: the runs do not tell one setting from another in any response that something is wanted of.';
}

function reasonsOf({ fits, predictor }: PagedStudy): string[] {
  const reasons = fits.responses.flatMap(({ name, terms, cannotSay }) =>
    terms.length > 0 ? [] : cannotSay.map(({ says }) => `${name}: ${says}`),
  );
  return predictor.strand.result?.kind === 'none-run'
    ? [...reasons, predictor.strand.says]
    : reasons;
}

function recipeSentence({ state, found }: PagedStudy, recipe: Recommended): string {
  const what = found.kind === 'nowhere acceptable' ? `${nearestMissWords} ` : '';
  return `${what}${recipe.says} These are set points rounded to what the controllers take; the predictions are for the rounded values (${naturalWords(recipe, state)}).`;
}

/** What the rounded set points make of the factors: "level 194 °C, tilt 13 °C". */
function naturalWords({ natural }: Recipe, { opened }: StudyState): string {
  return (
    opened.factors
      .filter((factor) => isNumeric(factor) && factor.acts !== 'screw' && factor.acts !== 'fan')
      .map((factor) => {
        const value = natural[factor.name]!;
        const unit = isNumeric(factor) ? factor.unit : undefined;
        const decimals = isNumeric(factor) ? Math.max(1, factorDecimals(factor)) : 0;
        return `${factor.name} ${typeof value === 'number' ? withUnit(fixed(value, decimals), unit) : value}`;
      })
      .join(', ') || 'as they stand above'
  );
}

function predictionOf(
  { name, mean, next }: SurfacePrediction,
  { responses, predictor }: PagedStudy,
): RecipePrediction {
  const unit = responses.find((response) => response.name === name)?.unit;
  const wanted = wantedWords(name, { responses, predictor });
  return {
    response: name,
    ...(unit === undefined ? {} : { unit }),
    mean: { estimate: mean.value, low: mean.low, high: mean.high },
    ...(next.low === null || next.high === null
      ? {}
      : { newRun: { low: next.low, high: next.high } }),
    ...(wanted === undefined ? {} : { wanted }),
  };
}

/** The limit a spool must keep, or what is wished for. */
function wantedWords(
  name: string,
  { responses, predictor }: Pick<PagedStudy, 'responses' | 'predictor'>,
): string | undefined {
  const paged = responses.find((response) => response.name === name);
  const limits = predictor.judged.filter(({ requirement }) => requirement.response === name);
  const unit = paged?.unit;
  const text = (value: number): string => withUnit(significantFigures(value, 3), unit);
  const bounds = limits.flatMap(({ requirement: { atMost, atLeast } }) => [
    ...(atLeast === undefined ? [] : [`at least ${text(atLeast)}`]),
    ...(atMost === undefined ? [] : [`at most ${text(atMost)}`]),
  ]);
  if (bounds.length > 0) return bounds.join(', ');
  const goal = paged?.response.goal;
  if (!goal) return undefined;
  if (goal.aim === 'target' && goal.target !== undefined) return `close to ${text(goal.target)}`;
  if (goal.target === undefined)
    return goal.aim === 'smallest' ? 'the less the better' : 'the more the better';
  return `${text(goal.target)} or ${goal.aim === 'smallest' ? 'less' : 'more'}, wished for`;
}

function chancePart({ probability, notBelow, parts }: Chance) {
  return {
    says: 'Chance that a new set-up conforms',
    estimate: probability,
    notBelow,
    parts: parts.map((part): Fact => ({ name: part.says, value: shareWords(part.probability) })),
  };
}

/** A set point's window on settings that can be keyed in; undefined without one. */
function keyedWindow(
  { setPointWindow }: Recipe,
  { name, step }: SetPointKey,
): { low: number; high: number } | undefined {
  const range = setPointWindow?.find(({ setPoint }) => setPoint === name);
  if (!range) return undefined;
  const [low, high] = range.alone;
  const keyed = (value: number, round: (x: number) => number): number =>
    Number((range.at + round((value - range.at) / step) * step).toFixed(6));
  return {
    low: keyed(low, (x) => Math.ceil(x - 1e-9)),
    high: keyed(high, (x) => Math.floor(x + 1e-9)),
  };
}

function wanderPart({ state, asked }: PagedStudy, { window, worstInWindow }: Recipe) {
  if (!window || window.length === 0) return {};
  const worst =
    worstInWindow === null
      ? ''
      : ` The smallest chance in the joint box is ${fixed(worstInWindow, 2)}.`;
  return {
    wander: {
      sentence: `Alone, or all together within narrower ranges, the settings may wander by these amounts and the chance of conforming stays at ${asked} or more.${worst}`,
      table: windowTable(window, state),
    },
  };
}

/** How far each factor may wander, for the page and for export. */
export function windowTable(window: readonly WindowRange[], { opened }: StudyState): Table {
  return {
    caption: 'What may wander, and what was studied',
    columns: [
      { head: 'factor', holds: 'words' },
      { head: 'at', holds: 'numbers' },
      { head: 'alone', holds: 'numbers' },
      { head: 'all together', holds: 'numbers' },
      { head: 'studied', holds: 'numbers' },
    ],
    rows: window.map(({ factor, unit, at, alone, together, studied }) => {
      const found = opened.factors.find(({ name }) => name === factor);
      const decimals = found && isNumeric(found) ? factorDecimals(found) : 1;
      const ends = ([low, high]: readonly [number, number]): string =>
        interval(low, high, decimals);
      return [
        unit === '' ? factor : `${factor}, ${unit}`,
        { shown: fixed(at, decimals), exported: at },
        ends(alone),
        ends(together),
        ends(studied),
      ];
    }),
  };
}

function cautionsOf(study: PagedStudy, recipe: Recommended, isMiss: boolean): string[] {
  const { state, asked, predictor } = study;
  const { probability, onEdge } = recipe;
  const failures = state.cells.flatMap(({ failures: attempts }) => attempts);
  return [
    ...(isMiss ? [nearestMissWords] : []),
    ...(probability === null ? [cannotJudgeWords] : []),
    ...(recipe.shortfall ? [recipe.shortfall.says] : []),
    ...(probability !== null && probability < asked ? [belowAskedWords(asked)] : []),
    ...predictor.unjudged.map(({ says }) => `Nothing measured can judge "${says}".`),
    ...winnerWords(study, recipe),
    ...(onEdge.length > 0 ? [edgeWords(onEdge)] : []),
    ...missedWords(study, recipe),
    ...(failures.length > 0 ? [failureWords(study)] : []),
    ...recordWords(state, recipe.setPoints),
    confirmationWords(study, recipe),
  ];
}

function failureWords({ state, predictor }: PagedStudy): string {
  const basis =
    predictor.strand.result?.kind === 'fitted'
      ? ' The fit of where a strand forms rests on these.'
      : '';
  return `No strand formed everywhere: ${failureWays(state.cells)}.${basis}`;
}

/** The most desirable settings, where they are not the ones with the most room. */
function winnerWords({ state }: PagedStudy, { winner, setPoints }: Recommended): string[] {
  if (setPointsSame(winner.setPoints, setPoints)) return [];
  const chance = winner.chance ? `, with a chance of conforming of ${winner.chance.says}` : '';
  return [
    `The most desirable settings by themselves are ${setPointWords(winner.setPoints, state.opened.line)}${chance}.`,
  ];
}

/** Wishes that the mean at these settings does not come near. */
function missedWords({ responses }: PagedStudy, { predictions }: Recipe): string[] {
  return predictions.flatMap(({ name, mean: { value } }) => {
    const found = responses.find((response) => response.name === name);
    const goal = found?.response.goal;
    if (!found || !goal) return [];
    const isMissed =
      (goal.high !== undefined && goal.aim !== 'largest' && value >= goal.high) ||
      (goal.low !== undefined && goal.aim !== 'smallest' && value <= goal.low);
    if (!isMissed) return [];
    const bound =
      goal.aim === 'largest' ? goal.low : goal.aim === 'smallest' ? goal.high : goal.target;
    const text = (x: number): string => withUnit(significantFigures(x, 3), found.unit);
    return [
      `${capital(name)} falls short of what is wished for: ${text(value)} on average, where ${text(bound ?? value)} would be of no use yet.`,
    ];
  });
}

/** Where the study's own record names other set points. */
function recordWords({ recipe, released, opened }: StudyState, here: SetPoints): string[] {
  const differs = (setPoints: SetPoints): boolean => !setPointsSame(setPoints, here);
  if (released && differs(released.setPoints))
    return [
      `Released as version ${released.version} are other set points: ${setPointWords(released.setPoints, opened.line)}. Those above follow from the runs as they stand now.`,
    ];
  if (recipe && differs(recipe.setPoints))
    return [
      `Recorded as the proposed recipe are other set points: ${setPointWords(recipe.setPoints, opened.line)}. Those above follow from the runs as they stand now.`,
    ];
  return [];
}
