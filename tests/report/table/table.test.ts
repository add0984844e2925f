import { describe, expect, it } from 'vitest';
import { tableHtml } from '../../../packages/report/src/table/table.ts';

const table = {
  caption: 'Terms <1>',
  columns: [
    { head: 'term', holds: 'words' },
    { head: 'estimate', holds: 'numbers' },
  ],
  rows: [['level', '0.239'], ['screw × fan', { shown: '−10', exported: -10 }], ['<b>']],
} as const;

describe('tableHtml', () => {
  const html = tableHtml(table).text;

  it('heads columns and rows and escapes what it shows', () => {
    expect(html).toContain('<caption>Terms &lt;1&gt;</caption>');
    expect(html).toContain('<th scope="col" class="numbers">estimate</th>');
    expect(html).toContain('<th scope="row" class="words">&lt;b&gt;</th>');
  });

  it('aligns numbers on the decimal point', () => {
    expect(html).toContain('<td class="numbers">0.239</td>');
    expect(html).toContain('<td class="numbers">−10\u2008\u2007\u2007\u2007</td>');
  });

  it('shows an empty cell where a row is short', () => {
    expect(html).toContain('<td class="numbers"></td>');
  });
});
