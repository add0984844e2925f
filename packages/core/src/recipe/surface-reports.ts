import { DomainError } from '../error/domain-error.ts';
import type { Point } from '../factor/coding.ts';
import type { SurfaceReport } from '../fit/report/surface-report.ts';
import { studyDefaults } from '../study/run-table.ts';
import { betterEnd, surfaceReport } from '../surface/surface-report.ts';
import { setPointsOf } from '../trade/limits.ts';
import type { Predictor } from './predictor.ts';

/** What every fitted surface of a study looks like, ways to better values in set points. */
export function surfaceReports({ state, surfaces, constraints }: Predictor): SurfaceReport[] {
  const { factors, line, responses, seed } = state.opened;
  const setPoints = (natural: Point) => setPointsOf(natural, factors, line, studyDefaults(state));
  return surfaces.map((surface) => {
    const aim = betterEnd(responses.find(({ name }) => name === surface.name));
    const request = { surface, factors, constraints, aim, seed } as const;
    try {
      return surfaceReport({ ...request, setPoints });
    } catch (error) {
      // A study of something that the line does not know keeps to its own factors.
      if (error instanceof DomainError && error.code === 'missing_setting')
        return surfaceReport(request);
      throw error;
    }
  });
}
