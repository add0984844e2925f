import {
  conformanceModel,
  type JudgedRequirement,
  noWander,
  type SetUpWander,
} from '@strandwise/core';
import { bench, describe, expect } from 'vitest';
import { inventedFit } from '../core/surface/invented-fit.ts';

// Worry: the map of the chance to conform is drawn while a person waits. Three responses, five
// factors, quadratic models, a 41 × 41 slice; the error is checked before the time is taken.
const names = ['level', 'tilt', 'hump', 'screw', 'fan'];
const { surfaces } = inventedFit(
  {
    sd: (x) => 0.5 * x['level']! ** 2 - 0.3 * x['screw']! * x['fan']! + 0.3 * x['hump']! ** 2,
    gel: (x) => 0.4 * x['screw']! + 0.3 * x['level']! * x['screw']!,
    rate: (x) => 0.5 * x['screw']! - 0.1 * x['tilt']!,
  },
  { names, sd: 0.2 },
);
const judged: JudgedRequirement[] = surfaces.map((surface) => ({
  surface,
  requirement: {
    response: surface.name,
    says: surface.name,
    ...(surface.name === 'rate' ? { atLeast: -0.3 } : { atMost: 0.4 }),
  },
}));
const k = judged.length;
const matrix = Float64Array.from({ length: k * k }, (_, at) => (at % (k + 1) === 0 ? 1 : 0.5));
const correlation = { names: ['sd', 'gel', 'rate'], matrix, lower: matrix, pairs: [] };
const wander: SetUpWander = {
  axes: [
    ...[0, 1, 2, 3].map((zone) => ({
      name: `zone ${zone + 1}`,
      within: 1,
      unit: '°C',
      shift: Float64Array.of(
        0.025,
        [-0.09, -0.03, 0.03, 0.09][zone]!,
        zone % 3 ? 0.06 : -0.06,
        0,
        0,
      ),
    })),
    { name: 'screw', within: 0.1, unit: 'rpm', shift: Float64Array.of(0, 0, 0, 0.07, 0) },
    { name: 'fan', within: 5, unit: '%', shift: Float64Array.of(0, 0, 0, 0, 0.2) },
  ],
};

function slice(model: ReturnType<typeof conformanceModel>) {
  const settings = new Float64Array(5);
  let worst = 0;
  let sum = 0;
  for (let i = 0; i < 41; i++) {
    for (let j = 0; j < 41; j++) {
      settings[0] = -1 + i / 20;
      settings[3] = -1 + j / 20;
      const { probability, error } = model.at(settings);
      sum += probability;
      worst = Math.max(worst, error);
    }
  }
  return { worst, sum };
}

describe('chance to conform, 41 × 41 slice, three responses, five factors', () => {
  const whole = conformanceModel({ judged, correlation, wander, seed: 1 });
  const exact = conformanceModel({ judged, wander: noWander, seed: 1 });
  const { worst } = slice(whole);
  console.log(`largest standard error on the slice ${worst.toFixed(5)}`);
  expect(worst).toBeLessThan(0.002);
  bench('correlated, six set points wander', () => void slice(whole), { iterations: 15, time: 0 });
  bench('independent, settings exact (closed form)', () => void slice(exact), {
    iterations: 15,
    time: 0,
  });
});
