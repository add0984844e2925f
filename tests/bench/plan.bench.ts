import {
  assessedPlan,
  Factor,
  orderTable,
  planAdvice,
  planOf,
  planProperties,
  zoneTemperatures,
} from '@strandwise/core';
import { bench, describe } from 'vitest';
import { fan, level, line, screw, surroundings } from '../core/plan/example-plans.ts';

// The stated worry: someone who compares plans waits for these.
const tilt = Factor.parse({ name: 'tilt', low: 10, high: 30, changes: 'hard', acts: 'tilt' });
const hump = Factor.parse({ name: 'hump', low: 2, high: 18, changes: 'hard', acts: 'hump' });
const basis = {
  factors: [level, tilt, hump, screw, fan],
  seed: 1,
  surroundings: {
    ...surroundings,
    defaults: { zonesCelsius: zoneTemperatures({ level: 200 }, line), screwRpm: 5, fanPercent: 50 },
  },
};
const composite = planOf({
  ...basis,
  family: 'central composite',
  model: 'quadratic',
  options: { alpha: 'face-centred' },
});
const assessed = assessedPlan(composite);

describe('planning five factors, quadratic', () => {
  bench('properties of a 31-cell composite', () => {
    if (planProperties(composite).terms.length !== 21) throw new Error('terms');
  });
  bench('every order of it', () => {
    if (orderTable(assessed).length !== 3) throw new Error('orders');
  });
  bench(
    'advice for a map in 16 h, ten starts a search',
    () => {
      if (planAdvice(basis, { goal: 'map', budget: { hours: 16 } }).plans.length === 0)
        throw new Error('none');
    },
    { iterations: 3, warmupIterations: 1 },
  );
});
