import { requireWhole } from '../distribution/domain.ts';
import { shuffled, type Uniform } from './uniform.ts';

const PRIMES = [
  2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47, 53, 59, 61, 67, 71, 73, 79, 83, 89, 97,
  101, 103, 107, 109, 113, 127, 131,
];
const LARGEST_BELOW_ONE = 1 - 2 ** -53;

/** A sequence of points in [0, 1)ᵈ that covers the cube more evenly than independent draws. */
export interface PointSequence {
  readonly dimensions: number;
  /** Writes point `index` (0, 1, …) into target, shape (dimensions). */
  readonly pointInto: (target: Float64Array, index: number) => void;
}

/**
 * Halton's sequence with every digit place permuted at random.
 *
 * Coordinate j writes the index in the j-th prime base, permutes each digit by that place's own
 * permutation and mirrors the digits behind the point. Each point alone is uniform, so averages
 * are unbiased; any b^k consecutive points of base b hit each of the b^k equal intervals once, so
 * averages of smooth functions settle nearly like 1/n instead of 1/√n. Two calls with different
 * sources give independent replicates, whose spread is an honest error.
 *
 * @param dimensions - 1 to 32
 * @param uniform - source of the permutations, used up front only
 * @throws {DomainError} `out_of_domain` when dimensions or, later, an index is outside its range
 * @source Owen (2017), A randomized Halton algorithm in R, arXiv:1706.02808 (from memory)
 */
export function scrambledHalton(dimensions: number, uniform: Uniform): PointSequence {
  requireWhole('scrambledHalton', 'number of dimensions', {
    value: dimensions,
    least: 1,
    most: PRIMES.length,
  });
  const axes = PRIMES.slice(0, dimensions).map((base) => scrambledAxis(base, uniform));
  return {
    dimensions,
    pointInto(target, index) {
      requireWhole('scrambledHalton', 'index', { value: index, least: 0 });
      for (let j = 0; j < dimensions; j++) target[j] = mirroredDigits(axes[j]!, index);
    },
  };
}

interface Axis {
  readonly base: number;
  /** Digit d at place k becomes permutations[k·base + d]; shape (places, base); 53 bits of places. */
  readonly permutations: Uint8Array;
  /** What the zeros from place k on add once permuted, shape (places + 1). */
  readonly zeros: Float64Array;
}

function scrambledAxis(base: number, uniform: Uniform): Axis {
  const places = Math.ceil(53 / Math.log2(base));
  const permutations = new Uint8Array(places * base);
  const digits = Array.from({ length: base }, (_, d) => d);
  for (let k = 0; k < places; k++) permutations.set(shuffled(digits, uniform), k * base);
  const zeros = new Float64Array(places + 1);
  for (let k = places - 1; k >= 0; k--)
    zeros[k] = zeros[k + 1]! + base ** -(k + 1) * permutations[k * base]!;
  return { base, permutations, zeros };
}

function mirroredDigits({ base, permutations, zeros }: Axis, index: number): number {
  let rest = index;
  let weight = 1 / base;
  let sum = 0;
  let k = 0;
  for (; rest > 0; k++) {
    const next = Math.floor(rest / base);
    sum += weight * permutations[k * base + (rest - next * base)]!;
    rest = next;
    weight /= base;
  }
  return Math.min(sum + zeros[k]!, LARGEST_BELOW_ONE);
}
