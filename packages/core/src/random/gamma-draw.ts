import { requireFinitePositive } from '../distribution/domain.ts';
import { openUniform, standardNormal } from './standard-normal.ts';
import type { Uniform } from './uniform.ts';

/**
 * One gamma draw of the given shape and unit scale. 2·gammaDraw(df/2) is a chi-squared draw.
 *
 * Marsaglia and Tsang's cube of a shifted normal, accepted about 96 times in 100; a shape below 1
 * is drawn one higher and multiplied by U^(1/shape).
 *
 * @param shape - finite, above zero
 * @throws {DomainError} `out_of_domain` otherwise
 * @source Marsaglia & Tsang (2000), A simple method for generating gamma variables, ACM TOMS 26, 363-372
 */
export function gammaDraw(shape: number, uniform: Uniform): number {
  requireFinitePositive('gammaDraw', 'shape', shape);
  if (shape < 1) return gammaDraw(shape + 1, uniform) * openUniform(uniform) ** (1 / shape);
  const d = shape - 1 / 3;
  const c = 1 / Math.sqrt(9 * d);
  for (;;) {
    const z = standardNormal(uniform);
    const root = 1 + c * z;
    if (root <= 0) continue;
    const v = root * root * root;
    const logU = Math.log(openUniform(uniform));
    if (logU < 0.5 * z * z + d - d * v + d * Math.log(v)) return d * v;
  }
}
