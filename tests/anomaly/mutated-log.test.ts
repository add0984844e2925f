import { describe, expect, it } from 'vitest';
import { readMutatedLogs } from './mutated-log.ts';

describe('readLog on broken logs', () => {
  it('neither crashes, hangs nor makes numbers up on 2,000 of them', () => {
    const tally = readMutatedLogs(2000, 11);
    expect(tally.invented).toEqual([]);
    expect(tally.slowestMs).toBeLessThan(1000);
    // Most breaks leave something to read; the rest is refused by a code that exists.
    expect(tally.read).toBeGreaterThan(1000);
    expect(tally.read + Object.values(tally.refused).reduce((a, b) => a + b, 0)).toBe(2000);
  });
});
