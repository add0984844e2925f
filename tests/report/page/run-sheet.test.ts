import { runSheet, underFlushedSays } from '@strandwise/report';
import { describe, expect, it } from 'vitest';
import { inventedSheet } from './invented-sheet.ts';

const sheet = runSheet(inventedSheet);
const rows = sheet.split('<tbody>')[1]!.split('</tr>').slice(0, -1);

describe('runSheet', () => {
  it('gives each cell one row, in run order', () => {
    expect(rows.map((row) => /<th scope="row">(\d+)</.exec(row)![1])).toEqual(
      inventedSheet.cells.map(({ runOrder }) => String(runOrder)),
    );
  });

  it('marks what changed since the row above, and by how much', () => {
    expect(rows[0]).not.toContain('changed');
    expect(rows[1]).toContain('<td class="set changed">5.5<small>▲ +1.0</small></td>');
    expect(rows[3]).toContain('<td class="set changed">174<small>▼ −4</small></td>');
    expect(rows[12]).toContain('<td class="set changed">2.5 mm<small>was 3 mm</small></td>');
    expect(rows[4]).toContain('<td class="set">191</td>');
  });

  it('rules off each new zone setting', () => {
    const ruled = rows.flatMap((row, i) => (row.includes('class="new-zones"') ? [i + 1] : []));
    expect(ruled).toEqual([4, 7, 10, 13, 16, 19, 22]);
  });

  it('leaves blanks to fill and outcomes to tick', () => {
    for (const row of rows) {
      expect(row.match(/<td class="blank"><\/td>/g)).toHaveLength(inventedSheet.blanks.length);
      expect(row.match(/☐/g)).toHaveLength(inventedSheet.outcomes.length);
    }
  });

  it('leaves the hold empty where none was computed', () => {
    expect(rows[0]).toContain('<td class="hold">16</td>');
    expect(rows[1]).toContain('<td class="hold"></td>');
  });

  it('escapes what came from a file', () => {
    expect(runSheet({ ...inventedSheet, title: '<b>&' })).toContain(
      '<title>&lt;b&gt;&amp;</title>',
    );
  });

  it('marks a hold that is too short, and says once what that means', () => {
    const [first, ...others] = inventedSheet.cells;
    const short = runSheet({
      ...inventedSheet,
      cells: [{ ...first!, isUnderFlushed: true }, ...others],
    });
    expect(short.match(/<small>! under-flushed<\/small>/g)).toHaveLength(1);
    expect(short).toContain(underFlushedSays);
    expect(sheet).not.toContain('under-flushed');
  });
});
