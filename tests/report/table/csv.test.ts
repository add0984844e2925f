import { csvText, guardedCell, tableCsv } from '@strandwise/report';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

describe('guardedCell', () => {
  it.each([
    '=1+1',
    '+cmd',
    '-2+3',
    '@SUM(A1)',
    '\t=1',
    '\r=1',
    ' =HYPERLINK("x")',
    '＝1+1',
    '＠a',
    '\u0000=1',
  ])('guards %j', (text) => {
    expect(guardedCell(text)).toBe(`'${text}`);
  });

  it.each(['-1.5', '+3', '-2e-4', '.5', 'level', 'a=b', '−5', '', 'x-y'])(
    'leaves %j alone',
    (text) => {
      expect(guardedCell(text)).toBe(text);
    },
  );

  it('writes numbers in full and missing values as nothing', () => {
    expect([0.1 + 0.2, -4, null, Number.NaN].map(guardedCell)).toEqual([
      '0.30000000000000004',
      '-4',
      '',
      '',
    ]);
  });

  it('law: no cell begins as a formula unless it is a number', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary' }), (text) => {
        const cell = guardedCell(text);
        expect(/^[=+\-@\t\r]/.test(cell) && Number.isNaN(Number(cell))).toBe(false);
      }),
      { seed: 22 },
    );
  });
});

describe('csvText', () => {
  // Source: RFC 4180, section 2, rules 1, 5, 6 and 7.
  it('quotes commas, quotes and line breaks', () => {
    expect(
      csvText([
        ['aaa', 'b,b', 'c"c'],
        ['d\r\nd', 1.5, null],
      ]),
    ).toBe('aaa,"b,b","c""c"\r\n"d\r\nd",1.5,\r\n');
  });

  it('exports the full digits behind a rounded cell', () => {
    const table = {
      caption: 'c',
      columns: [
        { head: 'term', holds: 'words' },
        { head: '=estimate', holds: 'numbers' },
      ],
      rows: [[{ shown: 'level²' }, { shown: '0.24', exported: 0.23941 }], ['screw']],
    } as const;
    expect(tableCsv(table)).toBe("term,'=estimate\r\nlevel²,0.23941\r\nscrew,\r\n");
  });
});
