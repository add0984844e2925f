import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fitTable, Spec } from '@strandwise/core';
import { afterAll, describe, expect, it } from 'vitest';
import { readDelimited } from '../../../packages/cli/src/reading/delimited-text.ts';
import { runTable } from '../../../packages/cli/src/reading/run-table.ts';
import { assertNatural, codedDoubt } from '../../../packages/cli/src/reading/stated-units.ts';

// Run tables as spreadsheets, R and people write them: each is read right, or refused with its place.

const folder = mkdtempSync(join(tmpdir(), 'strandwise-table-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const spec = Spec.parse({
  factors: [
    { name: 'Melt temp', low: 180, high: 220 },
    { name: 'speed', low: 10, high: 30 },
    { name: 'die', levels: ['2 mm', '3 mm'] },
  ],
  responses: [{ name: 'y', kind: 'continuous' }],
});

const rows = [
  ['Melt temp', 'speed', 'die', 'y'],
  ['180', '10', '2 mm', '1000.5'],
  ['220', '10', '3 mm', '1234.25'],
  ['180', '30', '3 mm', '987.5'],
  ['220', '30', '2 mm', '1512.75'],
  ['200', '20', '2 mm', '1200'],
];
const read = {
  'Melt temp': [180, 220, 180, 220, 200],
  speed: [10, 10, 30, 30, 20],
  die: ['2 mm', '3 mm', '3 mm', '2 mm', '2 mm'],
  y: [1000.5, 1234.25, 987.5, 1512.75, 1200],
};
const written = (delimiter: string, quote = '') =>
  `${rows.map((row) => row.map((entry) => quote + entry + quote).join(delimiter)).join('\n')}\n`;
const plain = written(',');
const european = written(';').replaceAll('.', ',');

function tableOf(data: string | Uint8Array) {
  const file = join(folder, 'runs.csv');
  writeFileSync(file, data);
  const text = readDelimited(file);
  return { text, ...runTable(text, spec) };
}

const wide = (text: string) => Buffer.from(`\uFEFF${text}`, 'utf16le');

