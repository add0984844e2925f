import {
  bracketOf,
  cornerWalk,
  levelSearch,
  makesStrand,
  middleSettings,
  outcomeOf,
  rangeCorners,
  refusals,
  type ScoutStep,
  type StrandLook,
  scoutAdvice,
  scoutSetPoints,
  strandLooks,
  worstCorners,
} from '@strandwise/core';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { exampleGrade as grade, exampleLine as line } from '../study/example-study.ts';

const product = {
  diameterMm: 1.75,
  toleranceMm: 0.05,
  mostBubblesPerMetre: 1,
  leastOutputKgPerHour: 0,
  leastPpk: 1,
};
const scoutWith = (steps: readonly ScoutStep[]) => ({
  line,
  grade,
  product,
  fixed: middleSettings(grade, line),
  steps,
});

/** Scouts with an eye that reads a look off the level alone. */
function scouted(look: (level: number, step: ScoutStep) => StrandLook) {
  const steps: ScoutStep[] = [];
  for (;;) {
    const advice = scoutAdvice(scoutWith(steps));
    if (advice.kind !== 'step') return { advice, steps };
    const step: ScoutStep = { ...advice, seen: 'holds shape' };
    steps.push({
      setPoints: step.setPoints,
      levelCelsius: step.levelCelsius,
      purpose: step.purpose,
      seen: look(step.levelCelsius, step),
    });
    if (steps.length > 40) throw new Error('no end');
  }
}
const windowed =
  (low: number, high: number) =>
  (level: number): StrandLook =>
    level < low - 5
      ? 'unmelted'
      : level < low
        ? 'stiff'
        : level > high + 5
          ? 'runs'
          : level > high
            ? 'soft'
            : 'holds shape';

describe('levelSearch', () => {
  const allowed = Array.from({ length: 51 }, (_, i) => 170 + i);

  it('starts hot, three quarters of the way up', () => {
    expect(levelSearch(allowed, [])).toMatchObject({ kind: 'try', celsius: 207 });
  });

  it('halves towards the cold when the start is too hot', () => {
    expect(levelSearch(allowed, [{ levelCelsius: 207, seen: 'runs' }])).toMatchObject({
      celsius: 188,
    });
  });

  it('ends when cold and hot meet with nothing between', () => {
    const steps = [
      { levelCelsius: 190, seen: 'unmelted' as const },
      { levelCelsius: 193, seen: 'runs' as const },
    ];
    expect(levelSearch(allowed, steps).kind).toBe('nothing holds');
  });

  it('says so when no level is allowed', () => {
    expect(levelSearch([], [])).toMatchObject({ kind: 'nothing holds' });
  });

  it('law: finds the edges of any window within the resolution, in few steps', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 160, max: 205 }),
        fc.integer({ min: 6, max: 60 }),
        (low, width) => {
          const look = windowed(low, low + width);
          const steps: { levelCelsius: number; seen: StrandLook }[] = [];
          for (;;) {
            const search = levelSearch(allowed, steps);
            if (search.kind === 'try') {
              expect(steps.map(({ levelCelsius }) => levelCelsius)).not.toContain(search.celsius);
              steps.push({ levelCelsius: search.celsius, seen: look(search.celsius) });
              expect(steps.length).toBeLessThanOrEqual(12);
              continue;
            }
            if (search.kind === 'nothing holds') {
              // Only where the allowed levels hardly reach into the window.
              expect(Math.min(low + width, 220) - Math.max(low, 170)).toBeLessThan(9);
              return;
            }
            const { goodLow, goodHigh, cold, hot } = search.bracket;
            expect(goodLow!).toBeGreaterThanOrEqual(low);
            expect(goodHigh!).toBeLessThanOrEqual(low + width);
            if (cold !== null) expect(goodLow! - cold).toBeLessThanOrEqual(8);
            if (hot !== null) expect(hot - goodHigh!).toBeLessThanOrEqual(8);
            return;
          }
        },
      ),
      { seed: 5, numRuns: 400 },
    );
  });

  it('law: a bracket is in order whatever was seen', () => {
    const step = fc.record({
      levelCelsius: fc.integer({ min: 150, max: 250 }),
      seen: fc.constantFrom(...strandLooks.map(({ look }) => look)),
    });
    fc.assert(
      fc.property(fc.array(step, { maxLength: 12 }), (steps) => {
        const { cold, goodLow, goodHigh, hot } = bracketOf(steps);
        const known = [cold, goodLow, goodHigh, hot].filter((value) => value !== null);
        expect(known).toEqual([...known].sort((a, b) => a - b));
      }),
      { seed: 6, numRuns: 500 },
    );
  });
});

