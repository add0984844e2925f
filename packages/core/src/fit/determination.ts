import type { Fitted, Saturated } from './least-squares.ts';

/** Shares of the response's variation. Each is null where it has no meaning. */
export interface Determination {
  /** 1 − rss/total; about the mean when the model has a constant column, else about zero. */
  readonly rSquared: number | null;
  readonly adjustedRSquared: number | null;
  /** 1 − PRESS/total: what a run would have been predicted to, had it not been in the fit. */
  readonly predictiveRSquared: number | null;
  /** Predicted residual sum of squares Σ w (r / (1 − h))². */
  readonly press: number | null;
}

/** A run with leverage this near 1 decides its own fitted value: it cannot be left out. */
export const FULL_LEVERAGE = 1 - 1e-9;

/**
 * R², adjusted R², predictive R² and PRESS of a fit.
 *
 * All are null when the response does not vary. The predictive ones are null when some run alone
 * carries a term (leverage 1), for then the model without that run does not exist.
 *
 * @source Allen (1974), The relationship between variable selection and data augmentation and a
 *   method for prediction, Technometrics 16:125–127 (PRESS)
 */
export function determination(fit: Fitted | Saturated): Determination {
  const nothing = {
    rSquared: null,
    adjustedRSquared: null,
    predictiveRSquared: null,
    press: null,
  };
  if (!(fit.totalSs > 0)) return nothing;
  const rSquared = 1 - fit.rss / fit.totalSs;
  if (fit.kind === 'saturated') return { ...nothing, rSquared };
  const dfTotal = fit.residuals.length - (fit.constantColumn === null ? 0 : 1);
  const adjustedRSquared = 1 - fit.rss / fit.dfResidual / (fit.totalSs / dfTotal);
  const press = pressOf(fit);
  return {
    rSquared,
    adjustedRSquared,
    press,
    predictiveRSquared: press === null ? null : 1 - press / fit.totalSs,
  };
}

function pressOf({ residuals, leverages, weights }: Fitted): number | null {
  let press = 0;
  for (let i = 0; i < residuals.length; i++) {
    if (leverages[i]! > FULL_LEVERAGE) return null;
    const left = residuals[i]! / (1 - leverages[i]!);
    press += left * left * (weights ? weights[i]! : 1);
  }
  return press;
}
