import { DomainError, designFamilies, wishedFamily } from '@strandwise/core';
import { describe, expect, it } from 'vitest';

// Names as the NIST/SEMATECH e-Handbook, section 5.3.3, and textbooks write them.
describe('wishedFamily', () => {
  it.each([
    ['Full-Factorial', 'full factorial', {}],
    ['two_level factorial', 'full factorial', {}],
    ['fractional factorial design', 'fractional factorial', {}],
    ['Plackett–Burman', 'plackett-burman', {}],
    ['PB', 'plackett-burman', {}],
    ['DSD', 'definitive screening', {}],
    ['CCD', 'central composite', {}],
    ['CCI', 'central composite', { inscribed: true }],
    ['Face-Centered', 'central composite', { alpha: 'face-centred' }],
    ['Box Behnken Designs', 'box-behnken', {}],
    ['latin hypercube', 'space filling', {}],
    ['D-optimal', 'optimal', { criterion: 'D' }],
    ['i-optimal design', 'optimal', { criterion: 'I' }],
  ])('takes %s as %s', (asked, family, options) => {
    expect(wishedFamily(asked)).toEqual({ family, options });
  });

  it('leaves every known name alone', () => {
    for (const { name } of designFamilies)
      expect(wishedFamily(name, { replicates: 2 })).toEqual({
        family: name,
        options: { replicates: 2 },
      });
  });

  it('takes options in the words of the trade', () => {
    const composite = wishedFamily('central composite', {
      'center points': 4,
      alpha: 'Face-Centered',
      blocks: 3,
    });
    expect(composite.options).toEqual({ centrePoints: 4, alpha: 'face-centred', cubeBlocks: 2 });
    expect(wishedFamily('fraction', { resolution: 'IV', nRuns: 16 }).options).toEqual({
      resolution: 4,
      runs: 16,
    });
    expect(wishedFamily('optimal', { criterion: 'D-optimality', n_runs: 12 }).options).toEqual({
      criterion: 'D',
      runs: 12,
    });
  });

  it('lets what is said outright win over what a name stands for', () => {
    expect(wishedFamily('D-optimal', { criterion: 'A' }).options).toEqual({ criterion: 'A' });
  });

  it('passes on what it does not know, to be refused by name', () => {
    expect(wishedFamily('zigzag', { a: 1 })).toEqual({ family: 'zigzag', options: { a: 1 } });
    expect(wishedFamily('ccd', { colour: 'red' }).options).toEqual({ colour: 'red' });
  });

  it('throws option_twice when two names mean one option', () => {
    const twice = () => wishedFamily('ccd', { centrePoints: 3, centerPoints: 5 });
    expect(twice).toThrow(DomainError);
    expect(twice).toThrow(
      /"centrePoints".*must be given once; got "centrePoints" and "centerPoints"/,
    );
  });
});
