import type { ResponseFit, StudyState } from '@strandwise/core';
import type { ModelCheck } from '@strandwise/report';
import type { CheckedRun } from './checked-run.ts';
import { influenceCheck } from './influence-check.ts';
import { normalCheck } from './normal-check.ts';
import { cellOfRow, type PagedResponse } from './paged-study.ts';
import { driftCheck, evenCheck } from './residual-check.ts';

/** Fewest residuals that can show a pattern. */
const fewestRuns = 5;

/**
 * Whether the model stands: even scatter, no drift, about normal, no cell that pulls alone. Figures
 * only for responses that the recipe rests on; a sentence for all.
 */
export function modelChecks(response: PagedResponse, state: StudyState): ModelCheck[] {
  const runs = checkedRuns(response, state);
  if (runs.length < fewestRuns || isExact(response.fit))
    return [
      {
        sentence: `Too few residuals, or too small ones, to show whether the model stands (${runs.length}).`,
      },
    ];
  const about = { runs, name: response.name, fit: response.fit };
  const checks = [
    evenCheck(about),
    driftCheck(about),
    normalCheck(about),
    influenceCheck(about),
  ].filter((check) => check !== null);
  return response.decides ? checks : checks.map(({ sentence }) => ({ sentence }));
}

/** True when the residuals are no more than the rounding of the fit. */
const isExact = ({ runs }: ResponseFit): boolean => {
  const size = Math.max(...runs.map(({ observed }) => Math.abs(observed)));
  return runs.every(({ residual }) => Math.abs(residual) <= 1e-10 * size);
};

function checkedRuns({ fit }: PagedResponse, state: StudyState): CheckedRun[] {
  const n = fit.runs.length;
  const sd = Math.sqrt(
    fit.runs.reduce((sum, { residual }) => sum + residual * residual, 0) / Math.max(1, n - 1),
  );
  return fit.runs.map(
    ({ row, fitted, residual, studentised, deletedStudentised, leverage, cooksDistance }) => ({
      cell: cellOfRow(state, row)?.cell ?? row,
      fitted,
      residual: studentised ?? (sd > 0 ? residual / sd : 0),
      deleted: deletedStudentised,
      leverage,
      cooks: cooksDistance,
    }),
  );
}
