import { type SourceEvent, seededUniform, type Uniform } from '@strandwise/core';
import { LineFormat, lineSplitter } from '@strandwise/gauge';
import { liveReader } from '../../packages/gauge/src/live/live-reader.ts';
import { mutated } from './mutated-log.ts';

/** What came of broken streams of gauge lines. */
export interface StreamTally {
  readonly streams: number;
  readonly readings: number;
  readonly keptApart: number;
  readonly slowestMs: number;
  /** Readings that stand in no line, or times that go back; must be empty. */
  readonly wrong: readonly string[];
}

const format = LineFormat.parse({
  delimiter: ',',
  fieldCount: 3,
  time: { from: 'column', column: 1, as: 'seconds' },
  fields: [
    { column: 2, means: 'diameter', unit: 'mm' },
    { column: 3, means: 'puller', unit: 'mm/s' },
  ],
});

const LINES = 60;

/**
 * Breaks an invented stream in random ways and hears it in pieces of random size, as a port would
 * give it. What is heard must be the diameter of the very line it came from.
 */
export function hearMutatedStreams(count: number, seed: number): StreamTally {
  const uniform = seededUniform(seed, 'mutated streams');
  const wrong: string[] = [];
  let [readings, keptApart, slowestMs] = [0, 0, 0];
  for (let k = 0; k < count; k++) {
    const bytes = mutated(healthyStream(uniform), uniform);
    const began = performance.now();
    const heard = heardOf(bytes, uniform);
    slowestMs = Math.max(slowestMs, performance.now() - began);
    let last = 0;
    for (const event of heard) {
      if (event.kind === 'unparsed') keptApart++;
      if (event.kind !== 'reading') continue;
      readings++;
      const { seconds, diameterMm } = event.reading;
      // Read here by other means: the second cell of the raw line, quotes and blanks aside.
      const cell = event.raw.split(',')[1]?.replaceAll('"', '').trim() ?? '';
      if (Number(cell) !== diameterMm) wrong.push(`stream ${k}: ${diameterMm} of ${event.raw}`);
      if (!(seconds >= last)) wrong.push(`stream ${k}: time goes back to ${seconds}`);
      last = seconds;
    }
  }
  return { streams: count, readings, keptApart, slowestMs, wrong };
}

function healthyStream(uniform: Uniform): Buffer {
  const lines = Array.from({ length: LINES }, (_, i) => {
    const diameter = (1.75 + 0.05 * (uniform() - 0.5)).toFixed(4);
    return `${i},${diameter},${(15 + uniform()).toFixed(2)}\r\n`;
  });
  return Buffer.from(lines.join(''));
}

function heardOf(bytes: Buffer, uniform: Uniform): SourceEvent[] {
  const heard: SourceEvent[] = [];
  let now = 0;
  const reader = liveReader({ format, now: () => now }, (event) => heard.push(event));
  const splitter = lineSplitter();
  for (let at = 0; at < bytes.length; ) {
    const size = 1 + Math.floor(uniform() * 120);
    reader.lines(splitter.push(bytes.subarray(at, at + size)));
    at += size;
    now += 4 * uniform();
    reader.tick();
  }
  return heard;
}
