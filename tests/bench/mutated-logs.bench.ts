import { bench, expect } from 'vitest';
import { readMutatedLogs } from '../anomaly/mutated-log.ts';

let isDone = false;
bench(
  '100,000 broken logs: no crash, no hang, no number made up',
  () => {
    // The bench calls a case several times; once is what is wanted.
    if (isDone) return;
    isDone = true;
    const { invented, ...tally } = readMutatedLogs(100_000, 12);
    console.log(tally);
    expect(invented).toEqual([]);
    expect(tally.slowestMs).toBeLessThan(2000);
  },
  { iterations: 1, warmupIterations: 0, time: 0, warmupTime: 0 },
);
