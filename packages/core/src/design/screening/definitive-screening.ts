import { z } from 'zod';
import { DomainError } from '../../error/domain-error.ts';
import { type Factor, isNamed, isNumeric } from '../../factor/factor.ts';
import type { Dense } from '../../linear/dense.ts';
import { replicated } from '../augment/replicate.ts';
import type { Design, DesignRun } from '../design.ts';
import {
  assertFactorCount,
  assertTwoLevel,
  commonOptions,
  designFamily,
} from '../family-definition.ts';
import { pointOf, runAt } from '../point-kind.ts';
import { conferenceMatrix, conferenceOrders } from './conference.ts';
import { mainEffectOverlap } from './main-effect-overlap.ts';
import { type NamedFill, namedFill } from './named-fill.ts';

const family = 'definitive screening';

/** Three levels, two runs a factor and a few more, main effects clear of every second-order effect. */
export const definitiveScreening = designFamily({
  name: family,
  says: 'Main effects clear of interactions and curvature in about two runs a factor; the strongest curvature shows too.',
  options: z.strictObject({
    ...commonOptions,
    /** All centre runs together, 1 unless said; with named factors an even number. */
    centrePoints: z.int().min(1).max(50).optional(),
    /** Columns left without a factor: each gives one more degree of freedom for error, two runs a piece. */
    spareColumns: z.int().min(0).max(8).default(0),
    /** What named factors must keep when they cannot keep both. */
    namedFactors: z.enum(['clear of interactions', 'orthogonal']).default('clear of interactions'),
  }),
  build: ({ factors, options }) => {
    assertFactorCount(family, factors, {
      least: 4,
      most: 16,
      instead:
        factors.length < 4
          ? 'Use "central composite" or "box-behnken".'
          : 'Use "plackett-burman", or leave factors out.',
    });
    assertTwoLevel(family, factors);
    assertSomeNumeric(factors);
    const order = orderFor(factors.length + options.spareColumns);
    const c = conferenceMatrix(order);
    const fill = namedFill(c, namedPositions(factors), {
      keep: options.namedFactors,
      centrePoints: options.centrePoints,
    });
    const runs = foldedPairs(c, factors, fill);
    const bare: Design = { family, factors, runs, notes: [] };
    const design = { ...bare, notes: notesOf(bare, order, fill) };
    return replicated(design, options.replicates);
  },
});

const namedPositions = (factors: readonly Factor[]): number[] =>
  factors.flatMap((factor, j) => (isNamed(factor) ? [j] : []));

function assertSomeNumeric(factors: readonly Factor[]): void {
  const numeric = factors.filter(isNumeric).length;
  if (numeric >= 2) return;
  throw new DomainError(
    'needs_numeric_factors',
    `designOf: family "${family}" must have at least two numeric factors; got ${numeric} of ${factors.length}. Use "fractional factorial" for two-level factors.`,
    { family, numeric },
  );
}

function orderFor(columns: number): number {
  const order = conferenceOrders.find((candidate) => candidate >= columns);
  if (order !== undefined) return order;
  throw new DomainError(
    'too_many_columns',
    `designOf: factors and spare columns of family "${family}" must be at most ${conferenceOrders.at(-1)}; got ${columns}. Ask for fewer spare columns.`,
    { columns },
  );
}

/** Each row of C, its mirror image, and the centre runs, named factors filled in. */
function foldedPairs(c: Dense, factors: readonly Factor[], fill: NamedFill): DesignRun[] {
  const runs: DesignRun[] = [];
  for (let i = 0; i < c.rows; i++) {
    for (const sign of [1, -1] as const) {
      const values = factors.map((_, j) => sign * c.data[i * c.cols + j]!);
      if (i < factors.length && isNamed(factors[i]!)) {
        values[i] = fill.isMirrored ? sign * fill.zeros.get(i)! : fill.zeros.get(i)!;
      }
      runs.push(runAt(pointOf(values, factors), factors));
    }
  }
  for (const centre of fill.centres) {
    runs.push(
      runAt(
        pointOf(
          factors.map((_, j) => centre.get(j) ?? 0),
          factors,
        ),
        factors,
      ),
    );
  }
  return runs;
}

function notesOf(design: Design, order: number, fill: NamedFill): string[] {
  const { factors, runs } = design;
  const spare = order - factors.length;
  const notes = [
    `${runs.length} runs: ${order} mirrored pairs and ${fill.centres.length} at the centre (conference matrix of order ${order}).`,
  ];
  if (spare > 0) {
    notes.push(
      `${spare} of ${order} columns carry no factor: ${spare} degrees of freedom for error, free of first- and second-order effects.`,
    );
  }
  if (!factors.some(isNamed)) {
    const share = (1 / 3 - 1 / (order - 1)).toFixed(2);
    return [
      ...notes,
      'Main effects are orthogonal to one another and clear of all two-factor interactions and squares.',
      `Two-factor interactions and squares are partly mixed with one another (squares correlate ${share} when there is one centre run): only a few of them can be told apart.`,
    ];
  }
  const { amongMainEffects, withSecondOrder } = mainEffectOverlap(design);
  const among =
    amongMainEffects < 1e-9
      ? 'Main effects are orthogonal to one another.'
      : `Main effects are no longer all orthogonal: the largest correlation is ${amongMainEffects.toFixed(2)}.`;
  const second =
    withSecondOrder < 1e-9
      ? 'They are clear of all two-factor interactions and squares.'
      : `They are no longer all clear of second-order effects: the largest correlation is ${withSecondOrder.toFixed(2)}.`;
  return [...notes, `Named factors have no middle level. ${among} ${second}`];
}
