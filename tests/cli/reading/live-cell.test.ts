import { describe, expect, it } from 'vitest';
import { liveCell } from '../../../packages/cli/src/reading/live-cell.ts';

describe('liveCell', () => {
  it.each([
    ['every second reading is missing', 2],
    ['long gaps lie between readings', 40],
  ])('goes on measuring when %s', (_, every) => {
    let now = 0;
    const cell = liveCell(
      {
        watch: { screwRpm: 5, holdUpCm3: 27.6, setPointsCelsius: [178, 192, 199, 194] },
        targetMm: 1.75,
        toleranceMm: 0.05,
        dieToGaugeMm: 700,
        leastWindowSeconds: 120,
      },
      () => now,
    );
    cell.measureFrom(0);
    // One a second at first, so that the usual step is a second; gaps from then on.
    for (let i = 0; i < 160; i++) {
      const seconds = i < 50 ? i : 50 + (i - 50) * every;
      cell.push({ seconds, diameterMm: 1.75 + 0.01 * Math.sin(i * i) });
      // Every look is long after the one before, so that each works the figures out again.
      now += 1e6;
      cell.window();
    }
    expect(cell.window()!.seconds).toBeGreaterThan(200);
  });
});
