import type { Recipe, Recommendation, StudyState, SurfacePrediction } from '@strandwise/core';
import { figures, withinDoubt } from '../terminal/number.ts';
import type { Theme } from '../theme.ts';

/** The recommendation in a dozen lines: set points first, then what to expect and how far it may wander. */
export function recommendationText(
  recommendation: Recommendation,
  state: StudyState,
  theme: Theme,
): string {
  switch (recommendation.kind) {
    case 'no model':
    case 'nothing feasible':
      return theme.paint('warning', recommendation.says);
    case 'nowhere acceptable':
      return [
        theme.paint(
          'warning',
          'Not with these data: no setting is acceptable in every response. The nearest miss:',
        ),
        ...recipeLines(recommendation, state, theme),
      ].join('\n');
    case 'found':
      return recipeLines(recommendation, state, theme).join('\n');
  }
}

function recipeLines(recipe: Recipe, state: StudyState, theme: Theme): string[] {
  const { setPoints, predictions, requirements, probability, asked } = recipe;
  const zones = setPoints.zonesCelsius.join(' · ');
  return [
    theme.paint(
      'strong',
      `zones ${zones} °C    screw ${setPoints.screwRpm} rpm    fan ${setPoints.fanPercent} %`,
    ),
    '',
    '  expected there (95 %)                  mean                          one new set-up',
    ...predictions.map((prediction) => `    ${predictionText(prediction, state)}`),
    '',
    ...(probability === null
      ? [theme.paint('warning', '  The data cannot judge how likely a spool conforms.')]
      : [
          theme.paint('strong', `  chance that a new set-up conforms: ${probability.toFixed(2)}`),
          ...requirements.map(
            ({ says, probability: p }) =>
              `    ${says}: ${p === null ? 'cannot say' : p.toFixed(2)}`,
          ),
        ]),
    ...windowLines(recipe),
    ...(recipe.onEdge.length > 0
      ? [
          theme.paint(
            'warning',
            `  ${recipe.onEdge.join(', ')} at the end of the studied range: better settings may lie beyond it, untested.`,
          ),
        ]
      : []),
    ...(probability !== null && probability < asked
      ? [
          theme.paint(
            'warning',
            `  Below the ${asked} asked: there is no window with these data. Confirm, replicate or move the ranges.`,
          ),
        ]
      : []),
  ];
}

function predictionText({ name, mean, next }: SurfacePrediction, { opened }: StudyState): string {
  const response = opened.responses.find((candidate) => candidate.name === name);
  const unit = response?.kind === 'count' ? 'per m' : (response?.unit ?? '');
  const text = ({ value, low, high }: SurfacePrediction['mean']): string =>
    withinDoubt(value, low, high);
  return `${`${name}${unit === '' ? '' : `, ${unit}`}`.padEnd(24)} ${text(mean).padEnd(32)} ${text(next)}`;
}

function windowLines({ window, asked, worstInWindow }: Recipe): string[] {
  if (!window) return [];
  return [
    '',
    `  window: may wander and keep a chance of ${asked}`,
    ...window.map(({ factor, unit, at, alone, together }) => {
      const range = ([low, high]: readonly [number, number]): string =>
        `${figures(low)} … ${figures(high)}`;
      return `    ${factor.padEnd(8)} ${figures(at).padStart(6)} ${unit.padEnd(4)}  alone ${range(alone).padEnd(16)} all together ${range(together)}`;
    }),
    ...(worstInWindow === null
      ? []
      : [`    smallest chance in the joint box: ${worstInWindow.toFixed(2)}`]),
  ];
}
