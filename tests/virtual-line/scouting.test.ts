import { describe, expect, it } from 'vitest';
import { scoutingSummary, scoutingTrial } from '../bench/scouting-trial.ts';

describe('scouting on the virtual line', () => {
  // A short run of the trials behind datasets/scouting/table.md, on other seeds.
  it('brackets the window of invented grades it has never seen, with few failures', () => {
    const trials = Array.from({ length: 6 }, (_, i) => scoutingTrial(1001 + i));
    const { bracketed, bracketTrue, steps, failures, cornersLikelier, cornerCellsLost } =
      scoutingSummary(trials);
    expect(bracketed).toBe(1);
    expect(bracketTrue).toBeGreaterThan(0.8);
    expect(steps.most).toBeLessThanOrEqual(15);
    expect(failures.mean).toBeLessThan(2);
    expect(cornersLikelier).toBeGreaterThan(0.9);
    expect(cornerCellsLost).toBeLessThan(0.1);
  });

  it('gives the same trial for the same seed', () => {
    expect(scoutingTrial(3).steps).toEqual(scoutingTrial(3).steps);
  });
});
