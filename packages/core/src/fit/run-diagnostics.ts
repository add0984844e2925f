import { FULL_LEVERAGE } from './determination.ts';
import type { Fitted } from './least-squares.ts';

/** How one run sits in the fit. Nulls: the run alone decides its fitted value (leverage 1). */
export interface RunDiagnostics {
  readonly fitted: number;
  readonly residual: number;
  readonly leverage: number;
  /** Internally studentised: √w·r / (s·√(1 − h)). */
  readonly studentised: number | null;
  /** Externally studentised: s taken without the run; a t on dfResidual − 1. */
  readonly deletedStudentised: number | null;
  /** Cook's distance: how far all fitted values move when the run leaves. */
  readonly cooksDistance: number | null;
}

/**
 * Diagnostics of every run of a fit.
 *
 * @source Cook & Weisberg (1982), Residuals and Influence in Regression, §2.2 and §3.1
 */
export function runDiagnostics(fit: Fitted): RunDiagnostics[] {
  const p = fit.coefficients.length;
  const df = fit.dfResidual;
  return Array.from(fit.residuals, (residual, i) => {
    const leverage = fit.leverages[i]!;
    const row = { fitted: fit.fitted[i]!, residual, leverage };
    if (leverage > FULL_LEVERAGE || fit.isPerfect)
      return { ...row, studentised: null, deletedStudentised: null, cooksDistance: null };
    const root = fit.weights ? Math.sqrt(fit.weights[i]!) : 1;
    const studentised = (root * residual) / (fit.residualSd * Math.sqrt(1 - leverage));
    const left = df - studentised * studentised;
    return {
      ...row,
      studentised,
      // Without the run nothing is left to judge it by when its residual holds the whole rss.
      deletedStudentised:
        df > 1 && left > 1e-9 * df ? studentised * Math.sqrt((df - 1) / left) : null,
      cooksDistance: (studentised * studentised * leverage) / ((1 - leverage) * p),
    };
  });
}
