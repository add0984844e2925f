import {
  adoptedPlan,
  cellLoss,
  describeCellLoss,
  type Happening,
  planOf,
  refusals,
  replacementRun,
  type StudyState,
  studyDefaults,
  studyState,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { entry, openedStudy } from './example-study.ts';

function plannedStudy(
  family: string,
  options: Record<string, unknown>,
  model = 'main',
): StudyState {
  const opened = studyState([{ seq: 1, ...entry(openedStudy) }]);
  const { factors, line, grade, product } = opened.opened;
  const plan = planOf({
    factors,
    model: model as 'main',
    family,
    options,
    seed: 3,
    surroundings: { line, grade, product, defaults: studyDefaults(opened) },
  });
  const what: Happening = { kind: 'plan adopted', plan: adoptedPlan(plan) };
  return studyState([
    { seq: 1, ...entry(openedStudy) },
    { seq: 2, ...entry(what, 1) },
  ]);
}

describe('cellLoss', () => {
  it('takes one error df from a full factorial with replicates', () => {
    const state = plannedStudy('full factorial', { replicates: 2 });
    const loss = cellLoss(state, 1);
    if (loss.kind !== 'costs') throw new Error('no cost');
    // 8 cells, 3 coefficients: 5 df to judge by; one cell less leaves 4.
    expect(loss.df).toEqual([{ stratum: 'cells', before: 5, after: 4 }]);
    expect(loss.termsLost).toEqual([]);
    expect(loss.growth).toBeGreaterThan(1);
    expect(loss.worst!.after).toBeLessThan(loss.worst!.before);
  });

  it('names terms lost when every cell carries the model', () => {
    const state = plannedStudy('full factorial', {}, 'interactions');
    const loss = cellLoss(state, 2);
    if (loss.kind !== 'costs') throw new Error('no cost');
    expect(loss.growth).toBeNull();
    expect(loss.termsLost).toContain('level × screw');
    expect(describeCellLoss(loss)[0]).toContain('No other cell can tell');
  });

  it('counts cells that failed or were left out as gone already', () => {
    const full = plannedStudy('full factorial', { replicates: 2 });
    const state: StudyState = {
      ...full,
      cells: full.cells.map((cell) => (cell.cell === 1 ? { ...cell, status: 'failed' } : cell)),
    };
    const loss = cellLoss(state, 2);
    expect(loss.kind === 'costs' && loss.df[0]).toEqual({
      stratum: 'cells',
      before: 4,
      after: 3,
    });
  });

  it('costs the model nothing when a confirmation is lost', () => {
    const full = plannedStudy('full factorial', {});
    const state: StudyState = {
      ...full,
      cells: full.cells.map((cell) => ({ ...cell, purpose: 'confirm' as const })),
    };
    expect(cellLoss(state, 1).kind).toBe('none');
  });
});

describe('replacementRun', () => {
  it('pulls a cell towards the centre and stays inside the limits', () => {
    const state = plannedStudy('full factorial', {});
    const { line, grade, product } = state.opened;
    for (const { cell, run } of state.cells) {
      const nearer = replacementRun(state, cell)!;
      for (const name of ['level', 'screw']) {
        const before = Number(run.coded[name]);
        expect(Math.sign(Number(nearer.coded[name]))).toBe(Math.sign(before));
        expect(Math.abs(Number(nearer.coded[name]))).toBeLessThan(Math.abs(before));
      }
      expect(refusals(nearer.setPoints!, line, grade, product)).toEqual([]);
    }
  });

  it('has nothing nearer than the centre', () => {
    const full = plannedStudy('full factorial', {});
    const state: StudyState = {
      ...full,
      cells: full.cells.map((cell) => ({
        ...cell,
        run: { ...cell.run, coded: { level: 0, screw: 0 } },
      })),
    };
    expect(replacementRun(state, 1)).toBeNull();
  });
});
