import type { LinearConstraint } from '../design/design.ts';
import type { Point } from '../factor/coding.ts';
import type { Factor } from '../factor/factor.ts';
import type { SurfaceReport } from '../fit/report/surface-report.ts';
import type { Response } from '../spec/spec.ts';
import type { Estimate, ResponseSurface } from './response-surface.ts';
import { ridgePath } from './ridge-path.ts';
import { stationaryRegion } from './stationary-region.ts';
import { steepestPath } from './steepest-path.ts';
import { varianceShares } from './variance-share.ts';

export interface SurfaceReportOf {
  readonly surface: ResponseSurface;
  readonly factors: readonly Factor[];
  /** Limits of line and grade. */
  readonly constraints?: readonly LinearConstraint[];
  readonly aim?: 'smallest' | 'largest';
  /** What an operator keys in at a place; left out where no line is known. */
  readonly setPoints?: (natural: Point) => Readonly<Record<string, unknown>>;
  readonly seed: number;
}

/** The end of a response that is better: as its goal has it, else the smaller; of passing the larger. */
export const betterEnd = (
  response: Pick<Response, 'kind' | 'goal'> | undefined,
): 'smallest' | 'largest' =>
  (response?.goal?.aim ?? (response?.kind === 'pass-fail' ? 'largest' : 'smallest')) === 'largest'
    ? 'largest'
    : 'smallest';

/** Shares of variance, region of the stationary point, ridge path and steepest path of a surface. */
export function surfaceReport(request: SurfaceReportOf): SurfaceReport {
  const { shares, says } = varianceShares(request);
  return {
    response: request.surface.name,
    shares: shares.map((share) => ({ ...share })),
    sharesSay: says,
    region: regionReport(request),
    paths: [...ridgeReport(request), ...steepestReport(request)],
  };
}

function regionReport(request: SurfaceReportOf): SurfaceReport['region'] {
  const found = stationaryRegion(request);
  if (found.kind === 'none')
    return { kind: 'none', confidence: null, share: null, stretches: [], says: found.says };
  const { kind, confidence } = found;
  const stretches = found.stretches.map((stretch) => ({ ...stretch }));
  if (found.kind === 'region')
    return { kind, confidence, share: found.share, stretches, says: found.says };
  return { kind, confidence, share: null, stretches, says: `${found.why} ${found.says}` };
}

function ridgeReport(request: SurfaceReportOf): SurfaceReport['paths'] {
  const { surface, factors, aim = 'smallest' } = request;
  if (!surface.terms.some((powers) => Object.values(powers).includes(2))) return [];
  const path = ridgePath({ surface, factors, aim });
  if (path.kind !== 'path') return [];
  const says = `The ${aim} ${surface.name} at every distance from the centre.`;
  const steps = path.points.map(({ radius, coded, natural, mean }) => {
    const isOutside = Object.values(coded).some(
      (x) => typeof x === 'number' && Math.abs(x) > 1 + 1e-9,
    );
    return stepOf(request, { distance: radius, natural, mean, isOutside, broken: null });
  });
  return [{ kind: 'ridge', aim, says, steps }];
}

function steepestReport(request: SurfaceReportOf): SurfaceReport['paths'] {
  const { surface, factors, constraints = [], aim = 'smallest' } = request;
  const path = steepestPath({ surface, factors, constraints, aim });
  if (path.kind !== 'path') return [];
  return [
    {
      kind: 'steepest',
      aim,
      says: path.says,
      steps: path.steps.map((step) => stepOf(request, step)),
    },
  ];
}

function stepOf(
  { setPoints }: SurfaceReportOf,
  step: {
    readonly distance: number;
    readonly natural: Point;
    readonly mean: Estimate;
    readonly isOutside: boolean;
    readonly broken: string | null;
  },
): SurfaceReport['paths'][number]['steps'][number] {
  return {
    distance: step.distance,
    natural: { ...step.natural },
    setPoints: setPoints ? { ...setPoints(step.natural) } : null,
    mean: step.mean.value,
    low: finite(step.mean.low),
    high: finite(step.mean.high),
    isOutside: step.isOutside,
    broken: step.broken,
  };
}

/** A limit beyond all numbers, as few df give on a logarithm, is no limit. */
const finite = (limit: number | null): number | null =>
  limit !== null && Number.isFinite(limit) ? limit : null;
