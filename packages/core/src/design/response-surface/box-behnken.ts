import { z } from 'zod';
import { DomainError } from '../../error/domain-error.ts';
import type { NumericFactor } from '../../factor/factor.ts';
import { withCentrePoints } from '../augment/centre-points.ts';
import { replicated } from '../augment/replicate.ts';
import type { Design, DesignRun } from '../design.ts';
import {
  assertFactorCount,
  commonOptions,
  designFamily,
  numericOnly,
} from '../family-definition.ts';
import { pointOf, runAt } from '../point-kind.ts';

const family = 'box-behnken';

/**
 * Groups of factors that move together at ±1 while the others stay at zero, and how they split
 * into orthogonal blocks: by group (one list a block) or by the sign of each group's product.
 */
interface Plan {
  readonly groups: readonly (readonly number[])[];
  /** Centre points without blocks, and in each block. */
  readonly centres: number;
  readonly centresPerBlock: number;
  readonly blocking:
    | { readonly kind: 'none' }
    | { readonly kind: 'by group'; readonly blockOfGroup: readonly number[] }
    | { readonly kind: 'by sign' };
}

/** Pairs or triples in cyclic or complete arrangement, factors counted from 0. */
const plans: Readonly<Record<number, Plan>> = {
  3: {
    groups: [
      [0, 1],
      [0, 2],
      [1, 2],
    ],
    centres: 3,
    centresPerBlock: 3,
    blocking: { kind: 'none' },
  },
  4: {
    groups: [
      [0, 1],
      [2, 3],
      [0, 3],
      [1, 2],
      [0, 2],
      [1, 3],
    ],
    centres: 3,
    centresPerBlock: 1,
    blocking: { kind: 'by group', blockOfGroup: [1, 1, 2, 2, 3, 3] },
  },
  5: {
    groups: [
      [0, 1],
      [2, 3],
      [1, 4],
      [0, 2],
      [3, 4],
      [1, 2],
      [0, 3],
      [2, 4],
      [0, 4],
      [1, 3],
    ],
    centres: 6,
    centresPerBlock: 3,
    blocking: { kind: 'by group', blockOfGroup: [1, 1, 1, 1, 1, 2, 2, 2, 2, 2] },
  },
  6: {
    groups: [
      [0, 1, 3],
      [1, 2, 4],
      [2, 3, 5],
      [0, 3, 4],
      [1, 4, 5],
      [0, 2, 5],
    ],
    centres: 6,
    centresPerBlock: 3,
    blocking: { kind: 'by sign' },
  },
  7: {
    groups: [
      [3, 4, 5],
      [0, 5, 6],
      [1, 4, 6],
      [0, 1, 3],
      [2, 3, 6],
      [0, 2, 4],
      [1, 2, 5],
    ],
    centres: 6,
    centresPerBlock: 3,
    blocking: { kind: 'by sign' },
  },
};

/**
 * Mid-points of edges and a centre: a full quadratic model without corners, three levels a factor.
 * @source Box & Behnken (1960), Technometrics 2:455–475; arrangement and blocks from memory, their
 * orthogonality tested
 */
export const boxBehnken = designFamily({
  name: family,
  says: 'Edge mid-points and centre: a full quadratic model that never visits a corner.',
  options: z.strictObject({
    ...commonOptions,
    /** Runs in the published orthogonal blocks (4 to 7 factors). */
    blocked: z.boolean().default(false),
  }),
  build: ({ factors: given, options }) => {
    const factors = numericOnly(family, given);
    assertFactorCount(family, factors, {
      least: 3,
      most: 7,
      instead: 'Use "central composite" or "optimal".',
    });
    const plan = plans[factors.length]!;
    if (options.blocked && plan.blocking.kind === 'none') {
      throw new DomainError(
        'blocks_impossible',
        'designOf: option "blocked" of family "box-behnken" must be false with 3 factors; got true. Use "central composite" for orthogonal blocks.',
      );
    }
    const runs = edgeRuns(factors, plan, options.blocked).sort((a, b) => a.block - b.block);
    const centres = options.centrePoints ?? (options.blocked ? plan.centresPerBlock : plan.centres);
    const design: Design = { family, factors, runs, notes: notesOf(runs, options.blocked) };
    return replicated(withCentrePoints(design, centres), options.replicates);
  },
});

function edgeRuns(factors: readonly NumericFactor[], plan: Plan, isBlocked: boolean): DesignRun[] {
  return plan.groups.flatMap((group, g) =>
    Array.from({ length: 1 << group.length }, (_, run) => {
      const values = new Array<number>(factors.length).fill(0);
      let product = 1;
      for (const [bit, j] of group.entries()) {
        values[j] = (run >> bit) & 1 ? 1 : -1;
        product *= values[j]!;
      }
      const block = isBlocked ? blockOf(plan, g, product) : 1;
      return runAt(pointOf(values, factors), factors, block);
    }),
  );
}

function blockOf({ blocking }: Plan, group: number, product: number): number {
  switch (blocking.kind) {
    case 'none':
      return 1;
    case 'by group':
      return blocking.blockOfGroup[group]!;
    case 'by sign':
      return product > 0 ? 1 : 2;
  }
}

function notesOf(runs: readonly DesignRun[], isBlocked: boolean): string[] {
  const blocks = new Set(runs.map(({ block }) => block)).size;
  const notes = [
    `${runs.length} edge mid-points; no run has all factors at an end of their range.`,
  ];
  if (isBlocked) {
    notes.push(
      `${blocks} orthogonal blocks: a difference between days does not move any coefficient.`,
    );
  }
  return notes;
}
