import {
  Factor,
  Grade,
  Line,
  type PlanRequest,
  Product,
  profileTermsFor,
  SettingLimit,
  type Uniform,
  zoneTemperatures,
} from '@strandwise/core';

const families = [
  'full factorial',
  'fractional factorial',
  'plackett-burman',
  'definitive screening',
  'central composite',
  'box-behnken',
  'space filling',
  'optimal',
] as const;

/** An invented grade on an invented line with factors, a family and limits, all drawn at random. */
export function randomPlanRequest(uniform: Uniform): PlanRequest {
  const between = (low: number, high: number): number => low + (high - low) * uniform();
  const whole = (low: number, high: number): number => Math.floor(between(low, high + 1 - 1e-9));
  const oneOf = <T>(items: readonly T[]): T => items[whole(0, items.length - 1)]!;
  const zones = whole(1, 5);
  const floor = between(150, 220);
  const ceiling = floor + between(25, 80);
  const line = Line.parse({
    name: 'random line',
    zones: Array.from({ length: zones }, (_, i) => ({
      name: `zone ${i + 1}`,
      heaterLimitCelsius: between(ceiling - 10, ceiling + 60),
    })),
    // Steps that do not divide the limits: this is where rounding bites.
    setPointStepCelsius: oneOf([0.1, 0.5, 1, 2, 3, 5]),
    largestNeighbourStepCelsius: between(8, 40),
    screw: {
      lowRpm: between(0.5, 2),
      highRpm: between(6, 15),
      stepRpm: oneOf([0.1, 0.25, 0.5, 1]),
    },
    fan: { stepPercent: oneOf([1, 5, 7, 15]) },
  });
  const grade = Grade.parse({
    name: 'random grade',
    family: 'PLA',
    floorCelsius: floor,
    ceilingCelsius: ceiling,
    solidDensityGPerCm3: 1.24,
    meltDensityGPerCm3: 1.07,
  });
  const middle = (floor + ceiling) / 2;
  const factors: Factor[] = [];
  for (const acts of profileTermsFor(zones)) {
    if (uniform() < 0.3) continue;
    const centre = acts === 'level' ? middle : between(-4, 12);
    const half = acts === 'level' ? between(3, (ceiling - floor) / 2.2) : between(2, 12);
    factors.push(
      Factor.parse({ name: acts, low: centre - half, high: centre + half, changes: 'hard', acts }),
    );
  }
  const speed = between(3, 5);
  if (uniform() < 0.8) {
    const half = between(0.5, 2.4);
    factors.push(
      Factor.parse({
        name: 'screw',
        low: speed - half,
        high: speed + half,
        changes: 'semi-hard',
        acts: 'screw',
      }),
    );
  }
  if (uniform() < 0.7) {
    factors.push(
      Factor.parse({ name: 'fan', low: between(0, 40), high: between(50, 100), acts: 'fan' }),
    );
  }
  if (uniform() < 0.25) {
    factors.push(Factor.parse({ name: 'gap', low: 1, high: 7.3, step: oneOf([0.5, 1, 2]) }));
  }
  if (uniform() < 0.15) factors.push(Factor.parse({ name: 'nozzle', levels: ['a', 'b'] }));
  if (factors.length === 0) factors.push(Factor.parse({ name: 'gap', low: 0, high: 9, step: 1 }));
  const numeric = factors.filter((factor) => 'low' in factor);
  const limits: SettingLimit[] = [];
  if (numeric.length > 0 && uniform() < 0.3) {
    const [a, b] = [oneOf(numeric), oneOf(numeric)];
    const weights = a === b ? { [a.name]: 1 } : { [a.name]: 1, [b.name]: between(-1, 1) };
    const at = Object.entries(weights).reduce((sum, [name, weight]) => {
      const { low, high } = numeric.find((factor) => factor.name === name)!;
      return sum + weight * between(low + 0.4 * (high - low), high);
    }, 0);
    limits.push(SettingLimit.parse({ weights, atMost: at }));
  }
  const family = uniform() < 0.45 ? 'optimal' : oneOf(families);
  const fanLevels = [between(1, 4), between(5, 7)].sort((x, y) => x - y);
  const forbidden =
    family === 'optimal' && numeric.some(({ name }) => name === 'gap') && uniform() < 0.5
      ? { forbidden: [{ gap: { from: fanLevels[0], to: fanLevels[1] } }] }
      : {};
  return {
    factors,
    model: oneOf(['main', 'interactions', 'quadratic'] as const),
    family,
    options:
      family === 'optimal'
        ? {
            starts: 1,
            criterion: oneOf(['D', 'A', 'I']),
            everyRunSetAnew: uniform() < 0.3,
            ...forbidden,
          }
        : {},
    seed: whole(1, 1_000_000),
    limits,
    ...(uniform() < 0.2
      ? { order: oneOf(['complete', 'within-plots', 'trend-robust'] as const) }
      : {}),
    surroundings: {
      line,
      grade,
      product: Product.parse({ diameterMm: 1.75, toleranceMm: 0.05 }),
      defaults: {
        zonesCelsius: zoneTemperatures({ level: Math.round(middle) }, line),
        screwRpm: speed,
        fanPercent: 50,
      },
    },
  };
}
