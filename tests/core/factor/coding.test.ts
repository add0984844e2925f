import { codedValue, NumericFactor, naturalValue } from '@strandwise/core';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

const limits = fc
  .tuple(
    fc.double({ min: -1e4, max: 1e4, noNaN: true }),
    fc.double({ min: 0.01, max: 1e4, noNaN: true }),
  )
  .map(([low, width]) => NumericFactor.parse({ name: 'level', low, high: low + width }));

describe('codedValue', () => {
  it('maps low to −1, centre to 0 and high to +1', () => {
    const factor = NumericFactor.parse({ name: 'level', low: 190, high: 210 });
    expect([190, 200, 210].map((v) => codedValue(v, factor))).toEqual([-1, 0, 1]);
  });

  it('law: coding then decoding returns the value, any range', () => {
    fc.assert(
      fc.property(limits, fc.double({ min: -3, max: 3, noNaN: true }), (factor, coded) => {
        const back = codedValue(naturalValue(coded, factor), factor);
        // The range may sit 1e6 half-widths from zero, so six digits of the fifteen go to the offset.
        expect(Math.abs(back - coded)).toBeLessThan(1e-8);
      }),
      { seed: 1 },
    );
  });
});

describe('NumericFactor', () => {
  it('refuses low ≥ high and says what to do', () => {
    const result = NumericFactor.safeParse({ name: 'oven temperature', low: 200, high: 160 });
    expect(result.error?.issues[0]?.message).toMatchInlineSnapshot(
      `"high must exceed low; got low=200, high=160 (factor "oven temperature"). Swap or widen the limits."`,
    );
  });
});
