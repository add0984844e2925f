import { demoScenario, runCell, VirtualLine } from '@strandwise/virtual-line';
import { bench, describe } from 'vitest';

/** Worry: a rehearsal of a whole plan keeps a person waiting. One cell is half an hour of 1 Hz readings. */
describe('virtual line', () => {
  bench('one cell, hold 22 min and measure 8 min', () => {
    const setPoints = {
      zonesCelsius: [180, 197, 203, 200],
      screwRpm: 5,
      fanPercent: 50,
      other: {},
    };
    const virtual = new VirtualLine({
      line: demoScenario.line,
      grade: demoScenario.virtualGrade,
      product: demoScenario.product,
      seed: 1,
      setPoints,
    });
    runCell(virtual, { setPoints, holdSeconds: 1320, measureSeconds: 480 });
  });
});
