import type { Check } from '../report/fit-result.ts';
import { type CheckedFit, CONCERN, HINT, pText } from './checked-fit.ts';
import { constantVariance } from './constant-variance.ts';
import { normality } from './normality.ts';
import { overFitted } from './run-checks.ts';

/** Is the scatter normal, by Shapiro and Francia on studentised residuals. */
export function normalityCheck({ runs, runName }: CheckedFit): Check | null {
  const told = runs.flatMap(({ row, studentised: r }) => (r === null ? [] : [{ row, r }]));
  if (told.length === 0) return null;
  const result = normality(Float64Array.from(told, ({ r }) => r));
  const base = { kind: 'normality' as const, rows: [], statistic: null, p: null, picture: null };
  if (result.kind !== 'tested')
    return {
      ...base,
      standing: 'unknown',
      says: 'Too few runs to tell whether the scatter is normal.',
    };
  const { w, p, points } = result;
  const end = points.reduce((a, b) => (Math.abs(b.value) > Math.abs(a.value) ? b : a));
  const says =
    p >= HINT
      ? `The scatter looks normal (Shapiro–Francia W′ ${w.toFixed(3)}, ${pText(p)}).`
      : `The scatter is ${p < CONCERN ? 'not' : 'perhaps not'} normal (Shapiro–Francia W′ ${w.toFixed(3)}, ${pText(p)}); ${runName(told[end.index]!.row)} lies farthest out. Tests hold roughly, intervals for single set-ups less so.`;
  return {
    ...base,
    standing: p < CONCERN ? 'concern' : 'sound',
    says,
    statistic: w,
    p,
    picture: {
      x: 'normal score',
      y: 'studentised residual',
      points: points.map(({ index, score, value }) => ({
        row: told[index]!.row,
        x: score,
        y: value,
      })),
      guides: [],
    },
  };
}

/** Does the scatter grow with the response. */
export function varianceCheck({ runs, scaleName }: CheckedFit): Check | null {
  const told = runs.filter(({ studentised }) => studentised !== null);
  if (told.length === 0) return null;
  const result = constantVariance(
    Float64Array.from(told, ({ studentised }) => studentised!),
    Float64Array.from(told, ({ fitted }) => fitted),
  );
  const base = { kind: 'constant variance' as const, rows: [], statistic: null, p: null };
  const picture = overFitted(runs, 'studentised residual', ({ studentised }) => studentised);
  if (result.kind === 'cannot')
    return {
      ...base,
      standing: 'unknown',
      says: `Whether the scatter is even cannot be told: ${result.words}.`,
      picture,
    };
  const { statistic, p, sdRatio } = result;
  const way = sdRatio > 1 ? 'grows' : 'shrinks';
  const times = Math.max(sdRatio, 1 / sdRatio).toFixed(1);
  const says =
    p >= HINT
      ? `The scatter is even from low to high values of ${scaleName} (${pText(p)}).`
      : `The scatter ${p < CONCERN ? '' : 'perhaps '}${way} with ${scaleName}, about ${times} times from end to end (${pText(p)}): errors are ${way === 'grows' ? 'too small at high and too large at low' : 'too large at high and too small at low'} values.`;
  return { ...base, standing: p < CONCERN ? 'concern' : 'sound', says, statistic, p, picture };
}
