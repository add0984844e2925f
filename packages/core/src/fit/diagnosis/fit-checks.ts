import type { Check } from '../report/fit-result.ts';
import { type CheckedFit, CONCERN, HINT, pText } from './checked-fit.ts';
import { clockDriftCheck, orderDriftCheck } from './drift-check.ts';
import {
  influenceCheck,
  leverageCheck,
  outlierCheck,
  overFitted,
  plotCheck,
} from './run-checks.ts';
import { normalityCheck, varianceCheck } from './scatter-checks.ts';

/** Every look at whether a fit stands that its runs allow, in the order a reader wants them. */
export function fitChecks(given: CheckedFit): Check[] {
  return [
    lackOfFitCheck(given),
    outlierCheck(given),
    influenceCheck(given),
    leverageCheck(given),
    plotCheck(given),
    normalityCheck(given),
    varianceCheck(given),
    orderDriftCheck(given),
    clockDriftCheck(given),
    floorCheck(given),
  ].filter((check) => check !== null);
}

function lackOfFitCheck({ lackOfFit, runs }: CheckedFit): Check | null {
  if (!lackOfFit) return null;
  const base = { kind: 'lack of fit' as const, rows: [] };
  const picture = overFitted(runs, 'residual', ({ residual }) => residual);
  const { f, pValue: p } = lackOfFit;
  if (f === null || p === null) {
    const says = `Lack of fit is ${lackOfFit.says}.`;
    return { ...base, standing: 'unknown', says, statistic: null, p: null, picture };
  }
  const numbers = `${pText(p)}, F ${f.toPrecision(2)} on ${rounded(lackOfFit.df)} and ${rounded(lackOfFit.pureErrorDf)} df`;
  const says =
    p >= HINT
      ? `Lack of fit: none seen (${numbers}).`
      : `The model ${p < CONCERN ? 'bends otherwise than' : 'may bend otherwise than'} the runs do (${numbers}): terms are missing, or the ranges are too wide for a quadratic.`;
  return { ...base, standing: p < CONCERN ? 'concern' : 'sound', says, statistic: f, p, picture };
}

const rounded = (df: number | null): string =>
  df === null ? '?' : Number.isInteger(Number(df.toFixed(6))) ? df.toFixed(0) : df.toFixed(1);

/** Below this many floors a spread is the gauge's rather than the strand's. */
const AT_FLOOR = 1.1;
const NEAR_FLOOR = Math.SQRT2;

function floorCheck({ floor, runs, name, runName }: CheckedFit): Check | null {
  if (floor === null || !(floor > 0) || runs.length === 0) return null;
  const line = Math.log(floor);
  const at = runs.filter(({ observed }) => observed < line + Math.log(AT_FLOOR));
  const near = runs.filter(({ observed }) => observed < line + Math.log(NEAR_FLOOR));
  const least = runs.reduce((a, b) => (b.observed < a.observed ? b : a));
  const ratio = Math.exp(least.observed - line);
  const says =
    at.length > 0
      ? `${at.length} of ${runs.length} values of ${name} are what the gauge alone would show (${floor.toPrecision(2)}; ${runName(least.row)} the lowest): below that nothing can be claimed.`
      : near.length > 0
        ? `The gauge makes up much of ${name} in ${near.length} of ${runs.length} runs (floor ${floor.toPrecision(2)}): effects look smaller than they are.`
        : `The gauge does not limit the claims: the smallest ${name} is ${ratio.toFixed(1)} times its floor (${floor.toPrecision(2)}).`;
  return {
    kind: 'gauge floor',
    standing: at.length > 0 ? 'concern' : 'sound',
    says,
    rows: at.map(({ row }) => row),
    statistic: ratio,
    p: null,
    picture: {
      x: 'row',
      y: `ln ${name}`,
      points: runs.map(({ row, observed }) => ({ row, x: row, y: observed })),
      guides: [{ at: line, says: 'gauge floor' }],
    },
  };
}
