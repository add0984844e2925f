import {
  decimalAligned,
  estimateWithInterval,
  fixed,
  grouped,
  interval,
  intervalDecimals,
  nameInUnit,
  probabilityValue,
  signed,
  signedInterval,
  significantFigures,
  withUncertainty,
  withUnit,
} from '@strandwise/report';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

describe('significantFigures', () => {
  it.each([
    [0.012345, 3, '0.0123'],
    [-0.012345, 3, '−0.0123'],
    [194.26, 3, '194'],
    [194.26, 4, '194.3'],
    [0.0995, 2, '0.10'],
    [9.996, 3, '10.0'],
    [123456, 2, '120000'],
    [0, 3, '0'],
    [-0, 3, '0'],
    [1, 3, '1.00'],
    [0.00001204, 3, '1.20 × 10⁻⁵'],
    [-2.5e7, 2, '−2.5 × 10⁷'],
  ])('writes %d with %i figures as %s', (x, digits, text) => {
    expect(significantFigures(x, digits)).toBe(text);
  });

  it('gives a dash for what is not a number', () => {
    expect([Number.NaN, Number.POSITIVE_INFINITY].map((x) => significantFigures(x, 3))).toEqual([
      '—',
      '—',
    ]);
  });

  it('law: reads back within half a unit of the last figure, any plain size', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 1e-4, max: 9.9e5, noNaN: true }),
        fc.integer({ min: 1, max: 6 }),
        (x, digits) => {
          const back = Number(significantFigures(x, digits).replace('−', '-'));
          if (Number.isNaN(back)) return; // rounded up into powers of ten
          expect(Math.abs(back - x) / x).toBeLessThanOrEqual(0.5 * 10 ** (1 - digits) * (1 + 1e-9));
        },
      ),
      { seed: 21 },
    );
  });
});

describe('withUncertainty', () => {
  // Source: JCGM 100:2008 (GUM), 7.2.2: m = 100.021 47 g with a standard uncertainty of 0.35 mg.
  it('reports the mass of the GUM as the GUM does', () => {
    expect(withUncertainty(100.02147, 0.00035, 'g')).toBe('100.02147 ± 0.00035\u202fg');
  });

  it('lets the uncertainty decide the digits', () => {
    expect(withUncertainty(12.3456, 0.0561)).toBe('12.346 ± 0.056');
    expect(withUncertainty(12.3456, 0.0996)).toBe('12.35 ± 0.10');
    expect(withUncertainty(1234.5, 23)).toBe('1235 ± 23');
    expect(withUncertainty(-0.5, 0.25)).toBe('−0.50 ± 0.25');
  });

  it('gives three figures without a usable uncertainty', () => {
    expect(withUncertainty(12.3456, 0)).toBe('12.3');
    expect(withUncertainty(12.3456, Number.NaN)).toBe('12.3');
    expect(withUncertainty(Number.NaN, 1)).toBe('—');
  });
});

describe('interval', () => {
  it('takes its digits from its width', () => {
    expect(interval(0.00841, 0.01149)).toBe('0.0084 … 0.0115');
    expect(interval(-23.8, 13.2)).toBe('−24 … 13');
    expect(signedInterval(-23.8, 13.2)).toBe('−24 … +13');
    expect(intervalDecimals(188.2, 199.1)).toBe(1);
    expect(estimateWithInterval({ estimate: 0.0098, low: 0.0084, high: 0.0115 }, 'mm')).toBe(
      '0.0098\u202fmm (0.0084 … 0.0115)',
    );
  });

  it('shows a missing end as a dash', () => {
    expect(interval(1.5, Number.POSITIVE_INFINITY)).toBe('1.50 … —');
  });
});

describe('fixed, signed, grouped, probabilityValue', () => {
  it('never writes a negative zero', () => {
    expect([fixed(-0.0004, 2), signed(-0.0004, 2), signed(0.0004, 2)]).toEqual([
      '0.00',
      '0.00',
      '0.00',
    ]);
  });

  it('uses the true minus and a sign when asked', () => {
    expect([fixed(-1.25, 1), signed(1.25, 2), signed(-1.25, 2)]).toEqual([
      '−1.3',
      '+1.25',
      '−1.25',
    ]);
  });

  it('groups thousands from ten thousand on', () => {
    expect([grouped(9999), grouped(12500), grouped(-1234567.25, 2)]).toEqual([
      '9999',
      '12\u202f500',
      '−1\u202f234\u202f567.25',
    ]);
  });

  it('writes p-values without pretending', () => {
    expect([0.41, 0.0321, 0.00042, 0.00002, 1, Number.NaN].map(probabilityValue)).toEqual([
      '0.41',
      '0.032',
      '0.0004',
      '< 0.0001',
      '> 0.9999',
      '—',
    ]);
  });
});

describe('withUnit', () => {
  // Source: SI Brochure, 9th edition (2019), 5.4.3: a space before the unit, except before ° ′ ″.
  it('keeps number and unit together by a narrow space', () => {
    expect([
      withUnit('194', '°C'),
      withUnit('55', '%'),
      withUnit('12', '°'),
      withUnit('7', undefined),
    ]).toEqual(['194\u202f°C', '55\u202f%', '12°', '7']);
    expect([
      nameInUnit('screw', 'rpm'),
      nameInUnit('ripple', undefined),
      nameInUnit('bubbles', 'per m'),
    ]).toEqual(['screw in\u00a0rpm', 'ripple', 'bubbles per\u00a0m']);
  });
});

describe('decimalAligned', () => {
  it('pads to one decimal point and leaves words alone', () => {
    expect(decimalAligned(['1.25', '−10', '0.5', 'none'])).toEqual([
      '1.25',
      '−10\u2008\u2007\u2007',
      '0.5\u2007',
      'none',
    ]);
  });
});
