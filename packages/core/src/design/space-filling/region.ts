import { DomainError } from '../../error/domain-error.ts';
import type { NumericFactor } from '../../factor/factor.ts';
import type { Uniform } from '../../random/uniform.ts';
import type { LinearConstraint } from '../design.ts';
import { factorPosition } from '../known-name.ts';

/** The coded box −1..+1 cut by half-spaces: every row of `normals` times x is at most `bounds`. */
export interface Region {
  readonly dimensions: number;
  /** Shape (m, k), row-major; the 2k faces of the box are not among them. */
  readonly normals: Float64Array;
  readonly bounds: Float64Array;
}

/**
 * The region of a set of constraints.
 * @throws {DomainError} `unknown_factor` when a constraint names no numeric factor
 */
export function regionOf(
  factors: readonly NumericFactor[],
  constraints: readonly LinearConstraint[],
): Region {
  const k = factors.length;
  const normals = new Float64Array(constraints.length * k);
  for (const [i, { coefficients, says }] of constraints.entries()) {
    for (const [name, weight] of Object.entries(coefficients)) {
      const j = factorPosition(name, factors, `designOf: factor in constraint "${says}"`);
      normals[i * k + j] = weight;
    }
  }
  return {
    dimensions: k,
    normals,
    bounds: Float64Array.from(constraints, ({ atMost }) => atMost),
  };
}

const slack = 1e-9;

/** How far a point lies outside, summed over the half-spaces; 0 inside. The box is not looked at. */
export function excess(
  { dimensions: k, normals, bounds }: Region,
  x: Float64Array,
  at = 0,
): number {
  let sum = 0;
  for (let i = 0; i < bounds.length; i++) {
    let value = -bounds[i]!;
    for (let j = 0; j < k; j++) value += normals[i * k + j]! * x[at + j]!;
    if (value > slack) sum += value;
  }
  return sum;
}

const mostProjections = 20_000;

/**
 * A point of the region, by projecting onto the broken half-spaces in turn, a little deeper than
 * their faces.
 * @throws {DomainError} `empty_region` when none is found
 */
export function pointInside(region: Region): Float64Array {
  const { dimensions: k, normals, bounds } = region;
  for (const depth of [0.05, 0.005, 0]) {
    const x = new Float64Array(k);
    for (let sweep = 0; sweep < mostProjections / 10; sweep++) {
      if (excess(region, x) === 0 && sweep > 0) return x;
      for (let i = 0; i < bounds.length; i++) {
        let value = -bounds[i]!;
        let norm = 0;
        for (let j = 0; j < k; j++) {
          const weight = normals[i * k + j]!;
          value += weight * x[j]!;
          norm += weight * weight;
        }
        if (norm === 0) continue;
        const step = value + depth * Math.sqrt(norm);
        if (step <= 0) continue;
        for (let j = 0; j < k; j++) x[j]! -= (step / norm) * normals[i * k + j]!;
      }
      for (let j = 0; j < k; j++) x[j] = Math.max(-1, Math.min(1, x[j]!));
    }
  }
  throw new DomainError(
    'empty_region',
    'designOf: the constraints must leave settings between low and high of every factor; got none. Widen the ranges or ease a limit.',
  );
}

/**
 * Points spread over the region by hit and run: from each point a random direction, then anywhere
 * along the chord that stays inside.
 *
 * @returns shape (count, k), row-major
 * @source Smith (1984), Operations Research 32:1296–1308 (from memory)
 */
export function pointsInside(region: Region, count: number, uniform: Uniform): Float64Array {
  const k = region.dimensions;
  const x = pointInside(region);
  const out = new Float64Array(count * k);
  const thinning = 4 + k;
  const direction = new Float64Array(k);
  for (let i = 0; i < count; i++) {
    for (let step = 0; step < thinning; step++) {
      for (let j = 0; j < k; j++) direction[j] = normal(uniform);
      const [from, to] = chord(region, x, direction);
      const t = from + (to - from) * uniform();
      for (let j = 0; j < k; j++) x[j] = Math.max(-1, Math.min(1, x[j]! + t * direction[j]!));
    }
    out.set(x, i * k);
  }
  return out;
}

function normal(uniform: Uniform): number {
  return Math.sqrt(-2 * Math.log(1 - uniform())) * Math.cos(2 * Math.PI * uniform());
}

/** Stretch of t for which x + t·direction stays in the box and the region. */
function chord(
  { dimensions: k, normals, bounds }: Region,
  x: Float64Array,
  direction: Float64Array,
): [number, number] {
  let from = -Infinity;
  let to = Infinity;
  const cut = (slope: number, room: number): void => {
    if (slope > 1e-12) to = Math.min(to, Math.max(0, room / slope));
    else if (slope < -1e-12) from = Math.max(from, Math.min(0, room / slope));
  };
  for (let j = 0; j < k; j++) {
    cut(direction[j]!, 1 - x[j]!);
    cut(-direction[j]!, 1 + x[j]!);
  }
  for (let i = 0; i < bounds.length; i++) {
    let slope = 0;
    let value = 0;
    for (let j = 0; j < k; j++) {
      slope += normals[i * k + j]! * direction[j]!;
      value += normals[i * k + j]! * x[j]!;
    }
    cut(slope, bounds[i]! - value);
  }
  return [from, to];
}
