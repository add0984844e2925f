import {
  type Factor,
  type FactorEffect,
  type FitResult,
  factorEffects,
  type ResponseFit,
  responseSurface,
} from '@strandwise/core';
import { figures, percent, pValue } from '../terminal/number.ts';
import type { Theme } from '../theme.ts';

/** A whole fit as text: per response what matters, the terms, and what cannot be said. */
export function fitText(result: FitResult, factors: readonly Factor[], theme: Theme): string {
  return result.responses.map((fit) => responseText(fit, factors, theme)).join('\n\n');
}

function responseText(fit: ResponseFit, factors: readonly Factor[], theme: Theme): string {
  const { cells } = fit;
  const failed =
    cells.failed.length > 0
      ? `, ${cells.failed.length} without a value (rows ${cells.failed.join(', ')})`
      : '';
  return [
    theme.paint(
      'strong',
      `${scaleWords(fit)}: ${fit.method}, ${cells.used} of ${cells.total} cells${failed}`,
    ),
    ...fit.strata.map((says) => `  ${says}`),
    ...effectLines(fit, factors),
    ...termLines(fit),
    ...factLines(fit),
    ...fit.cannotSay.map(({ says }) => theme.paint('warning', `  cannot say: ${says}`)),
    ...fit.remarks.map((says) => `  ${says}`),
  ].join('\n');
}

function scaleWords({ name, scale }: ResponseFit): string {
  switch (scale) {
    case 'response':
      return name;
    case 'ln response':
      return `ln ${name}`;
    case 'ln rate':
      return `ln rate of ${name}`;
    case 'log odds':
      return `log odds of ${name}`;
  }
}

function effectLines(fit: ResponseFit, factors: readonly Factor[]): string[] {
  const surface = responseSurface(fit, factors);
  if (!surface) return [];
  const effects = factorEffects(surface, factors);
  if (effects.length === 0) return [];
  return [
    '',
    '  from low to high, the others at centre',
    ...effects.map((effect) => `    ${effectText(effect)}`),
  ];
}

/** One effect as a line: range, change with its interval, reading. */
export function effectText(effect: FactorEffect): string {
  const range =
    `${effect.factor.padEnd(8)} ${figures(effect.low)} to ${figures(effect.high)} ${effect.unit}`.padEnd(
      30,
    );
  const text = (value: number): string => (effect.isRatio ? percent(value) : figures(value));
  const { value, low, high } = effect.change;
  const interval = low === null || high === null ? '' : `(${text(low)} … ${text(high)})`;
  const bend = effect.bend
    ? `, ${effect.bend.kind === 'bowl' ? 'lowest' : 'highest'} near ${figures(effect.bend.at)} ${effect.unit}`
    : '';
  return `${range} ${text(value).padStart(9)} ${interval.padEnd(22)} ${effect.reading}${effect.reading === 'bends' ? bend : ''}`.trimEnd();
}

function termLines({ terms }: ResponseFit): string[] {
  if (terms.length === 0) return [];
  const width = Math.max(5, ...terms.map(({ name }) => name.length));
  const head = `  ${'term'.padEnd(width)}  ${'estimate'.padStart(11)} ${'std. error'.padStart(11)} ${'df'.padStart(6)} ${'statistic'.padStart(9)}  p`;
  return [
    '',
    head,
    ...terms.map(({ name, estimate, standardError, df, statistic, p }) =>
      `  ${name.padEnd(width)}  ${figures(estimate, 5).padStart(11)} ${optional(standardError, 4).padStart(11)} ${df === null ? ''.padStart(6) : df.toFixed(1).padStart(6)} ${optional(statistic, 3).padStart(9)}  ${pValue(p)}`.trimEnd(),
    ),
  ];
}

const optional = (value: number | null, digits: number): string =>
  value === null ? '' : figures(value, digits);

function factLines(fit: ResponseFit): string[] {
  const {
    residualSd,
    rSquared,
    adjustedRSquared,
    predictiveRSquared,
    lackOfFit,
    stationaryPoint,
    varianceComponents,
  } = fit;
  const shares = [
    rSquared === null ? null : `R² ${figures(rSquared)}`,
    adjustedRSquared === null ? null : `adjusted ${figures(adjustedRSquared)}`,
    predictiveRSquared === null ? null : `predictive ${figures(predictiveRSquared)}`,
    residualSd === null ? null : `residual SD ${figures(residualSd, 4)}`,
  ].filter((text) => text !== null);
  return [
    ...(shares.length > 0 ? ['', `  ${shares.join(', ')}`] : []),
    ...(varianceComponents.length > 1
      ? [
          `  SD between ${varianceComponents.map(({ name, standardDeviation }) => `${name} ${figures(standardDeviation)}`).join(', ')}`,
        ]
      : []),
    ...(lackOfFit ? [`  lack of fit: ${lackOfFit.says}`] : []),
    ...(stationaryPoint ? [`  ${stationaryPoint.says}`] : []),
  ];
}
