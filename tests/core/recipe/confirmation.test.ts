import type { MeasuredResponses } from '@strandwise/core';
import {
  confirmationBounds,
  confirmationVerdict,
  freshCell,
  freshSetUps,
  poissonDraw,
  predictorOf,
  type Recommended,
  recommendation,
  type SetPoints,
  type StudyState,
  seededUniform,
  settingsOf,
  standardNormal,
  surfaceDraw,
} from '@strandwise/core';
import { beforeAll, describe, expect, it } from 'vitest';
import { factors, fitsOf, inventedStudy, moment } from './invented-study.ts';

const state = inventedStudy({ seed: 2 });
const predictor = predictorOf(state, fitsOf(state));
let found: Recommended;
beforeAll(() => {
  const recommended = recommendation(predictor);
  if (recommended.kind !== 'found') throw new Error(recommended.kind);
  found = recommended;
});

/** The study with confirmation cells: value of SD, bubbles in 8 m, and whether set elsewhere before. */
function confirmed(
  cells: readonly {
    readonly sd: number;
    readonly bubbles: number;
    readonly away?: boolean;
    readonly failed?: boolean;
  }[],
): StudyState {
  const added = cells.flatMap(({ sd, bubbles, away = true, failed = false }, i) => {
    const at = 100 + 10 * i;
    const elsewhere: SetPoints = { ...found.setPoints, screwRpm: found.setPoints.screwRpm + 1 };
    const make = (cell: number, entered: SetPoints, minute: number) => ({
      ...freshCell(cell, state.cells[0]!.run, 'confirm' as const),
      status: failed ? ('failed' as const) : ('done' as const),
      entered,
      enteredAt: moment(minute),
      failures: failed
        ? [{ direction: 'cold' as const, at: moment(minute), setPoints: entered }]
        : [],
      readings: {
        log: null,
        measured: { diameterSdMm: sd, diameterLnSdWeight: 80 } as MeasuredResponses,
        values: {},
        bubbles: { count: bubbles, metres: 8 },
        recounts: [],
      },
    });
    const here = make(200 + 2 * i, found.setPoints, at + 5);
    return away ? [make(201 + 2 * i, elsewhere, at), here] : [here];
  });
  return { ...state, cells: [...state.cells, ...added] };
}

describe('confirmationBounds', () => {
  it('holds every set-up and their mean together in at least 95 of 100 true recipes', () => {
    const expected = confirmationBounds(predictor, found, { setUps: 3 })!;
    const settings = settingsOf(found.coded, factors);
    const uniform = seededUniform(5, 'fresh set-ups');
    let held = 0;
    const trials = 3000;
    for (let trial = 0; trial < trials; trial++) {
      const isHeld = expected.bounds.every((bound) => {
        const surface = predictor.surfaces.find(({ name }) => name === bound.response)!;
        const draw = surfaceDraw(surface.belief!, uniform);
        const mean = surface
          .row(settings)
          .reduce((sum, x, j) => sum + x * draw.coefficients[j]!, 0);
        const scaled = Array.from(
          { length: 3 },
          () => mean + Math.sqrt(draw.noise) * standardNormal(uniform),
        );
        const values = scaled.map((value) =>
          surface.scale === 'ln rate'
            ? poissonDraw(bound.metres! * Math.exp(value), uniform) / bound.metres!
            : Math.exp(value),
        );
        const average =
          surface.scale === 'ln rate'
            ? values.reduce((sum, value) => sum + value / 3, 0)
            : Math.exp(values.reduce((sum, value) => sum + Math.log(value) / 3, 0));
        return (
          values.every((value) => value >= bound.each.low && value <= bound.each.high) &&
          average >= bound.mean.low &&
          average <= bound.mean.high
        );
      });
      if (isHeld) held++;
    }
    expect(held / trials).toBeGreaterThan(0.94);
    expect(held / trials).toBeLessThan(0.995);
  });

  it('narrows the mean with set-ups and asks for three to six of them', () => {
    const few = confirmationBounds(predictor, found, { setUps: 2 })!.bounds[0]!;
    const many = confirmationBounds(predictor, found, { setUps: 6 })!.bounds[0]!;
    expect(many.mean.high / many.mean.low).toBeLessThan(few.mean.high / few.mean.low);
    expect(few.each.low).toBeLessThan(few.mean.low);
    const chosen = confirmationBounds(predictor, found)!;
    expect(chosen.setUps).toBeGreaterThanOrEqual(3);
    expect(chosen.setUps).toBeLessThanOrEqual(6);
    expect(chosen.wouldCatch).toBeGreaterThan(0);
  });
});

