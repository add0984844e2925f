import type {
  Chance,
  Recipe,
  Recommendation,
  Recommended,
  SetPointRange,
  StudyState,
  SurfacePrediction,
  WindowRange,
} from '@strandwise/core';
import { type Line, line } from '../terminal/line.ts';
import { decimalsFor, figures, withinDoubt } from '../terminal/number.ts';
import type { Theme } from '../theme.ts';
import { cannotJudgeWords, edgeWords, nearestMissWords } from './recipe-word.ts';
import { told } from './told.ts';

/** The recommendation: set points, what to expect, how sure, how far it may wander. */
export function windowLines(
  recommendation: Recommendation,
  state: StudyState,
  columns: number,
  theme: Theme,
): Line[] {
  switch (recommendation.kind) {
    case 'no model':
    case 'nothing feasible':
      return told(recommendation.says, columns, { role: 'warning' });
    case 'nowhere acceptable':
      return [
        ...told(nearestMissWords, columns, { role: 'warning' }),
        ...recommendedLines(recommendation, state, columns, theme),
      ];
    case 'found':
      return recommendedLines(recommendation, state, columns, theme);
  }
}

function recommendedLines(
  recommended: Recommended,
  state: StudyState,
  columns: number,
  theme: Theme,
): Line[] {
  const { shortfall, says } = recommended;
  return [
    ...recipeLines(recommended, state, columns, theme),
    ...(shortfall ? told(shortfall.says, columns, { role: 'warning' }) : []),
    ...told(says, columns, { role: 'quiet' }),
  ];
}

/** What a screen that shows the rest as tables still has to say: parts of the chance, single set points. */
export function restLines(recipe: Recommended, columns: number, theme: Theme): Line[] {
  return [
    ...(recipe.chance ? partLines(recipe.chance, columns) : []),
    ...(recipe.setPointWindow ? setPointLines(recipe.setPointWindow, columns, theme) : []),
    ...told(recipe.says, columns, { role: 'quiet' }),
  ];
}

/** What is known of one place. */
export function recipeLines(
  recipe: Recipe,
  state: StudyState,
  columns: number,
  theme: Theme,
): Line[] {
  const { predictions, onEdge } = recipe;
  return [
    line(`   ${setPointText(recipe, theme)}`, 'strong'),
    ...predictions.flatMap((prediction) => told(predictionText(prediction, state), columns)),
    ...chanceLines(recipe, columns),
    ...roomLines(recipe, columns, theme),
    ...(onEdge.length > 0 ? told(edgeWords(onEdge), columns, { role: 'warning' }) : []),
  ];
}

function setPointText({ setPoints }: Recipe, { glyphs, isUnicode }: Theme): string {
  const { zonesCelsius, screwRpm, fanPercent, other } = setPoints;
  const more = Object.entries(other).map(([name, value]) => `    ${name} ${value}`);
  const degrees = isUnicode ? ' °C' : glyphs.degree.trimEnd().concat('C');
  return `zones ${zonesCelsius.join(isUnicode ? ' · ' : ' / ')} ${degrees.trim()}    screw ${screwRpm} rpm    fan ${fanPercent} %${more.join('')}`;
}

/** "SD of diameter 0.0098 mm (0.0084 … 0.0115), one new set-up 0.0072 … 0.0134". */
function predictionText({ name, mean, next }: SurfacePrediction, { opened }: StudyState): string {
  const response = opened.responses.find((candidate) => candidate.name === name);
  const unit = response?.kind === 'count' ? 'per m' : (response?.unit ?? '');
  const { value, low, high } = mean;
  const own = `${name} ${withinDoubt(value, low, high)}${unit === '' ? '' : ` ${unit}`}`;
  if (next.low === null || next.high === null) return own;
  const decimals = decimalsFor(next.high - next.low);
  return `${own}, one new set-up ${next.low.toFixed(decimals)} … ${next.high.toFixed(decimals)}`;
}

function chanceLines({ chance, probability }: Recipe, columns: number): Line[] {
  if (!chance)
    return probability === null
      ? told(cannotJudgeWords, columns, { role: 'warning' })
      : [line(`   chance that a spool conforms: ${probability.toFixed(2)}`, 'strong')];
  return [
    line(`   chance that a spool conforms: ${chance.says}`, 'strong'),
    ...partLines(chance, columns),
  ];
}

const partLines = ({ confidence, parts, error }: Chance, columns: number): Line[] =>
  told(
    `with ${Math.round(100 * confidence)} % confidence; computed within ${figures(Math.max(error, 1e-4), 1)}; ${parts.map((part) => `${part.says} ${part.probability.toFixed(2)}`).join('; ')}`,
    columns,
    { indent: 5, role: 'quiet' },
  );

function roomLines(recipe: Recipe, columns: number, theme: Theme): Line[] {
  const { window, setPointWindow, worstInWindow, asked } = recipe;
  if (!window) return [];
  const worst = worstInWindow === null ? '' : `, at least ${worstInWindow.toFixed(2)}`;
  return [
    ...told(
      `may wander, one at a time and (all at once${worst}), and stay above ${asked.toFixed(2)}:`,
      columns,
    ),
    ...told(window.map((range) => factorRoom(range, theme)).join(', '), columns, { indent: 5 }),
    ...(setPointWindow ? setPointLines(setPointWindow, columns, theme) : []),
  ];
}

/** "level −2.1 +3.4 °C (−0.8 +1.2)": from the centre, alone and all together. */
function factorRoom({ factor, unit, at, alone, together }: WindowRange, theme: Theme): string {
  return `${factor} ${roomText(at, alone, theme)}${unit === '' ? '' : ` ${unit}`} (${roomText(at, together, theme)})`;
}

function roomText(at: number, [low, high]: readonly [number, number], { glyphs }: Theme): string {
  const [down, up] = [at - low, high - at];
  const decimals = decimalsFor(Math.max(down, up));
  const [a, b] = [down.toFixed(decimals), up.toFixed(decimals)];
  return a === b ? `${glyphs.plusMinus}${a}` : `${glyphs.minus}${a} +${b}`;
}

/** Set points without a controller step of room are what an operator must hold exactly. */
function setPointLines(ranges: readonly SetPointRange[], columns: number, theme: Theme): Line[] {
  const tight = ranges.filter(({ hasMargin }) => !hasMargin);
  const text = ranges
    .map(({ setPoint, unit, at, alone }) => `${setPoint} ${roomText(at, alone, theme)} ${unit}`)
    .join(', ');
  return [
    ...told(`each set point alone: ${text}`, columns, { role: 'quiet' }),
    ...(tight.length > 0
      ? told(
          `No room of one controller step: ${tight.map(({ setPoint }) => setPoint).join(', ')}. Hold exactly.`,
          columns,
          { role: 'warning' },
        )
      : []),
  ];
}
