import { closeSync, openSync, writeSync } from 'node:fs';
import { csvHead, csvRow } from '../gauge-log.ts';
import { atPace, type PaceOf } from './pace.ts';

/** A log file that grows as a data logger's would. */
export interface GrowingFile {
  readonly path: string;
  /** Readings written so far. */
  written(): number;
  stop(): void;
}

/** Writes readings to a new file, one line each, as they are made. An old file is overwritten. */
export function writeGrowingFile({
  path,
  ...pace
}: Omit<PaceOf, 'onReading'> & { readonly path: string }): GrowingFile {
  const file = openSync(path, 'w');
  let count = 0;
  let isOpen = true;
  const close = (): void => {
    if (isOpen) closeSync(file);
    isOpen = false;
  };
  const stopPace = atPace({
    ...pace,
    onReading(reading) {
      const head = count === 0 ? `${csvHead(reading)}\n` : '';
      writeSync(file, `${head}${csvRow(reading)}\n`);
      count++;
    },
    onEnd() {
      close();
      pace.onEnd?.();
    },
  });
  return {
    path,
    written: () => count,
    stop() {
      stopPace();
      close();
    },
  };
}