describe('scoutAdvice', () => {
  it('ends with ranges whose corners break no limit and lie in the window seen', () => {
    const { advice, steps } = scouted(windowed(180, 205));
    if (advice.kind !== 'done') throw new Error(advice.kind);
    const { ranges, bracket, corners } = advice.proposal;
    expect(bracket.goodLow).toBeGreaterThanOrEqual(180);
    expect(bracket.goodHigh).toBeLessThanOrEqual(205);
    expect(corners.map(({ held }) => held)).toEqual(worstCorners.map(() => true));
    for (const corner of rangeCorners(ranges))
      expect(refusals(scoutSetPoints(corner, { line }), line, grade, product)).toEqual([]);
    expect(steps.length).toBeLessThan(13);
  });

  it('draws a range in when its corner gives no strand', () => {
    const held = scouted(windowed(180, 205));
    const failing = scouted((level, { purpose }) =>
      purpose === 'screw' && level < 195 ? 'unmelted' : windowed(180, 205)(level),
    );
    if (held.advice.kind !== 'done' || failing.advice.kind !== 'done')
      throw new Error('unfinished');
    expect(failing.advice.proposal.ranges.level.low).toBeGreaterThan(
      held.advice.proposal.ranges.level.low,
    );
    expect(failing.advice.proposal.ranges.screw.high).toBeLessThan(
      held.advice.proposal.ranges.screw.high,
    );
    expect(failing.advice.proposal.corners[0]).toMatchObject({ held: false, attempts: 3 });
    expect(failing.advice.proposal.sureness.worstChance).toBeLessThan(1);
  });

  it('says that nothing holds when every level is too cold', () => {
    expect(scouted(() => 'unmelted').advice.kind).toBe('nothing holds');
  });

  it('law: the same steps give the same advice, and undoing one asks for it again', () => {
    const { steps } = scouted(windowed(178, 199));
    const again = scoutAdvice(scoutWith(steps.slice(0, -1)));
    if (again.kind !== 'step') throw new Error(again.kind);
    expect(again.setPoints).toEqual(steps.at(-1)!.setPoints);
  });
});

describe('cornerWalk', () => {
  it('gives up a corner after three attempts and goes on to the next', () => {
    const ranges = {
      level: { low: 180, high: 200 },
      screw: { low: 3, high: 7 },
      fan: { low: 25, high: 75 },
    };
    const walk = cornerWalk(ranges, ['unmelted', 'unmelted', 'unmelted', 'runs']);
    expect(walk.records).toMatchObject([{ held: false, attempts: 3 }]);
    expect(walk.next).toBe(worstCorners[1]);
    expect(walk.ranges.level.low).toBeGreaterThan(180);
    expect(walk.ranges.level.high).toBeLessThan(200);
  });
});

describe('looks', () => {
  it('call a strand what can be wound, and tell the model why there is none', () => {
    expect(strandLooks.map(({ look }) => [look, makesStrand(look), outcomeOf(look)])).toEqual([
      ['unmelted', false, 'cold'],
      ['stiff', true, 'runs'],
      ['holds shape', true, 'runs'],
      ['soft', true, 'runs'],
      ['runs', false, 'hot'],
      ['no feed', false, 'no feed'],
    ]);
  });
});
