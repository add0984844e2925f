import { DomainError } from '../../error/domain-error.ts';
import { shuffled, type Uniform } from '../../random/uniform.ts';
import { excess, pointsInside, type Region } from './region.ts';

/** Points of a space-filling plan, and whether each factor takes as many values as there are runs. */
export interface Spread {
  /** Shape (n, k), row-major, coded. */
  readonly points: Float64Array;
  /**
   * `even`: n equal steps of each factor, once each. `by share`: n values of each factor, spaced by
   * how much room the region has there. `free`: points of the region with no such rule.
   */
  readonly kind: 'even' | 'by share' | 'free';
  readonly smallestDistance: number;
}

const poolSize = 2000;
const sweeps = 400;

/**
 * Maximin Latin hypercube in a constrained region: n runs, every factor at n different values, and
 * the two closest runs as far apart as the search gets them.
 *
 * Runs swap single settings; a swap stays when it brings less excess over the limits, or, at none,
 * a smaller Σ distance^−12, with chances of going uphill that die out. Under constraints the values
 * are quantiles of the region, since equal steps would press the runs against its faces.
 *
 * @param n - runs, at least 2
 * @throws {DomainError} `empty_region` or `thin_region` when the region cannot be filled
 * @source Morris & Mitchell (1995), J. Statist. Planning Inference 43:381–402 (criterion)
 */
export function maximinLatinHypercube(region: Region, n: number, uniform: Uniform): Spread {
  const k = region.dimensions;
  if (region.bounds.length === 0) {
    const points = arranged(evenLevels(n, k), { region, n, uniform });
    return { points, kind: 'even', smallestDistance: smallestDistance(points, n, k) };
  }
  const pool = pointsInside(region, poolSize, uniform);
  assertRoom(pool, k);
  for (let attempt = 0; attempt < 3; attempt++) {
    const points = arranged(shareLevels(pool, n, k), { region, n, uniform });
    let outside = 0;
    for (let i = 0; i < n; i++) outside += excess(region, points, i * k);
    if (outside === 0) {
      return { points, kind: 'by share', smallestDistance: smallestDistance(points, n, k) };
    }
  }
  const points = farthestOfPool(pool, n, k);
  return { points, kind: 'free', smallestDistance: smallestDistance(points, n, k) };
}

/** Limits that fix a factor, or leave only a line or a plane, cannot be filled. */
function assertRoom(pool: Float64Array, k: number): void {
  const isMoving = squaredDistance(pool, 0, pool.length / k - 1, k) > 0;
  const first = pool.subarray(0, k);
  const spread = Array.from(first, (value, j) => {
    let widest = 0;
    for (let at = j; at < pool.length; at += k)
      widest = Math.max(widest, Math.abs(pool[at]! - value));
    return widest;
  });
  if (isMoving && Math.min(...spread) > 1e-4) return;
  throw new DomainError(
    'thin_region',
    'designOf: the constraints must leave room in every direction; got a region without thickness. Ease a limit, or leave out a factor that the others fix.',
  );
}

/** −1 to +1 in n equal steps, shape (k, n). */
function evenLevels(n: number, k: number): Float64Array {
  return Float64Array.from({ length: n * k }, (_, i) => (2 * (i % n)) / (n - 1) - 1);
}

/** Mid-quantiles of each coordinate over the pool, shape (k, n). */
function shareLevels(pool: Float64Array, n: number, k: number): Float64Array {
  const size = pool.length / k;
  const levels = new Float64Array(n * k);
  for (let j = 0; j < k; j++) {
    const values = Float64Array.from({ length: size }, (_, i) => pool[i * k + j]!).sort();
    for (let i = 0; i < n; i++) levels[j * n + i] = values[Math.floor(((i + 0.5) * size) / n)]!;
  }
  return levels;
}

interface Arrangement {
  readonly region: Region;
  readonly n: number;
  readonly uniform: Uniform;
}

/** Assigns levels to runs by annealing; excess over the limits outweighs any closeness. */
function arranged(levels: Float64Array, { region, n, uniform }: Arrangement): Float64Array {
  const k = region.dimensions;
  const points = new Float64Array(n * k);
  for (let j = 0; j < k; j++) {
    const order = shuffled(
      Array.from({ length: n }, (_, i) => i),
      uniform,
    );
    for (let i = 0; i < n; i++) points[i * k + j] = levels[j * n + order[i]!]!;
  }
  // Runs stand about 2·n^(−1/k) apart, so a typical pair counts near 1.
  const scale = (n ** (1 / k) / 2) ** 12;
  const costOf = (i: number, other: number): number =>
    (closeness(points, i, other, { n, k }) + closeness(points, other, -1, { n, k })) / scale +
    1e6 * (excess(region, points, i * k) + excess(region, points, other * k));
  let best = points.slice();
  let total = 0;
  let bestTotal = 0;
  const moves = sweeps * n;
  for (let move = 0; move < moves; move++) {
    const temperature = 0.5 * (1 - move / moves) ** 3;
    const i = Math.floor(uniform() * n);
    const other = Math.floor(uniform() * n);
    const j = Math.floor(uniform() * k);
    if (i === other) continue;
    const before = costOf(i, other);
    swap(points, i * k + j, other * k + j);
    const gain = before - costOf(i, other);
    if (gain >= 0 || uniform() < Math.exp(gain / Math.max(temperature, 1e-12))) {
      total -= gain;
      if (total < bestTotal - 1e-12) {
        bestTotal = total;
        best = points.slice();
      }
    } else swap(points, i * k + j, other * k + j);
  }
  return best;
}

/** Σ distance^−12 from run i to all but itself and `except`. */
function closeness(
  points: Float64Array,
  i: number,
  except: number,
  { n, k }: { readonly n: number; readonly k: number },
): number {
  let sum = 0;
  for (let other = 0; other < n; other++) {
    if (other === i || other === except) continue;
    const squared = squaredDistance(points, i, other, k);
    sum += 1 / (squared ** 6 + 1e-30);
  }
  return sum;
}

function squaredDistance(points: Float64Array, i: number, other: number, k: number): number {
  let sum = 0;
  for (let j = 0; j < k; j++) {
    const d = points[i * k + j]! - points[other * k + j]!;
    sum += d * d;
  }
  return sum;
}

/** Smallest distance between two of n points in coded units. */
function smallestDistance(points: Float64Array, n: number, k: number): number {
  let least = Infinity;
  for (let i = 0; i < n; i++) {
    for (let other = 0; other < i; other++) {
      least = Math.min(least, squaredDistance(points, i, other, k));
    }
  }
  return Math.sqrt(least);
}

function swap(values: Float64Array, a: number, b: number): void {
  const held = values[a]!;
  values[a] = values[b]!;
  values[b] = held;
}

/** n pool points, each the farthest from those before it. */
function farthestOfPool(pool: Float64Array, n: number, k: number): Float64Array {
  const size = pool.length / k;
  const nearest = new Float64Array(size).fill(Infinity);
  const out = new Float64Array(n * k);
  let next = 0;
  for (let i = 0; i < n; i++) {
    out.set(pool.subarray(next * k, (next + 1) * k), i * k);
    for (let p = 0; p < size; p++) {
      nearest[p] = Math.min(nearest[p]!, squaredDistance(pool, p, next, k));
    }
    next = nearest.indexOf(Math.max(...nearest));
  }
  return out;
}
