import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { GaugeError, readLog, readLogFile, readLogPieces } from '@strandwise/gauge';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';

const rows = (n: number, row: (i: number) => string): string =>
  Array.from({ length: n }, (_, i) => row(i)).join('\n');
const codeOf = (read: () => unknown): string => {
  try {
    read();
  } catch (error) {
    if (error instanceof GaugeError) return error.code;
    throw error;
  }
  return 'no error';
};
const messageOf = (read: () => unknown): string => {
  try {
    read();
  } catch (error) {
    return (error as Error).message;
  }
  return 'no error';
};

describe('readLog', () => {
  it('reads a comma-delimited log with units in the header', () => {
    const text = `time (s),diameter (mm),puller (mm/s),zone 1 (°C),zone 2 (°C)\n${rows(20, (i) => `${i},1.7${i % 10},15.${i % 10},180.${i % 10},195`)}\n`;
    const { log, unparsed, unsure } = readLog(text);
    expect([...log.seconds.subarray(0, 3)]).toEqual([0, 1, 2]);
    expect([...log.diameterMm.subarray(0, 3)]).toEqual([1.7, 1.71, 1.72]);
    expect([...log.pullerMmPerSecond!.subarray(0, 2)]).toEqual([15, 15.1]);
    expect(log.zonesCelsius?.map((zone) => zone[1])).toEqual([180.1, 195]);
    expect(unparsed.count).toBe(0);
    expect(unsure).toEqual([]);
  });

  it('reads semicolons with decimal commas, German names and micrometres', () => {
    const text = `Zeit_s;Durchmesser_um;Abzug (m/min)\n${rows(10, (i) => `${i},0;1752,${i};0,9`)}\n`;
    const { log, format } = readLog(text);
    expect(format).toMatchObject({ delimiter: ';', decimalMark: ',' });
    expect(log.diameterMm[3]).toBe(1.7523);
    expect(log.pullerMmPerSecond![0]).toBe(15);
  });

  it('reads tabs, spaces and a log of diameters alone', () => {
    expect(readLog(rows(9, (i) => `${i}\t1.7${i}`)).log.diameterMm[8]).toBe(1.78);
    expect(readLog(rows(9, (i) => `${i}   1.7${i}`)).log.diameterMm[8]).toBe(1.78);
    const alone = readLog(rows(9, (i) => `1,75${i}`));
    expect(alone.log.diameterMm[8]).toBe(1.758);
    expect([...alone.log.seconds]).toEqual([0, 1, 2, 3, 4, 5, 6, 7, 8]);
    expect(alone.unsure).toContain('the comma was taken as a decimal mark, not as a delimiter');
  });

  it('turns inches to millimetres', () => {
    expect(readLog(`t,dia [in]\n${rows(9, (i) => `${i},0.069`)}`).log.diameterMm[0]).toBeCloseTo(
      1.7526,
      12,
    );
  });

  it('reads ISO stamps with a zone and says when the log began', () => {
    const text = `timestamp,diameter_mm\n${rows(9, (i) => `2024-05-01T10:00:0${i}.5+02:00,1.75`)}\n`;
    const { log } = readLog(text);
    expect(log.startedAt).toBe(Date.UTC(2024, 4, 1, 8, 0, 0, 500));
    expect(log.seconds[8]).toBe(8);
  });

  it('carries clock times across midnight', () => {
    const clock = ['23:59:58', '23:59:59', '00:00:00', '00:00:01'];
    const { log } = readLog(`time,diameter (mm)\n${clock.map((c) => `${c},1.75`).join('\n')}\n`);
    expect([...log.seconds]).toEqual([0, 1, 2, 3]);
  });

  it('reads a two-axis gauge as mean and ovality', () => {
    const { log } = readLog(`t;x axis (mm);y axis (mm)\n${rows(9, (i) => `${i};1.74;1.78`)}\n`);
    expect(log.diameterMm[0]).toBeCloseTo(1.76, 12);
    expect(log.ovalityMm![0]).toBeCloseTo(0.04, 12);
  });

  it('leaves set points and limits aside', () => {
    const { log, format } = readLog(
      `t,diameter set (mm),diameter (mm),diameter min (mm)\n${rows(9, (i) => `${i},1.75,1.7${i},1.6`)}\n`,
    );
    expect(format.fields.map((f) => f.column)).toEqual([3]);
    expect(log.diameterMm[8]).toBe(1.78);
  });

  it('keeps lines that do not parse apart, counted and with their numbers', () => {
    const lines = [
      't,diameter (mm),puller (mm/s)',
      ...Array.from({ length: 30 }, (_, i) => `${i},1.75,15`),
    ];
    lines[5] = '4,oops,15';
    lines[6] = '5,1.75';
    lines[7] = '6,,15';
    lines[8] = '7,0.000,15';
    lines[9] = '8,175.2,15';
    lines[10] = '9,NaN,15';
    const { log, unparsed } = readLog(`${lines.join('\n')}\n`);
    expect(log.seconds.length).toBe(24);
    expect(unparsed.byReason).toEqual({
      'not-a-number': 1,
      ragged: 1,
      'no-diameter': 2,
      'no-strand': 1,
      'beyond-belief': 1,
    });
    expect(unparsed.first[0]).toEqual({
      line: 6,
      column: 2,
      reason: 'not-a-number',
      text: '4,oops,15',
    });
  });

  it('keeps a missing puller speed as NaN, not as zero', () => {
    const { log } = readLog(`t,diameter (mm),puller (mm/s)\n0,1.75,15\n1,1.76,\n2,1.77,16\n`);
    expect(log.pullerMmPerSecond![1]).toBeNaN();
    expect(log.diameterMm.length).toBe(3);
  });

  it('keeps a slip of time apart and goes on after the clock was set back', () => {
    const slip = [0, 1, 2, 999999, 4, 5, 6].map((t) => `${t},1.75`).join('\n');
    const one = readLog(`t (s),diameter (mm)\n${slip}\n`);
    expect([...one.log.seconds]).toEqual([0, 1, 2, 4, 5, 6]);
    expect(one.unparsed.byReason).toEqual({ 'time-astray': 1 });
    const back = [100, 101, 102, 40, 41, 42, 43, 44, 45].map((t) => `${t},1.75`).join('\n');
    const two = readLog(`t (s),diameter (mm)\n${back}\n`);
    expect([...two.log.seconds]).toEqual([0, 1, 2, 3, 4, 5, 6, 7, 8]);
    expect(two.notes).toEqual([
      'The clock went back by 62 s at line 5; time goes on from there without a gap.',
    ]);
  });

  it('keeps a last line that lost digits apart', () => {
    const { log, unparsed } = readLog('t,diameter (mm)\n0,1.752\n1,1.753\n2,1.7');
    expect(log.diameterMm.length).toBe(2);
    expect(unparsed.byReason).toEqual({ 'cut-short': 1 });
    expect(readLog('t,diameter (mm)\n0,1.752\n1,1.753\n2,1.751').log.diameterMm.length).toBe(3);
  });

  it('reads UTF-16, code-page bytes, byte-order marks and lone carriage returns', () => {
    const text = 't,diameter (µm)\n0,1752\n1,1753\n';
    const forms = [
      Buffer.from(`\uFEFF${text}`, 'utf16le'),
      Buffer.from(text, 'latin1'),
      Buffer.from(`\uFEFF${text}`),
      Buffer.from(text.replaceAll('\n', '\r')),
      Buffer.from(text.replaceAll('\n', '\r\n')),
    ];
    for (const bytes of forms) expect([...readLog(bytes).log.diameterMm]).toEqual([1.752, 1.753]);
  });

  it('reads round a hole of zeros that a loss of power left', () => {
    const lines = Buffer.from(rows(20, (i) => `${i},1.75${i % 10}`));
    const { log, unparsed } = readLog(
      Buffer.concat([
        Buffer.from('t,diameter (mm)\n'),
        lines,
        Buffer.alloc(512),
        Buffer.from('\n20,1.751\n'),
      ]),
    );
    expect(log.seconds.length).toBe(20);
    expect(unparsed.byReason).toEqual({ 'not-a-number': 1 });
  });

  it('refuses what is no log, by code', () => {
    expect(codeOf(() => readLog(''))).toBe('empty_file');
    expect(codeOf(() => readLog('\n \n'))).toBe('empty_file');
    expect(codeOf(() => readLog(Buffer.from([80, 75, 3, 4, 0, 0, 9])))).toBe('binary_file');
    expect(codeOf(() => readLog(Buffer.from('t,d\n0,1.75\n1,1.75\n', 'utf16le')))).toBe(
      'binary_file',
    );
    expect(codeOf(() => readLog('a,b\n0,900\n1,901\n'))).toBe('missing_column');
    expect(codeOf(() => readLog('t,diameter,diameter\n0,1.7,1.8\n'))).toBe('duplicate_column');
    expect(codeOf(() => readLog('only words here\nand here\n'))).toBe('unclear_format');
    expect(codeOf(() => readLog('t,diameter (mm)\n0,999\n1,998\n'))).toBe('nothing_parsed');
    expect(codeOf(() => readLogFile('/no/such/log.csv'))).toBe('no_such_file');
  });

  it('names file, line, column and the next step', () => {
    expect(
      messageOf(() => readLog('t,diameter,dia\n0,1.7,1.8\n', { fileName: 'run3.csv' })),
    ).toMatchInlineSnapshot(
      `"readLog: the columns must be told apart; got "diameter" and "dia" (run3.csv, line 1, column 3). Two columns mean the diameter. Say which one to use."`,
    );
  });
});

describe('readLogFile', () => {
  let folder = '';
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'gauge-'));
  });
  afterAll(() => rmSync(folder, { recursive: true }));

  it('reads across chunk borders and in pieces alike', () => {
    const path = join(folder, 'long.csv');
    const n = 400_000;
    writeFileSync(
      path,
      `t (s),diameter (mm)\n${rows(n, (i) => `${i},1.${700000 + (i % 99999)}`)}\n`,
    );
    const { log } = readLogFile(path);
    expect(log.seconds.length).toBe(n);
    expect(log.diameterMm[n - 1]).toBe(Number(`1.${700000 + ((n - 1) % 99999)}`));
    let count = 0;
    let last = -1;
    for (const piece of readLogPieces(path)) {
      expect(piece.seconds[0]).toBe(last + 1);
      last = piece.seconds.at(-1)!;
      count += piece.seconds.length;
    }
    expect(count).toBe(n);
  });
});
