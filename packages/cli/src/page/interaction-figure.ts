import type { Estimate, InteractionEffect, NamedEffect } from '@strandwise/core';
import { isNumeric } from '@strandwise/core';
import type { CaptionedFigure, FittedPoint } from '@strandwise/report';
import type { PagedResponse } from './paged-study.ts';
import type { ResponseEffects } from './response-effects.ts';
import { capital } from './sentence.ts';
import { settingText } from './setting.ts';

/** A pair as two lines with intervals. */
export function interactionFigure(
  { factors: [along, held], lines, says }: InteractionEffect,
  { response, factors }: ResponseEffects,
): CaptionedFigure {
  const across = factors.find(({ name }) => name === along)!;
  const second = factors.find(({ name }) => name === held)!;
  const levels = isNumeric(across) ? undefined : across.levels;
  return {
    caption: `${capital(says.replace(/\bit\b/, response.name))}`,
    note: `Fitted means with 95${'\u202f'}% intervals, the other factors at centre.`,
    figure: {
      kind: 'interaction',
      size: 'half',
      title: `${response.name} over ${along}, at settings of ${held}`,
      description: `One line a setting of ${held}: ${lines.map((line) => settingText(line.held, second)).join(', ')}. ${capital(says)}.`,
      x: axisOf(along, isNumeric(across) ? across.unit : undefined),
      y: axisOf(response.name, response.unit),
      ...(levels ? { levels } : {}),
      series: lines.map((line) => ({
        name: `${held} ${settingText(line.held, second)}`,
        points: line.points.map(({ at, mean }, i) =>
          fittedPoint(typeof at === 'number' ? at : i, mean),
        ),
      })),
    },
  };
}

/** The levels of a named factor with their fitted means. */
export function levelFigure(
  { factor, levels, says, widest }: NamedEffect,
  response: PagedResponse,
): CaptionedFigure {
  return {
    caption: widest.isClear
      ? `Of ${factor}, ${says} in ${response.name}`
      : `The levels of ${factor} cannot be told apart in ${response.name}`,
    note: `Fitted means with 95${'\u202f'}% intervals, numeric factors at centre.`,
    figure: {
      kind: 'interaction',
      size: 'half',
      title: `${response.name} by ${factor}`,
      description: `Fitted means of ${levels.map(({ level }) => level).join(', ')} with their intervals.`,
      x: { label: factor },
      y: axisOf(response.name, response.unit),
      levels: levels.map(({ level }) => level),
      series: [{ name: 'mean', points: levels.map(({ mean }, i) => fittedPoint(i, mean)) }],
    },
  };
}

/** A mean with its interval; without one the point stands alone. */
export const fittedPoint = (x: number, { value, low, high }: Estimate): FittedPoint => ({
  x,
  estimate: value,
  low: low ?? value,
  high: high ?? value,
});

export const axisOf = (
  label: string,
  unit: string | undefined,
): { label: string; unit?: string } =>
  unit === undefined || unit === '' ? { label } : { label, unit };
