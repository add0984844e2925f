import { minimumAberration, resolutionOf, wordLengthPattern } from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { expectedOf } from './dataset.ts';

// Fries & Hunter (1980); expected values by exhaustive search over generators, compared exactly.

interface Case {
  readonly k: number;
  readonly runs: number;
  readonly resolution: number;
  readonly wlp_from_A3: readonly number[];
}

describe('minimumAberration', () => {
  const cases: Case[] = expectedOf('minimum-aberration');

  it.each(cases.map((c) => [c.k, c.runs, c] as const))(
    'matches resolution and word-length pattern of %i factors in %i runs',
    (k, runs, { resolution, wlp_from_A3 }) => {
      const { best, proof } = minimumAberration(k, Math.log2(runs));
      expect({
        resolution: resolutionOf(best),
        pattern: wordLengthPattern(best),
        proof: proof.kind,
      }).toEqual({ resolution, pattern: wlp_from_A3, proof: 'proven' });
    },
  );
});
