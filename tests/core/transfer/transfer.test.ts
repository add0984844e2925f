import {
  backOnScale,
  checkRuns,
  shiftEstimate,
  shiftedModel,
  transferVerdict,
  unshifted,
  watchedFactors,
} from '@strandwise/core';
import { beforeAll, describe, expect, it } from 'vitest';
import { type QualifiedStudy, qualifiedStudy, transferTrial } from '../../bench/transfer-trial.ts';

// One study on the virtual line; power and false alarms over many are in datasets/transfer/table.md.
describe('a recipe on the next lot', () => {
  let study: QualifiedStudy;
  beforeAll(async () => {
    study = (await qualifiedStudy(2))!;
  }, 120_000);

  /** Readings that the old surfaces give when moved by `shift` and raised by `offset`, without scatter. */
  function exactReadings(shift: number, offset: number, runs = 6) {
    const { predictor, recipe } = study;
    const planned = checkRuns({ predictor, recipe, runs });
    const model = shiftedModel(predictor, planned.watched);
    const readings = planned.places.map((place) => ({
      place,
      values: Object.fromEntries(
        model.surfaces.map((surface) => {
          const y = surface.mean(unshifted(surface, place.settings, [shift], planned.watched));
          if (surface.scale === 'ln rate')
            return [surface.name, place.metres * Math.exp(y + offset) - 0.5];
          // An offset of output is told in its own unit: 5 % of what it is.
          const own = surface.scale === 'response' ? 0.05 * offset * y : offset;
          return [surface.name, backOnScale(surface, y + own)];
        }),
      ),
    }));
    return { readings, model, planned };
  }

  it('puts check runs on both flanks, where a shift shows, and not at the flat optimum', () => {
    const { predictor, recipe } = study;
    const { places, watched, standardErrors, chanceToSee } = checkRuns({
      predictor,
      recipe,
      runs: 6,
    });
    const levels = places.map(({ settings }) => settings[watched[0]!.index]!);
    expect(levels.filter((level) => level < recipe[0]!)).toHaveLength(3);
    expect(levels.filter((level) => level > recipe[0]!)).toHaveLength(3);
    for (let i = 1; i < levels.length; i++) expect(levels[i]).not.toBe(levels[i - 1]);
    expect(standardErrors[0]).toBeGreaterThan(0);
    expect(chanceToSee[0]).toBeGreaterThan(0.05);
  });

  it('law: more check runs know a shift better', () => {
    const { predictor, recipe } = study;
    const errors = [2, 4, 6, 8].map(
      (runs) => checkRuns({ predictor, recipe, runs }).standardErrors[0]!,
    );
    expect([...errors].sort((a, b) => b - a)).toEqual(errors);
  });

  it.each([0, 3, -3, 5])(
    'recovers a shift of %i °C exactly from readings without scatter',
    (shift) => {
      const { readings, model } = exactReadings(shift, 0);
      const estimate = shiftEstimate(readings, model)!;
      // The prior of 20 °C draws an estimate in by SE²/(SE² + 400), a per cent or so.
      expect(estimate.shift[0]).toBeCloseTo(shift, 1);
      expect(estimate.misfit.chiSquared).toBeLessThan(0.01);
    },
  );

  it('keeps a change of the whole lot apart from a shift', () => {
    const { readings, model } = exactReadings(0, 0.2);
    const estimate = shiftEstimate(readings, model)!;
    expect(estimate.shift[0]).toBeCloseTo(0, 1);
    expect(estimate.offset['SD of diameter']).toBeCloseTo(0.2, 2);
  });

  it('says what to do: holds, shift with set points, or qualify anew', () => {
    const { predictor, recipe } = study;
    const judge = (shift: number, offset: number, failed: Float64Array[] = []) => {
      const { readings, planned } = exactReadings(shift, offset, 8);
      return transferVerdict({
        predictor,
        recipe,
        watched: planned.watched,
        readings,
        failed,
        asked: 0.9,
      });
    };
    expect(judge(0, 0)).toMatchObject({ kind: 'recipe holds' });
    const moved = judge(5, 0);
    if (moved.kind !== 'shift') throw new Error(moved.says);
    expect(moved.changes[0]).toMatchObject({ name: 'level' });
    expect(moved.changes[0]!.by).toBeGreaterThan(3);
    expect(judge(0, 0.8)).toMatchObject({ kind: 're-qualify' });
    expect(judge(0, 0, [recipe, recipe, recipe])).toMatchObject({ kind: 're-qualify' });
  });

  it('cannot tell from too few runs, and refuses an unknown factor', () => {
    const { predictor, recipe } = study;
    const watched = watchedFactors(study.state.opened.factors);
    expect(
      transferVerdict({ predictor, recipe, watched, readings: [], failed: [], asked: 0.9 }),
    ).toMatchObject({ kind: 'cannot tell' });
    expect(() => watchedFactors(study.state.opened.factors, ['colour'])).toThrow(
      expect.objectContaining({ code: 'unknown_factor' }),
    );
    expect(() => checkRuns({ predictor, recipe, runs: 1 })).toThrow(
      expect.objectContaining({ code: 'check_runs' }),
    );
  });

  it('walks on a moved lot from check study to verdict', async () => {
    const verdict = await transferTrial(study, { celsius: 6, runs: 8, seed: 21 });
    expect(verdict.shifts[0]!.by).toBeGreaterThan(1);
    expect(verdict.says.length).toBeGreaterThan(20);
  });
});
