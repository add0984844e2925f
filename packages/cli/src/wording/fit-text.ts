import {
  type Factor,
  type FitResult,
  type Response,
  type ResponseFit,
  type ResponseSurface,
  responseSurface,
  type SurfaceReport,
  scaleName,
} from '@strandwise/core';
import { inLetters } from '../terminal/ascii.ts';
import { type Line, line, painted } from '../terminal/line.ts';
import type { Theme } from '../theme.ts';
import { checkLines } from './check-lines.ts';
import { effectTable } from './effect-table.ts';
import { contrastLines, factLines, termLines } from './model-lines.ts';
import { lenthLines, twoStageLines } from './screening-lines.ts';
import { sensitivityLines } from './sensitivity-lines.ts';
import { squareLines } from './square-lines.ts';
import { surfaceLines } from './surface-lines.ts';
import { told } from './told.ts';

/** What a fit is told with besides its numbers. */
export interface FitWords {
  /** Surfaces to read effects from, by the name of their response; the fit's own when left out. */
  readonly surfaces?: readonly ResponseSurface[];
  readonly responses?: readonly Response[];
  readonly columns?: number;
}

/** A whole fit as text: per response what matters, whether the fit stands, the terms, what cannot be said. */
export function fitText(
  result: FitResult,
  factors: readonly Factor[],
  theme: Theme,
  words: FitWords = {},
): string {
  return result.responses
    .map((fit) => {
      const report = result.surfaces?.find(({ response }) => response === fit.name);
      const lines = responseLines(fit, factors, theme, { ...words, ...(report ? { report } : {}) });
      return painted(inLetters(lines, theme), theme);
    })
    .join('\n\n');
}

function responseLines(
  fit: ResponseFit,
  factors: readonly Factor[],
  theme: Theme,
  words: FitWords & { readonly report?: SurfaceReport },
): Line[] {
  const columns = words.columns ?? 100;
  const unit = words.responses?.find(({ name }) => name === fit.name)?.unit ?? '';
  const parts = [
    mattersLines(fit, factors, theme, { ...words, columns }),
    lenthLines(fit, columns, theme),
    twoStageLines(fit, columns),
    checkLines(fit, columns),
    sensitivityLines(fit, columns),
    termLines(fit, columns),
    squareLines(fit, columns),
    factLines(fit, columns),
    words.report ? surfaceLines(words.report, factors, { columns, unit }) : [],
    contrastLines(fit, columns),
    cannotSayLines(fit, columns),
    fit.remarks.flatMap((says) => told(says, columns)),
  ].filter((part) => part.length > 0);
  return [
    line(headOf(fit), 'strong'),
    ...parts.flatMap((part, i) => (i === 0 ? part : [line(), ...part])),
  ];
}

/** "ln SD of diameter · restricted maximum likelihood · 28 of 30 cells, 2 without a value". */
export function headOf(fit: ResponseFit): string {
  const { cells, method } = fit;
  const failed = cells.failed.length > 0 ? `, ${cells.failed.length} without a value` : '';
  return `${scaleName(fit)} · ${method} · ${cells.used} of ${cells.total} cells${failed}`;
}

/** What matters, and what models that are nearly as good agree on. */
export function mattersLines(
  fit: ResponseFit,
  factors: readonly Factor[],
  theme: Theme,
  { surfaces, responses, columns = 100 }: FitWords,
): Line[] {
  const surface = surfaces?.find(({ name }) => name === fit.name) ?? responseSurface(fit, factors);
  const response = responses?.find(({ name }) => name === fit.name);
  const options = { columns, aim: response?.goal?.aim, unit: response?.unit };
  return [
    ...(surface ? effectTable(surface, factors, options, theme) : []),
    ...(fit.alternatives ? told(fit.alternatives.says, columns) : []),
  ];
}

export const cannotSayLines = ({ cannotSay }: ResponseFit, columns: number): Line[] =>
  cannotSay.flatMap(({ says }) => told(`cannot say: ${says}`, columns, { role: 'warning' }));
