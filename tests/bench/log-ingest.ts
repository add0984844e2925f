// Reads an invented log of many rows: beside the bytes alone and beside a general CSV parser, taken in
// turn, best of several; or a file of many gigabytes piece by piece, with the memory that took.
// node tests/bench/run.mjs log-ingest [rounds]
// node tests/bench/run.mjs log-ingest gigabytes 5
import { closeSync, openSync, readFileSync, readSync, rmSync, statSync, writeSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { seededUniform } from '@strandwise/core';
import { readLogFile, readLogPieces } from '@strandwise/gauge';
import { parse } from 'csv-parse/sync';

const ROWS = 5_000_000;
const path = join(tmpdir(), `strandwise-ingest-${process.pid}.csv`);
const say = (text: string): void => void process.stdout.write(`${text}\n`);

const uniform = seededUniform(1);
const diameterAndPuller = (): string =>
  `${(1.75 + 0.05 * (uniform() - 0.5)).toFixed(4)},${(15 + uniform()).toFixed(3)}\n`;

/** An invented log, three numbers a line. */
function writeLog(rows: number): void {
  const file = openSync(path, 'w');
  writeSync(file, 'time,diameter (mm),puller (mm/s)\n');
  for (let written = 0; written < rows; ) {
    const lines = Array.from({ length: 100_000 }, () => `${written++},${diameterAndPuller()}`);
    writeSync(file, lines.join(''));
  }
  closeSync(file);
}

/** An invented log of one reading a second for years, by the clock. @returns rows written */
function writeYears(bytes: number): number {
  const two = (value: number): string => String(Math.floor(value)).padStart(2, '0');
  const day = Array.from({ length: 86_400 }, (_, s) => {
    const clock = [s / 3600, (s / 60) % 60, s % 60].map(two).join(':');
    return `${clock},${diameterAndPuller()}`;
  });
  const text = Buffer.from(day.join(''));
  const file = openSync(path, 'w');
  let size = writeSync(file, 'time,diameter (mm),puller (mm/s)\n');
  let days = 0;
  for (; size < bytes; days++) size += writeSync(file, text);
  closeSync(file);
  return days * day.length;
}

interface Case {
  readonly name: string;
  readonly run: () => void;
  readonly rounds: number;
  best: number;
  cpu: number;
}

const demand = (isTrue: boolean, says: string): void => {
  if (!isTrue) throw new Error(says);
};

/** Reads the bytes in pieces of the same size, and looks at none. */
function bytesAlone(): void {
  const piece = Buffer.allocUnsafe(1 << 18);
  const file = openSync(path, 'r');
  while (readSync(file, piece, 0, piece.length, null) > 0);
  closeSync(file);
}

function compared(rounds: number): void {
  writeLog(ROWS);
  const cases: Case[] = [
    { name: 'bytes alone', run: bytesAlone, rounds, best: Infinity, cpu: 0 },
    {
      name: 'this reader',
      run: () => {
        const { log, unparsed } = readLogFile(path);
        demand(log.seconds.length === ROWS && unparsed.count === 0, 'rows are missing');
      },
      rounds,
      best: Infinity,
      cpu: 0,
    },
    {
      name: 'csv-parse, then Number',
      run: () => {
        const rows = parse(readFileSync(path), { from_line: 2, to_line: 1_000_001 }) as string[][];
        const columns = [0, 1, 2].map((k) => Float64Array.from(rows, (cells) => Number(cells[k])));
        demand(columns[1]!.length === 1_000_000, 'rows are missing');
      },
      rounds: Math.min(rounds, 2),
      best: Infinity,
      cpu: 0,
    },
  ];
  for (let round = 0; round < rounds; round++)
    for (const one of cases.filter((each) => round < each.rounds)) {
      const [started, before] = [performance.now(), process.cpuUsage()];
      one.run();
      const seconds = (performance.now() - started) / 1000;
      if (seconds >= one.best) continue;
      const { user, system } = process.cpuUsage(before);
      one.best = seconds;
      one.cpu = (user + system) / 1e6;
    }
  const alone = cases[0]!.best;
  for (const { name, best, cpu } of cases)
    say(
      `${name.padEnd(24)} ${best.toFixed(3)} s   CPU ${cpu.toFixed(3)} s   ${(best / alone).toFixed(1)} × bytes alone`,
    );
  say(`csv-parse read 1,000,000 of the ${ROWS.toLocaleString('en')} rows: its time is a fifth.`);
}

function large(gigabytes: number): void {
  const rows = writeYears(gigabytes * 1e9);
  say(`${(statSync(path).size / 1e9).toFixed(2)} GB, ${rows.toLocaleString('en')} rows`);
  const started = performance.now();
  let read = 0;
  let sum = 0;
  for (const piece of readLogPieces(path)) {
    read += piece.seconds.length;
    sum += piece.diameterMm.at(-1)!;
  }
  demand(read === rows && sum > 0, `${read} of ${rows} rows were read`);
  const seconds = (performance.now() - started) / 1000;
  const peakMb = process.resourceUsage().maxRSS / 1024;
  say(`read in ${seconds.toFixed(1)} s, at most ${peakMb.toFixed(0)} MB of memory at once`);
}

try {
  const [what = '5', gigabytes = '5'] = process.argv.slice(2);
  if (what === 'gigabytes') large(Number(gigabytes));
  else compared(Number(what));
} finally {
  rmSync(path, { force: true });
}
