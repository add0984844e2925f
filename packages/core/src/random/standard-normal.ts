import { normalQuantile } from '../distribution/normal.ts';
import type { Uniform } from './uniform.ts';

/**
 * One standard normal draw, by inversion of one uniform.
 *
 * Inversion keeps the draw monotone in the uniform, takes exactly one number from the source (a
 * zero is drawn again) and uses plain arithmetic for 85 % of draws; the outer rest goes through one
 * logarithm, whose last bit may differ between engines.
 *
 * @param uniform - source in [0, 1)
 */
export function standardNormal(uniform: Uniform): number {
  return normalQuantile(openUniform(uniform));
}

/** A number strictly between 0 and 1. */
export function openUniform(uniform: Uniform): number {
  let u = uniform();
  while (u === 0) u = uniform();
  return u;
}

/** One exponential draw with mean 1, by inversion. */
export function exponentialDraw(uniform: Uniform): number {
  return -Math.log(openUniform(uniform));
}
