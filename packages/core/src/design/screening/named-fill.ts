import { DomainError } from '../../error/domain-error.ts';
import type { Dense } from '../../linear/dense.ts';

/** Signs that two-level factors take where a conference matrix has a zero, and in the centre runs. */
export interface NamedFill {
  /** Sign of each named factor in its own pair of rows, by position. */
  readonly zeros: ReadonlyMap<number, number>;
  /** True when the mirrored row takes the opposite sign. */
  readonly isMirrored: boolean;
  /** One map of signs a centre run. */
  readonly centres: readonly ReadonlyMap<number, number>[];
}

interface FillWish {
  readonly keep: 'clear of interactions' | 'orthogonal';
  readonly centrePoints: number | undefined;
}

/**
 * Two-level factors in a definitive screening design.
 *
 * Mirrored filling keeps every run's mirror image in the design, so main effects stay clear of
 * second-order effects; a named column then overlaps a little with the others. Same-sign filling
 * adds and subtracts the same products in each pair, so columns stay orthogonal; the centre runs
 * balance the column (2 for one named factor, 4 for up to four), but the mirror is broken.
 *
 * @param c - conference matrix, shape (m, m)
 * @param named - positions of the named factors
 * @throws {DomainError} `bad_centre_points` when the number asked cannot balance named factors
 * @source the problem: Jones & Nachtsheim (2013), J. Quality Technology 45:121–129; both fillings
 * derived here, their properties tested
 */
export function namedFill(
  c: Dense,
  named: readonly number[],
  { keep, centrePoints }: FillWish,
): NamedFill {
  if (named.length === 0) {
    return {
      zeros: new Map(),
      isMirrored: true,
      centres: Array.from({ length: centrePoints ?? 1 }, () => new Map<number, number>()),
    };
  }
  const least = keep === 'orthogonal' && named.length > 1 ? 4 : 2;
  const count = centrePoints ?? least;
  if (count < least || count % 2 !== 0) {
    throw new DomainError(
      'bad_centre_points',
      `designOf: centre points of "definitive screening" with ${named.length} named factors must be an even number of at least ${least}; got ${count}. Choose ${Math.max(least, count + (count % 2))}.`,
      { least, got: count },
    );
  }
  return keep === 'orthogonal' ? sameSign(named, count, least) : mirrored(c, named, count);
}

function sameSign(named: readonly number[], count: number, least: number): NamedFill {
  const centres: Map<number, number>[] = Array.from({ length: count }, () => new Map());
  for (const [i, j] of named.entries()) {
    for (const [run, centre] of centres.entries()) {
      // The zero rows add +2; three minuses and a plus (or two minuses) take it back.
      if (run < least) centre.set(j, least === 4 && run === i % 4 ? 1 : -1);
      else centre.set(j, pairSign(i, run));
    }
  }
  return { zeros: new Map(named.map((j) => [j, 1])), isMirrored: false, centres };
}

/** Opposite within a pair of runs, varied from factor to factor. */
function pairSign(i: number, run: number): number {
  const pair = run >> 1;
  const base = ((i >> (pair % 4)) & 1) === 0 ? 1 : -1;
  return run % 2 === 0 ? base : -base;
}

/** Signs by coordinate descent on the sum of squared products of named columns. */
function mirrored({ cols, data }: Dense, named: readonly number[], count: number): NamedFill {
  const size = named.length;
  const pairs = count / 2;
  const signs = new Int8Array(size * (1 + pairs)).fill(1); // zeros, then each centre pair
  const overlap = (): number => {
    let sum = 0;
    for (let a = 0; a < size; a++) {
      for (let b = 0; b < a; b++) {
        const j = named[a]!;
        const l = named[b]!;
        let product = signs[a]! * data[j * cols + l]! + signs[b]! * data[l * cols + j]!;
        for (let p = 1; p <= pairs; p++) product += signs[p * size + a]! * signs[p * size + b]!;
        sum += product * product;
      }
    }
    return sum;
  };
  let best = overlap();
  for (let isBetter = true; isBetter; ) {
    isBetter = false;
    for (let i = 0; i < signs.length; i++) {
      signs[i] = -signs[i]!;
      const now = overlap();
      if (now < best) {
        best = now;
        isBetter = true;
      } else signs[i] = -signs[i]!;
    }
  }
  const centres = Array.from({ length: count }, (_, run) => {
    const turn = run % 2 === 0 ? 1 : -1;
    const from = (1 + (run >> 1)) * size;
    return new Map(named.map((j, a) => [j, turn * signs[from + a]!]));
  });
  return { zeros: new Map(named.map((j, a) => [j, signs[a]!])), isMirrored: true, centres };
}
