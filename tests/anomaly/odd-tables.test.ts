import {
  betterEnd,
  FitResult,
  fitTable,
  fittedRows,
  plotBelief,
  responseSurface,
  Spec,
  seededUniform,
  surfaceReport,
  type Uniform,
  withAlternatives,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';

// Small odd tables of every kind of response: constant, perfect, tied, huge means, failed cells, one plot
// or too few, blocks, runs of one or two. None may throw, and what is told must be finite JSON in words.

const modes = [
  'noise',
  'constant',
  'perfect',
  'huge',
  'tied',
  'tiny',
  'part failed',
  'few',
] as const;
const kinds = ['continuous', 'spread', 'count', 'pass-fail'] as const;

interface Odd {
  readonly spec: Spec;
  readonly table: Record<string, (number | string | null)[]>;
}

function oddTable(u: Uniform): Odd {
  const pick = <T>(from: readonly T[]): T => from[Math.floor(u() * from.length)]!;
  const kind = pick(kinds);
  const low = pick([0, 190, -1e-3, 1e6]);
  const factors = ['a', 'b'].map((name) => ({ name, low, high: low + pick([1, 20, 500]) }));
  const n = pick([1, 2, 3, 5, 8, 12, 20]);
  const each = <T>(of: (i: number) => T): T[] => Array.from({ length: n }, (_, i) => of(i));
  const isStuck = u() < 0.15;
  const coded = factors.map(() => each(() => (isStuck ? 0 : pick([0, 0.5, 1]))));
  const mode = pick(modes);
  const structure = pick(['none', 'plots', 'two strata', 'block', 'drawn block'] as const);
  const plots = 1 + Math.floor(u() * Math.max(1, n / 2));
  const value = (i: number): number | null => {
    const base = 1 + coded[0]![i]! + 2 * coded[1]![i]!;
    const noise = u() - 0.5;
    const made = {
      noise: base + noise,
      constant: 1,
      perfect: base,
      huge: 1e6 + 1e-3 * noise,
      tied: pick([1, 5]),
      tiny: 1e-9 * (2 + noise),
      'part failed': coded[0]![i]! > 0.6 ? null : base + noise,
      few: u() < 0.7 ? null : base + noise,
    }[mode];
    if (made === null) return null;
    if (kind === 'count') return Math.round(made);
    return kind === 'pass-fail' ? Number(made > 2) : made;
  };
  const isNested = structure === 'plots' || structure === 'two strata';
  const spec = Spec.parse({
    factors,
    responses: [{ name: 'y', kind, ...(kind === 'count' ? { exposure: 'm' } : {}) }],
    model: pick(['main', 'interactions', 'quadratic']),
    ...(isNested ? { wholePlot: 'plot' } : {}),
    ...(structure === 'two strata' ? { subWholePlot: 'part' } : {}),
    ...(structure.endsWith('block')
      ? { block: 'day', blocks: structure === 'block' ? 'fixed' : 'random' }
      : {}),
    contrasts: [{ name: 'across', at: { a: factors[0]!.high }, less: { a: low } }],
  });
  const table = {
    ...Object.fromEntries(
      factors.map(({ name, high }, f) => [name, each((i) => low + (high - low) * coded[f]![i]!)]),
    ),
    plot: each(() => Math.floor(u() * plots)),
    part: each(() => Math.floor(u() * 2)),
    day: each(() => pick(['mon', 'tue', 'wed'])),
    m: each(() => pick([1, 10])),
    y: each(value),
  };
  return { spec, table };
}

function told({ spec, table }: Odd) {
  const result = withAlternatives(fitTable({ spec, table }), spec, table);
  const surfaces = result.responses.flatMap((fit) => {
    const isBayesian = fit.sensitivity?.judgedBy === 'Bayesian' && fit.terms.length > 0;
    const rows = isBayesian ? fittedRows(fit, { spec, table }) : null;
    return responseSurface(fit, spec.factors, rows && plotBelief(fit, rows, spec.factors)) ?? [];
  });
  const aim = betterEnd(spec.responses[0]);
  return {
    ...result,
    surfaces: surfaces.map((surface) =>
      surfaceReport({ surface, factors: spec.factors, aim, seed: 1 }),
    ),
  };
}

const refuseInfinite = (key: string, value: unknown): unknown => {
  if (typeof value === 'number' && !Number.isFinite(value)) throw new Error(`${key} is ${value}`);
  return value;
};

describe('odd tables', () => {
  it.each([1, 2, 3, 4, 5, 6, 7, 8])('never throw and stay finite, seed %i', (seed) => {
    const u = seededUniform(seed, 'odd tables');
    for (let trial = 0; trial < 15; trial++) {
      const odd = oddTable(u);
      const text = JSON.stringify(told(odd), refuseInfinite);
      FitResult.parse(JSON.parse(text));
      expect(text).not.toMatch(/NaN|Infinity|undefined/);
    }
  });
});

describe('odd tables that once threw', () => {
  const factors = [
    { name: 'a', low: 0, high: 1 },
    { name: 'b', low: 0, high: 1 },
  ];
  const n = 12;
  const each = <T>(of: (i: number) => T): T[] => Array.from({ length: n }, (_, i) => of(i));
  const base = {
    a: each((i) => (i % 3) / 2),
    b: each((i) => (Math.floor(i / 3) % 3) / 2),
    plot: each((i) => Math.floor(i / 3)),
  };

  it.each(['continuous', 'spread'] as const)('one value in every run of plots, %s', (kind) => {
    const responses = [{ name: 'y', kind }];
    const spec = Spec.parse({ factors, responses, model: 'main', wholePlot: 'plot' });
    const { responses: fits } = told({ spec, table: { ...base, y: each(() => 1) } });
    expect(fits[0]!.alternatives).toBeNull();
    expect(fits[0]!.cannotSay.map((said) => said.kind)).toContain('perfect-fit');
  });

  it('readings that the model passes through, in plots', () => {
    const responses = [{ name: 'y', kind: 'continuous' }];
    const spec = Spec.parse({ factors, responses, model: 'main', wholePlot: 'plot' });
    const y = each((i) => 1 + base.a[i]! + 2 * base.b[i]!);
    const { responses: fits } = told({ spec, table: { ...base, y } });
    expect(fits[0]!.sensitivity!.rows.every(({ terms }) => terms.length === 0)).toBe(true);
  });
});