describe('a run table', () => {
  it.each<[string, string | Uint8Array]>([
    ['as it should be', plain],
    ['with a byte order mark', `\uFEFF${plain}`],
    ['in UTF-16', wide(plain)],
    ['with carriage returns', plain.replaceAll('\n', '\r\n')],
    ['with tabs', written('\t')],
    ['with semicolons and decimal commas', european],
    ['with tabs and decimal commas', written('\t').replaceAll('.', ',')],
    ['with everything quoted', written(',', '"')],
    ['with quoted decimal commas', written(',', '"').replaceAll('.', ',')],
    ['with thousands by comma', plain.replace('1234.25', '"1,234.25"').replace('1200', '"1,200"')],
    ['with thousands by point', european.replace('1234,25', '1.234,25')],
    ['with thousands by space', plain.replace('1234.25', '1 234.25').replace('1200', '1\u202f200')],
    ['with the delimiter stated', `sep=;\n${european}`],
    ['with its rows numbered', plain.replace(/^/, '"",').replace(/\n(?=\d)/g, '\n#,')],
    ['with a delimiter at every end', plain.replaceAll('\n', ',\n')],
    ['with blank lines and empty rows', `${plain.replaceAll('\n', '\n\n')},,,\n,,,\n`],
    ['with columns nobody asked for', plain.replaceAll('\n', ',2026-01-02,"a, b"\n')],
    [
      'with its columns in another order',
      `${rows.map((row) => [...row].reverse().join(',')).join('\n')}`,
    ],
  ])('%s is read right', (_name, data) => {
    let numbered = 0;
    const text = typeof data === 'string' ? data.replace(/#/g, () => `"${++numbered}"`) : data;
    expect(tableOf(text).table).toEqual(read);
  });

  it.each([
    ['capitals', 'MELT TEMP,Speed,Die,Y'],
    ['units in brackets', 'Melt temp (°C),speed [rpm],die,y (g/min)'],
    ['underscores', 'melt_temp,speed,die,y'],
  ])('takes heads with %s for the names of the spec, and tells', (_name, head) => {
    const { table, told } = tableOf(plain.replace('Melt temp,speed,die,y', head));
    expect(table).toEqual(read);
    expect(told[0]).toMatch(/^column ".*" is taken as "Melt temp"$/);
  });

  it('reads single-byte letters of older spreadsheets', () => {
    const head = plain.replace('Melt temp', 'Melt temp (°C)');
    expect(tableOf(Buffer.from(head, 'latin1')).table).toEqual(read);
  });

  it.each(['', '-', '—', 'NA', 'NaN', 'n/a', '#N/A', 'null', '.', 'failed'])(
    'takes "%s" for a cell without a value',
    (entry) => {
      expect(tableOf(plain.replace('1200', entry)).table['y']!.at(-1)).toBeNull();
    },
  );

  it.each([
    ['2 MM', '2 mm'],
    [' 3 mm ', '3 mm'],
  ])('takes "%s" for the level "%s"', (entry, level) => {
    expect(tableOf(plain.replace('2 mm', entry)).table['die']![0]).toBe(level);
  });

  it('takes a number for the level written with that number', () => {
    const named = Spec.parse({
      factors: [{ name: 'nitro', levels: ['0', '0.20'] }],
      responses: spec.responses,
    });
    const file = join(folder, 'levels.csv');
    writeFileSync(file, 'nitro;y\n0,0;1\n0,2;2\n');
    expect(runTable(readDelimited(file), named).table['nitro']).toEqual(['0', '0.20']);
  });
});

describe('a run table is refused, with its place,', () => {
  it.each<[string, string, RegExp]>([
    [
      'when a comma could part thousands or decimals',
      written(',').replace(/,[\d.]+\n/g, ',"1,234"\n'),
      /line 2, column 4 \("y"\): a number must be readable in one way; got "1,234"/,
    ],
    [
      'when a point could, among decimal commas',
      european.replace('1200', '1.200'),
      /line 6, column 4 \("y"\).*got "1\.200"/,
    ],
    [
      'when a column mixes decimal marks',
      european.replace('1000,5', '1000.5'),
      /line 3, column 4 \("y"\): a column must write decimals in one way; got "1234,25"/,
    ],
    ['when a row is short', plain.replace(',1200', ''), /line 6: a row must have 4 entries.*got 3/],
    [
      'when two columns could be meant',
      plain.replaceAll('\n', ',1\n').replace('y,1', 'Y,Y (g)'),
      /one column must be meant by the response "y"; got "Y" and "Y \(g\)"/,
    ],
    [
      'when a column is missing',
      plain.replace('speed', 'spede'),
      /column for the factor "speed".*Did you mean "spede"/,
    ],
    [
      'when a quote is not closed',
      plain.replace('2 mm', '"2 mm'),
      /line 2, column 3: a quoted entry must end/,
    ],
  ])('%s', (_name, data, says) => {
    expect(() => tableOf(data)).toThrow(says);
  });

  it.each(['1200 g', '12OO', '12%', '2026-01-02', '0x10', 'Infinity'])(
    'when "%s" stands for a number',
    (entry) => {
      const { table, placed } = tableOf(plain.replace('1200', entry));
      let caught: unknown;
      try {
        fitTable({ spec, table });
      } catch (error) {
        caught = placed(error);
      }
      expect(String(caught)).toMatch(
        new RegExp(
          `runs.csv: line 6, column 4: column "y" must hold numbers; got "${entry}"\\. Mend`,
        ),
      );
    },
  );
});

describe('stated units', () => {
  const coded = { 'Melt temp': [-1, 1, 0], speed: [-1, 1, 0], die: ['2 mm', '3 mm', '2 mm'] };

  it('refuse coded settings given as natural', () => {
    expect(() => assertNatural('r.csv', spec, coded)).toThrow(/look coded: say --units coded/);
    expect(() => assertNatural('r.csv', spec, read)).not.toThrow();
  });

  it('let natural settings near zero pass', () => {
    const near = Spec.parse({ ...spec, factors: [{ name: 'tilt', low: -1, high: 1 }] });
    expect(() => assertNatural('r.csv', near, { tilt: [3, 4, 3.5] })).not.toThrow();
  });

  it('doubt natural settings given as coded', () => {
    expect(codedDoubt(spec, read)).toMatch(/look natural/);
    expect(codedDoubt(spec, coded)).toBeNull();
  });
});
