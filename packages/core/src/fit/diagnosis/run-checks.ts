import { fUpperQuantile } from '../../distribution/f.ts';
import { tTwoSided } from '../../distribution/student-t.ts';
import type { Check, RunReport } from '../report/fit-result.ts';
import { type CheckedFit, pText, someNames } from './checked-fit.ts';

/** A run that decides nearly all of its own fitted value cannot be contradicted by the others. */
const HIGH_LEVERAGE = 0.9;

/** Which runs carry the fit. */
export function leverageCheck({ runs, runName }: CheckedFit): Check | null {
  const told = runs.flatMap(({ row, leverage }) => (leverage === null ? [] : [{ row, leverage }]));
  if (told.length === 0) return null;
  const mean = told.reduce((sum, { leverage }) => sum + leverage / told.length, 0);
  const limit = Math.max(HIGH_LEVERAGE, Math.min(2 * mean, 0.999));
  const high = told.filter(({ leverage }) => leverage > limit);
  const top = told.reduce((a, b) => (b.leverage > a.leverage ? b : a));
  const says =
    high.length === 0
      ? `No run carries the fit alone: leverage is ${mean.toFixed(2)} on average and at most ${top.leverage.toFixed(2)} (${runName(top.row)}).`
      : `${someNames(high.map(({ row }) => runName(row)))} ${high.length === 1 ? 'decides' : 'decide'} nearly all of ${high.length === 1 ? 'its' : 'their'} own fitted value (leverage above ${limit.toFixed(2)}): a slip there would not be seen. Repeat ${high.length === 1 ? 'it' : 'them'}.`;
  return {
    kind: 'leverage',
    standing: high.length === 0 ? 'sound' : 'concern',
    says,
    rows: high.map(({ row }) => row),
    statistic: top.leverage,
    p: null,
    picture: {
      x: 'row',
      y: 'leverage',
      points: told.map(({ row, leverage }) => ({ row, x: row, y: leverage })),
      guides: [{ at: limit, says: 'carries the fit' }],
    },
  };
}

/** Runs that lie far from where all others put them, allowing for the number of looks. */
export function outlierCheck({ runs, dfResidual, runName }: CheckedFit): Check | null {
  const told = runs.flatMap(({ row, deletedStudentised: t }) => (t === null ? [] : [{ row, t }]));
  if (told.length === 0 || dfResidual < 2) return null;
  const top = told.reduce((a, b) => (Math.abs(b.t) > Math.abs(a.t) ? b : a));
  const allowed = (t: number): number => Math.min(1, told.length * tTwoSided(t, dfResidual - 1));
  const p = allowed(top.t);
  const far = told.filter(({ t }) => allowed(t) < 0.05);
  const where = `${Math.abs(top.t).toFixed(1)} SD ${top.t > 0 ? 'above' : 'below'} where the other runs put it`;
  const says =
    far.length === 0
      ? `No run stands apart: the farthest, ${runName(top.row)}, lies ${where}, as one in ${told.length} may (${pText(p)} after allowing for ${told.length} looks).`
      : `${runName(top.row)} lies ${where} (${pText(p)} after allowing for ${told.length} looks)${far.length > 1 ? `; so far off ${far.length === 2 ? 'is' : 'are'} also ${someNames(far.filter(({ row }) => row !== top.row).map(({ row }) => runName(row)))}` : ''}. Look for a cause before leaving anything out.`;
  return {
    kind: 'outliers',
    standing: far.length === 0 ? 'sound' : 'concern',
    says,
    rows: far.map(({ row }) => row),
    statistic: top.t,
    p,
    picture: overFitted(
      runs,
      'externally studentised residual',
      ({ deletedStudentised }) => deletedStudentised,
    ),
  };
}

/** Residuals of a kind over fitted values. */
export function overFitted(
  runs: readonly RunReport[],
  y: string,
  value: (run: RunReport) => number | null,
): Check['picture'] {
  return {
    x: 'fitted value',
    y,
    points: runs.flatMap((run) => {
      const at = value(run);
      return at === null ? [] : [{ row: run.row, x: run.fitted, y: at }];
    }),
    guides: [{ at: 0, says: '' }],
  };
}

/** Runs without which all fitted values would move far. */
export function influenceCheck({ runs, terms, dfResidual, runName }: CheckedFit): Check | null {
  const told = runs.flatMap(({ row, cooksDistance: d }) => (d === null ? [] : [{ row, d }]));
  if (told.length === 0 || dfResidual < 1) return null;
  const limit = fUpperQuantile(0.5, terms, dfResidual);
  const top = told.reduce((a, b) => (b.d > a.d ? b : a));
  const far = told.filter(({ d }) => d > limit);
  const says =
    far.length === 0
      ? `No single run moves the fit far: Cook’s distance is at most ${top.d.toPrecision(2)} (${runName(top.row)}; ${limit.toPrecision(2)} would be far).`
      : `Without ${runName(top.row)} the fit would be another: Cook’s distance ${top.d.toPrecision(2)}, above ${limit.toPrecision(2)}${far.length > 1 ? `; likewise ${someNames(far.filter(({ row }) => row !== top.row).map(({ row }) => runName(row)))}` : ''}.`;
  return {
    kind: 'influence',
    standing: far.length === 0 ? 'sound' : 'concern',
    says,
    rows: far.map(({ row }) => row),
    statistic: top.d,
    p: null,
    picture: {
      x: 'row',
      y: 'Cook’s distance',
      points: told.map(({ row, d }) => ({ row, x: row, y: d })),
      guides: [{ at: limit, says: 'moves the fit' }],
    },
  };
}

/** Plots that lie far from where the others put them. */
export function plotCheck({ plots, plotName, dfResidual }: CheckedFit): Check | null {
  if (plots.length < 4 || plotName === null || dfResidual < 2) return null;
  const top = plots.reduce((a, b) => (Math.abs(b.t) > Math.abs(a.t) ? b : a));
  const p = Math.min(1, plots.length * tTwoSided(top.t, dfResidual - 1));
  const isFar = p < 0.05;
  const where = `${Math.abs(top.t).toFixed(1)} SD ${top.t > 0 ? 'above' : 'below'} where the others put it`;
  return {
    kind: 'outlying plots',
    standing: isFar ? 'concern' : 'sound',
    says: isFar
      ? `${plotName} ${top.name} as a whole lies ${where} (${pText(p)} after allowing for ${plots.length} looks): something was different while it ran.`
      : `No ${plotName} stands apart as a whole: the farthest, ${plotName} ${top.name}, lies ${where}.`,
    rows: isFar ? [top.row] : [],
    statistic: top.t,
    p,
    picture: null,
  };
}
