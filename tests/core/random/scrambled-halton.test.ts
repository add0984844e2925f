import { scrambledHalton, seededUniform } from '@strandwise/core';
import { describe, expect, it } from 'vitest';

const bases = [2, 3, 5, 7];

function points(count: number, seed: number, dimensions = 4): Float64Array[] {
  const sequence = scrambledHalton(dimensions, seededUniform(seed, 'halton'));
  return Array.from({ length: count }, (_, i) => {
    const point = new Float64Array(dimensions);
    sequence.pointInto(point, i);
    return point;
  });
}

describe('scrambledHalton', () => {
  it('law: any run of b^k points hits each of b^k equal intervals once', () => {
    for (const [j, base] of bases.entries()) {
      for (const start of [0, 17, 1000]) {
        const cells = base ** 3;
        const sequence = scrambledHalton(4, seededUniform(3));
        const target = new Float64Array(4);
        const seen = new Set<number>();
        for (let i = start; i < start + cells; i++) {
          sequence.pointInto(target, i);
          seen.add(Math.floor(target[j]! * cells));
        }
        expect(seen.size, `base ${base} from ${start}`).toBe(cells);
      }
    }
  });

  it('is unbiased: the first point alone averages ½ over seeds', () => {
    let sum = 0;
    for (let seed = 0; seed < 3000; seed++) sum += points(1, seed, 1)[0]![0]!;
    expect(Math.abs(sum / 3000 - 0.5)).toBeLessThan(4 * Math.sqrt(1 / 12 / 3000));
  });

  it('averages a smooth function twenty times closer than independent draws would', () => {
    // ∏ (1 + (x − ½)) has mean 1 and variance (13/12)⁴ − 1 = 0.377.
    const count = 4096;
    let squares = 0;
    for (let seed = 0; seed < 12; seed++) {
      const mean =
        points(count, seed).reduce((sum, p) => sum + p.reduce((f, x) => f * (x + 0.5), 1), 0) /
        count;
      squares += (mean - 1) ** 2;
    }
    expect(Math.sqrt(squares / 12)).toBeLessThan(Math.sqrt(0.377 / count) / 20);
  });

  it('pins its first point for a seed', () => {
    expect([...points(1, 2024)[0]!].map((v) => Number(v.toPrecision(12)))).toMatchInlineSnapshot(`
      [
        0.466260786397,
        0.471106752192,
        0.900430554587,
        0.838875958326,
      ]
    `);
  });

  it('throws out_of_domain for 33 dimensions and a negative index', () => {
    const refusal = expect.objectContaining({ code: 'out_of_domain' });
    expect(() => scrambledHalton(33, seededUniform(1))).toThrowError(refusal);
    const sequence = scrambledHalton(1, seededUniform(1));
    expect(() => sequence.pointInto(new Float64Array(1), -1)).toThrowError(refusal);
  });
});
