import { requireWhole } from '../distribution/domain.ts';
import type { Uniform } from './uniform.ts';

/**
 * A whole number from low to high, both included, all equally likely (to within 2⁻²¹ for the
 * widest range, 2³² values).
 *
 * @throws {DomainError} `out_of_domain` when the bounds are not whole or high is below low
 */
export function integerDraw(
  { low, high }: { readonly low: number; readonly high: number },
  uniform: Uniform,
): number {
  requireWhole('integerDraw', 'lower bound', { value: low, least: Number.MIN_SAFE_INTEGER });
  requireWhole('integerDraw', 'upper bound', { value: high, least: low, most: low + 2 ** 32 - 1 });
  return low + Math.floor(uniform() * (high - low + 1));
}

/**
 * `count` different whole numbers from 0 to total − 1, in random order: the head of a shuffle
 * that only remembers the places it touched.
 *
 * @throws {DomainError} `out_of_domain` when count exceeds total or either is not whole
 */
export function sampledIndices(total: number, count: number, uniform: Uniform): number[] {
  requireWhole('sampledIndices', 'total', { value: total, least: 0 });
  requireWhole('sampledIndices', 'count', { value: count, least: 0, most: total });
  const moved = new Map<number, number>();
  const picked: number[] = [];
  for (let i = 0; i < count; i++) {
    const j = i + Math.floor(uniform() * (total - i));
    picked.push(moved.get(j) ?? j);
    moved.set(j, moved.get(i) ?? i);
  }
  return picked;
}

/** `count` of the items, none twice, in random order. Errors as {@link sampledIndices}. */
export function sampled<T>(items: readonly T[], count: number, uniform: Uniform): T[] {
  return sampledIndices(items.length, count, uniform).map((i) => items[i]!);
}
