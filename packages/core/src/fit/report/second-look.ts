import { boxCox } from '../box-cox.ts';
import { factorialEffects } from '../effect.ts';
import type { Saturated } from '../least-squares.ts';
import { lenth } from '../lenth.ts';
import { lenthCritical } from '../lenth-simulation.ts';
import type { PowerReport } from './fit-result.ts';
import type { Prepared } from './prepared.ts';
import type { LenthReport } from './screening-result.ts';

/**
 * Lenth's reading, when the design is a saturated two-level one: every column at −1 and +1 and all
 * of them orthogonal, so that the effects have one variance. Null otherwise.
 */
export function lenthReport({ model }: Prepared, fit: Saturated): LenthReport | null {
  const { rows: n, cols: p, data } = model.x;
  if (p < 4 || model.columns.some((column) => column.isAside)) return null;
  for (const value of data) if (Math.abs(Math.abs(value) - 1) > 1e-9) return null;
  for (let a = 0; a < p; a++)
    for (let b = a + 1; b < p; b++)
      if (Math.abs(fit.unscaledCovariance.data[a * p + b]! * n) > 1e-9) return null;
  const effects = factorialEffects(fit.coefficients.slice(1));
  const { pse, df, me, sme, effects: read } = lenth(effects);
  return {
    pse,
    df,
    me,
    sme,
    simulated: lenthCritical(effects.length),
    effects: read.map(({ effect, p: share }, j) => ({
      name: model.columns[j + 1]!.name,
      effect,
      p: share,
    })),
  };
}

/** The power that suits a continuous, positive response; null when there is none to name. */
export function powerReport({ response, model, y, weights }: Prepared): PowerReport | null {
  if (response.kind !== 'continuous' || weights) return null;
  const found = boxCox(model.x, y);
  if (found.kind !== 'profiled') return null;
  return { lambda: found.lambda, low: found.interval[0], high: found.interval[1] };
}

/** Speaks up only when the plain scale is outside the interval. */
export function powerRemarks(name: string, power: PowerReport | null): string[] {
  if (!power) return [];
  const isPlainKept = (power.low ?? -Infinity) <= 1 && 1 <= (power.high ?? Infinity);
  if (isPlainKept) return [];
  const range = [power.low, power.high].map((end) => (end === null ? 'open' : end.toFixed(1)));
  const logged = (power.low ?? -Infinity) <= 0 && 0 <= (power.high ?? Infinity);
  return [
    `The scatter of ${name} suits a power of about ${power.lambda.toFixed(1)} (${range.join(' to ')}) better than the plain value${logged ? '; the logarithm would serve' : ''}.`,
  ];
}
