import { seededUniform, type Uniform } from '@strandwise/core';

/** Independent standard normal numbers by the polar method. */
export function normalSource(uniform: Uniform): () => number {
  let spare: number | null = null;
  return () => {
    if (spare !== null) {
      const value = spare;
      spare = null;
      return value;
    }
    for (;;) {
      const u = 2 * uniform() - 1;
      const v = 2 * uniform() - 1;
      const s = u * u + v * v;
      if (s === 0 || s >= 1) continue;
      const scale = Math.sqrt((-2 * Math.log(s)) / s);
      spare = v * scale;
      return u * scale;
    }
  };
}

/** A Poisson count of small mean, by multiplying uniforms (Knuth). */
export function poissonCount(mean: number, uniform: Uniform): number {
  if (!(mean > 0)) return 0;
  // Halving keeps exp(−mean) in range for any mean.
  if (mean > 30) return poissonCount(mean / 2, uniform) + poissonCount(mean / 2, uniform);
  const floor = Math.exp(-mean);
  let count = 0;
  for (let product = uniform(); product > floor; product *= uniform()) count++;
  return count;
}

/** The separate sources of chance of a virtual line; each keeps its sequence whatever the others do. */
export interface Chances {
  readonly flow: () => number;
  readonly gauge: () => number;
  readonly twist: () => number;
  readonly room: () => number;
  readonly reset: () => number;
  readonly batch: () => number;
  readonly failure: Uniform;
  readonly count: Uniform;
}

export function chances(seed: number): Chances {
  const normal = (label: string): (() => number) => normalSource(seededUniform(seed, label));
  return {
    flow: normal('flow'),
    gauge: normal('gauge'),
    twist: normal('twist'),
    room: normal('room'),
    reset: normal('reset'),
    batch: normal('batch'),
    failure: seededUniform(seed, 'failure'),
    count: seededUniform(seed, 'count'),
  };
}
