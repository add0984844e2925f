import { betaQuantile, type Check, normalQuantile, type StudyState } from '@strandwise/core';
import type { CaptionedFigure, Figure, ModelCheck, ScatterPoint } from '@strandwise/report';
import { cellOfRow, inCells, type PagedResponse } from './paged-study.ts';
import { capital } from './sentence.ts';

/** Every check of a fit, its sentence as `fit` says it, with its picture where there is one. */
export function modelChecks({ fit, decides }: PagedResponse, state: StudyState): ModelCheck[] {
  return fit.checks.map((check) => {
    const sentence = inCells(check.says, state);
    const figure = decides ? checkFigure(check, fit.name, state) : null;
    return figure ? { sentence, figure } : { sentence };
  });
}

const standingWords: Readonly<Record<Check['standing'], string>> = {
  sound: 'nothing against it',
  concern: 'a concern',
  unknown: 'cannot be told',
};

function checkFigure(check: Check, response: string, state: StudyState): CaptionedFigure | null {
  if (!check.picture) return null;
  return {
    caption: `${capital(check.kind)}: ${standingWords[check.standing]}`,
    figure: {
      ...pictureOf(check, state),
      size: 'half',
      title: `${capital(check.kind)}, ${response}`,
      description: inCells(check.says, state),
    },
  };
}

type Picture = NonNullable<Check['picture']>;
type Undrawn = Extract<Figure, { kind: 'residuals' | 'influence' | 'normal-quantile' }>;

function pictureOf({ kind, picture, rows }: Check, state: StudyState): Undrawn {
  const { x, y, points, guides } = picture!;
  const words = { title: '', description: '' };
  const cell = (row: number): number => cellOfRow(state, row)?.cell ?? row;
  if (kind === 'influence' || kind === 'leverage')
    return {
      ...words,
      kind: 'influence',
      runOrders: points.map(({ row }) => cell(row)),
      panels: [
        {
          label: y,
          guide: guides[0]?.at ?? Math.max(...points.map((point) => point.y)),
          guideWords: guides[0]?.says ?? '',
          values: points.map((point) => point.y),
        },
      ],
    };
  const marks = points.map((point): ScatterPoint => {
    const isOutlying = rows.includes(point.row);
    return {
      x: x === 'row' ? cell(point.row) : point.x,
      y: point.y,
      ...(isOutlying ? { isOutlying, label: `cell ${cell(point.row)}` } : {}),
    };
  });
  if (kind === 'normality')
    return {
      ...words,
      kind: 'normal-quantile',
      x: { label: x },
      y: { label: y },
      points: marks,
      ...normalSample(picture!),
    };
  return {
    ...words,
    kind: 'residuals',
    x: { label: x === 'row' ? 'cell' : x },
    y: { label: y },
    points: marks,
    over: kind.startsWith('drift') ? 'order' : 'values',
    ...(guides.length > 0 ? { lines: guides } : {}),
  };
}

/** Where a normal sample of that mean and SD would lie, and the band that holds each point 19 times in 20. */
function normalSample({ points }: Picture) {
  const n = points.length;
  const mean = points.reduce((sum, { y }) => sum + y, 0) / n;
  const sd = Math.sqrt(points.reduce((sum, { y }) => sum + (y - mean) ** 2, 0) / (n - 1));
  const across = points.map(({ x }) => x).sort((a, b) => a - b);
  return {
    line: { intercept: mean, slope: sd },
    band: across.map((x, i) => {
      const at = (p: number): number => mean + sd * normalQuantile(betaQuantile(p, i + 1, n - i));
      return { x, low: at(0.025), high: at(0.975) };
    }),
  };
}
