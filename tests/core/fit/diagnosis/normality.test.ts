import { constantVariance, normality, seededUniform, standardNormal } from '@strandwise/core';
import { describe, expect, it } from 'vitest';

const values = Float64Array.from([4.1, 5.6, 2.3, 7.7, 3.9, 4.4, 6.1, 5.0, 4.8, 9.9, 3.3, 4.6]);

describe('normality', () => {
  // Invented values; W′ and p worked out in R 4.2.2 from cor, qnorm and ppoints.
  it('matches R on W′ and p', () => {
    const found = normality(values);
    if (found.kind !== 'tested') throw new Error(found.kind);
    expect(found.w).toBeCloseTo(0.899918600378, 10);
    expect(found.p).toBeCloseTo(0.136284937265, 8);
  });

  it('does not depend on order, shift or scale', () => {
    const moved = [...values].reverse().map((value) => 3 - 0.01 * value);
    const [one, other] = [normality(values), normality(Float64Array.from(moved))];
    if (one.kind !== 'tested' || other.kind !== 'tested') throw new Error('not tested');
    expect(other.w).toBeCloseTo(one.w, 12);
    expect(other.points.map(({ index }) => 11 - index)).toEqual(
      [...one.points].reverse().map(({ index }) => index),
    );
  });

  it.each([10, 30, 60])('cries wolf in about 5 of 100 normal samples of %i', (n) => {
    const uniform = seededUniform(7, `normal ${n}`);
    let alarms = 0;
    for (let study = 0; study < 4000; study++) {
      const found = normality(Float64Array.from({ length: n }, () => standardNormal(uniform)));
      if (found.kind === 'tested' && found.p < 0.05) alarms++;
    }
    // Three standard errors of 4000 draws, and the accuracy that the docstring states.
    expect(Math.abs(alarms / 4000 - 0.05)).toBeLessThan(0.0104 + 0.01);
  });

  it('sees a heavy tail', () => {
    const heavy = values.map((value, i) => (i === 0 ? 40 : value));
    const found = normality(heavy);
    expect(found.kind === 'tested' && found.p).toBeLessThan(0.001);
  });

  it('answers too few and constant values by name', () => {
    expect(normality(values.slice(0, 4))).toEqual({ kind: 'too-few', count: 4 });
    expect(normality(new Float64Array(8).fill(3))).toEqual({ kind: 'constant' });
  });
});

describe('constantVariance', () => {
  // Invented residuals that spread out; n·R² of lm(r² ~ fitted) and its χ² tail in R 4.2.2.
  const residuals = Float64Array.from([
    0.2, -0.1, 0.3, -0.4, 0.1, 0.5, -0.3, 0.6, -0.7, 0.2, 0.9, -0.8, 1.1, -0.6, 1.0, -1.3, 0.7, 1.4,
    -1.2, 0.9,
  ]);
  const fitted = Float64Array.from({ length: 20 }, (_, i) => i + 1);

  it('matches R on a scatter that grows', () => {
    const found = constantVariance(residuals, fitted);
    if (found.kind !== 'tested') throw new Error(found.kind);
    expect(found.statistic).toBeCloseTo(12.1725685576, 8);
    expect(found.p).toBeCloseTo(4.84974764425e-4, 10);
    expect(found.sdRatio).toBeGreaterThan(2);
  });

  it('cannot tell with one fitted value or few runs', () => {
    expect(constantVariance(residuals, new Float64Array(20).fill(5)).kind).toBe('cannot');
    expect(constantVariance(residuals.slice(0, 5), fitted.slice(0, 5)).kind).toBe('cannot');
  });
});
