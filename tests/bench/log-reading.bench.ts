import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { seededUniform } from '@strandwise/core';
import { type ReadLog, readLogFile } from '@strandwise/gauge';
import { parse } from 'csv-parse/sync';
import { afterAll, bench, describe, expect } from 'vitest';

const folder = mkdtempSync(join(tmpdir(), 'log-bench-'));
const options = { iterations: 5, warmupIterations: 1, time: 0, warmupTime: 0 };

/** An invented log; times as seconds or as stamps. */
function writeLog(name: string, rows: number, stamp: (i: number) => string): string {
  const path = join(folder, name);
  const uniform = seededUniform(1);
  const lines = ['time,diameter (mm),puller (mm/s)'];
  for (let i = 0; i < rows; i++) {
    lines.push(
      `${stamp(i)},${(1.75 + 0.05 * (uniform() - 0.5)).toFixed(4)},${(15 + uniform()).toFixed(3)}`,
    );
  }
  writeFileSync(path, `${lines.join('\n')}\n`);
  return path;
}

const million = writeLog('million.csv', 1_000_000, String);
const stamped = writeLog('stamped.csv', 1_000_000, (i) =>
  new Date(1.7e12 + 1000 * i).toISOString(),
);
const five = writeLog('five.csv', 5_000_000, String);
afterAll(() => rmSync(folder, { recursive: true }));

function checked(result: ReadLog, rows: number): void {
  expect(result.log.seconds.length).toBe(rows);
  expect(result.unparsed.count).toBe(0);
}

describe('reading a log of 1,000,000 lines', () => {
  // Correct before fast: the CSV parser and ours see the same numbers.
  const ours = readLogFile(million).log;
  const theirs = parse(readFileSync(million), { from_line: 999_001 }) as string[][];
  for (const [i, cells] of theirs.entries())
    expect(ours.diameterMm[999_000 + i - 1]).toBe(Number(cells[1]));

  bench('bytes alone', () => void readFileSync(million), options);
  bench('numbers after seconds', () => checked(readLogFile(million), 1_000_000), options);
  bench('numbers after ISO stamps', () => checked(readLogFile(stamped), 1_000_000), options);
  bench(
    'the general reader',
    () => checked(readLogFile(million, { isGeneralOnly: true }), 1_000_000),
    options,
  );
  bench(
    'csv-parse, then Number',
    () => {
      const rows = parse(readFileSync(million), { from_line: 2 }) as string[][];
      const diameters = Float64Array.from(rows, (cells) => Number(cells[1]));
      expect(diameters.length).toBe(1_000_000);
    },
    { ...options, iterations: 2, warmupIterations: 0 },
  );
});

describe('reading a log of 5,000,000 lines', () => {
  bench('bytes alone', () => void readFileSync(five), options);
  bench('numbers after seconds', () => checked(readLogFile(five), 5_000_000), options);
});