describe('freshSetUps', () => {
  it('takes cells of one hold as one, with the mean of their values', () => {
    const apart = confirmed([
      { sd: 0.01, bubbles: 1 },
      { sd: 0.012, bubbles: 2 },
    ]);
    expect(freshSetUps(apart, found.setPoints).map(({ cells }) => cells.length)).toEqual([1, 1]);
    const together = confirmed([
      { sd: 0.01, bubbles: 1 },
      { sd: 0.0144, bubbles: 3, away: false },
    ]);
    const [only, ...others] = freshSetUps(together, found.setPoints);
    expect(others).toEqual([]);
    expect(only!.cells).toHaveLength(2);
    expect(only!.values['bubbles']).toBeCloseTo(4 / 16, 12);
    expect(only!.values['SD of diameter']).toBeCloseTo(0.012, 12);
  });

  it('leaves out failed cells and cells at other set points', () => {
    const state = confirmed([{ sd: 0.01, bubbles: 1, failed: true }]);
    expect(freshSetUps(state, found.setPoints)).toEqual([]);
  });
});

describe('confirmationVerdict', () => {
  const verdictOf = (cells: Parameters<typeof confirmed>[0]) => {
    const expected = confirmationBounds(predictor, found, { setUps: 3 })!;
    return confirmationVerdict(
      { ...predictor, state: confirmed(cells) },
      found.setPoints,
      expected,
    );
  };
  const usual = () => found.predictions.find(({ name }) => name === 'SD of diameter')!.mean.value;

  it('holds when all fall inside', () => {
    const sd = usual();
    const verdict = verdictOf([
      { sd, bubbles: 1 },
      { sd: 1.05 * sd, bubbles: 2 },
      { sd: 0.95 * sd, bubbles: 1 },
    ]);
    expect(verdict.kind).toBe('holds');
  });

  it('waits for fresh set-ups, and takes cells of one hold as one', () => {
    const sd = usual();
    const verdict = verdictOf([
      { sd, bubbles: 1 },
      { sd, bubbles: 1, away: false },
      { sd, bubbles: 3, away: false },
    ]);
    expect(verdict).toMatchObject({ kind: 'not yet', done: 1, wanted: 3 });
    const [only] = freshSetUps(
      confirmed([
        { sd, bubbles: 1 },
        { sd, bubbles: 3, away: false },
      ]),
      found.setPoints,
    );
    expect(only!.cells).toHaveLength(2);
    expect(only!.values['bubbles']).toBeCloseTo(4 / 16, 12);
  });

  it('misses on the bad side and says not to release', () => {
    const verdict = verdictOf([1, 2, 3].map(() => ({ sd: 2.5 * usual(), bubbles: 1 })));
    if (verdict.kind !== 'misses') throw new Error(verdict.kind);
    expect(verdict.misses[0]).toMatchObject({
      response: 'SD of diameter',
      side: 'worse',
      isMeanOutside: true,
    });
    expect(verdict.says).toContain('Do not release');
  });

  it('misses on the good side and says to fit again', () => {
    const verdict = verdictOf([1, 2, 3].map(() => ({ sd: 0.3 * usual(), bubbles: 1 })));
    expect(verdict.kind === 'misses' && verdict.misses[0]!.side).toBe('better');
    expect(verdict.says).toContain('fit again');
  });

  it('misses when no strand formed at the recipe', () => {
    const verdict = verdictOf([{ sd: usual(), bubbles: 0, failed: true }]);
    expect(verdict.kind === 'misses' && verdict.failed).toHaveLength(1);
    expect(verdict.says).toContain('No strand formed');
  });
});
