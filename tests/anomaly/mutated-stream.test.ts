import { describe, expect, it } from 'vitest';
import { hearMutatedStreams } from './mutated-stream.ts';

/** STRANDWISE_STREAMS=100000 for the long run by hand. */
const streams = Number(process.env['STRANDWISE_STREAMS'] ?? 1000);

describe('a live gauge that sends broken lines', () => {
  it(
    `gives no number that its line does not hold, over ${streams} streams`,
    () => {
      const tally = hearMutatedStreams(streams, 21);
      if (streams > 1000) process.stdout.write(`${JSON.stringify(tally)}\n`);
      expect(tally.wrong.slice(0, 20)).toEqual([]);
      expect(tally.readings).toBeGreaterThan(10 * streams);
      expect(tally.keptApart).toBeGreaterThan(streams / 10);
    },
    20_000 + 20 * streams,
  );
});
