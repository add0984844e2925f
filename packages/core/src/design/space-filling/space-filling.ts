import { z } from 'zod';
import { seededUniform } from '../../random/uniform.ts';
import { modelTerms } from '../../term/term.ts';
import { withCentrePoints } from '../augment/centre-points.ts';
import { replicated } from '../augment/replicate.ts';
import type { Design } from '../design.ts';
import {
  assertFactorCount,
  commonOptions,
  designFamily,
  numericOnly,
} from '../family-definition.ts';
import { pointOf, runAt } from '../point-kind.ts';
import { maximinLatinHypercube, type Spread } from './latin-hypercube.ts';
import { regionOf } from './region.ts';

const family = 'space filling';

/** Runs spread evenly over a region, whatever its shape. */
export const spaceFilling = designFamily({
  name: family,
  says: 'Runs spread evenly over any region with linear limits: little is assumed about the model.',
  options: z.strictObject({
    ...commonOptions,
    /** Runs before centre points and replicates; three more than the model's coefficients unless said. */
    runs: z.int().min(2).max(500).optional(),
  }),
  build: ({ factors: given, model, options, seed, constraints }) => {
    const factors = numericOnly(family, given);
    assertFactorCount(family, factors, {
      least: 1,
      most: 15,
      instead: 'Screen first with "plackett-burman".',
    });
    const coefficients = modelTerms(model, factors).length;
    const n = options.runs ?? coefficients + 3;
    const region = regionOf(factors, constraints);
    const spread = maximinLatinHypercube(region, n, seededUniform(seed, family));
    const k = factors.length;
    const runs = Array.from({ length: n }, (_, i) => {
      const run = runAt(pointOf(spread.points.subarray(i * k), factors), factors);
      return { ...run, kind: 'other' as const };
    });
    const design: Design = {
      family,
      factors,
      runs,
      notes: notesOf(spread, n, { coefficients, seed }),
    };
    return replicated(withCentrePoints(design, options.centrePoints ?? 0), options.replicates);
  },
});

function notesOf(
  { kind, smallestDistance }: Spread,
  n: number,
  { coefficients, seed }: { readonly coefficients: number; readonly seed: number },
): string[] {
  const values = {
    even: `Every factor takes ${n} different values in equal steps from low to high.`,
    'by share': `Every factor takes ${n} different values, spaced by how much room the limits leave.`,
    free: 'The limits leave no arrangement with different values throughout: runs are only kept far apart.',
  }[kind];
  const notes = [
    `${n} runs (seed ${seed}). ${values}`,
    `The two closest runs are ${smallestDistance.toFixed(3)} apart in coded units.`,
  ];
  if (n < coefficients) {
    notes.push(
      `The model asked for has ${coefficients} coefficients: ${n} runs cannot estimate it.`,
    );
  }
  return notes;
}
