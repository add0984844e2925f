import { spawn } from 'node:child_process';
import { closeSync, existsSync, openSync, writeSync } from 'node:fs';
import { join } from 'node:path';
import { csvHead, csvRow } from '../gauge-log.ts';
import { atPace, type PaceOf } from './pace.ts';

/** A pseudo serial port that speaks as a gauge. */
export interface SerialLine {
  /** Path for the reader to open as its serial port. */
  readonly devicePath: string;
  written(): number;
  stop(): Promise<void>;
}

const readyWithinMs = 5000;

/**
 * Writes readings to one end of a pair of pseudo terminals made by `socat`; a reader opens the other
 * as it would a serial port. For tests and demonstrations: no hardware is touched.
 *
 * @param folder - where the two device links are put
 * @throws {Error} when socat is missing or makes no devices within five seconds
 */
export async function writeSerial({
  folder,
  ...pace
}: Omit<PaceOf, 'onReading'> & { readonly folder: string }): Promise<SerialLine> {
  const devicePath = join(folder, 'gauge-port');
  const writerPath = join(folder, 'line-port');
  const child = spawn(
    'socat',
    [`pty,raw,echo=0,link=${devicePath}`, `pty,raw,echo=0,link=${writerPath}`],
    { stdio: 'ignore' },
  );
  let failure: Error | null = null;
  child.on('error', (error) => {
    failure = error;
  });
  const exited = new Promise<void>((resolve) => {
    child.on('close', () => resolve());
  });
  const startedAt = performance.now();
  while (!(existsSync(devicePath) && existsSync(writerPath))) {
    if (failure) throw new Error('writeSerial: socat must be installed.', { cause: failure });
    if (performance.now() - startedAt > readyWithinMs) {
      child.kill();
      throw new Error('writeSerial: socat made no devices within 5 s.');
    }
    await new Promise((resolve) => setTimeout(resolve, 20));
  }
  const port = openSync(writerPath, 'w');
  let count = 0;
  const stopPace = atPace({
    ...pace,
    onReading(reading) {
      const head = count === 0 ? `${csvHead(reading)}\r\n` : '';
      writeSync(port, `${head}${csvRow(reading)}\r\n`);
      count++;
    },
  });
  return {
    devicePath,
    written: () => count,
    async stop() {
      stopPace();
      closeSync(port);
      child.kill();
      await exited;
    },
  };
}
