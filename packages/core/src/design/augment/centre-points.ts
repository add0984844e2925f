import { DomainError } from '../../error/domain-error.ts';
import type { Point } from '../../factor/coding.ts';
import { type Factor, isNamed, isNumeric } from '../../factor/factor.ts';
import type { Design, DesignRun } from '../design.ts';
import { runAt } from '../point-kind.ts';

/**
 * The design with centre points added: every numeric factor at coded zero. A named factor has no
 * centre, so the points are repeated at every combination of named levels.
 *
 * @param count - points added in each block (and at each combination of named levels); 0 adds none
 * @param where - `each block`, or `new block` when they are run on another day
 * @throws {DomainError} `no_centre` when no factor is numeric
 */
export function withCentrePoints(
  design: Design,
  count: number,
  where: 'each block' | 'new block' = 'each block',
): Design {
  if (count === 0) return design;
  const { factors, runs } = design;
  if (!factors.some(isNumeric)) {
    throw new DomainError(
      'no_centre',
      `withCentrePoints: at least one factor must be numeric; got named levels only (${factors.map(({ name }) => name).join(', ')}). Use replicates instead.`,
    );
  }
  const blocks = [...new Set(runs.map(({ block }) => block))].sort((a, b) => a - b);
  const into = where === 'each block' ? blocks : [(blocks.at(-1) ?? 0) + 1];
  const centres = centrePointsOf(factors);
  const before = runs.filter(({ kind }) => kind === 'centre').length;
  const added = into.flatMap((block) =>
    centres.flatMap((point) => Array.from({ length: count }, () => runAt(point, factors, block))),
  );
  return {
    ...design,
    runs: byBlock([...runs, ...added]),
    notes: [...design.notes, centreNote(before, added.length, centres.length, where)],
  };
}

/** The centre at each combination of named levels. */
function centrePointsOf(factors: readonly Factor[]): Point[] {
  let points: Point[] = [{}];
  for (const factor of factors) {
    const settings: readonly (number | string)[] = isNamed(factor) ? factor.levels : [0];
    points = points.flatMap((point) =>
      settings.map((setting) => ({ ...point, [factor.name]: setting })),
    );
  }
  return points;
}

/** Runs of one block together, otherwise in the order given. */
export function byBlock(runs: readonly DesignRun[]): DesignRun[] {
  return runs
    .map((run, at) => ({ run, at }))
    .sort((a, b) => a.run.block - b.run.block || a.at - b.at)
    .map(({ run }) => run);
}

function centreNote(before: number, added: number, combinations: number, where: string): string {
  const spread =
    combinations > 1
      ? ` They are repeated at each of the ${combinations} combinations of named levels.`
      : '';
  const place = where === 'new block' ? 'a new block' : 'each block';
  return `Centre points: before ${before}, after ${before + added}, added in ${place}. They show curvature and drift, and repeats among them give pure error.${spread}`;
}
