import {
  type AdditionInput,
  adoptedPlan,
  type DomainError,
  type Extension,
  Happening,
  openedFrom,
  openJournal,
  type PlanRequest,
  planExtension,
  planOf,
  refusals,
  StudyDescription,
  studyDefaults,
  studySpec,
} from '@strandwise/core';
import { memoryStudyStore } from '@strandwise/store';
import { describe, expect, it } from 'vitest';
import { tickingClock } from '../study/example-study.ts';
import { fan, grade, level, line, screw, surroundings } from './example-plans.ts';

/** A study with an adopted plan, of whose cells some are done and some failed. */
function studyWith(
  plan: Pick<PlanRequest, 'family' | 'model'> & Partial<PlanRequest>,
  done = 0,
  failed: readonly number[] = [],
) {
  const description = StudyDescription.parse({
    name: 'extension (invented)',
    grade,
    line,
    product: surroundings.product,
    factors: [level, screw, fan],
    responses: [{ name: 'gloss', kind: 'continuous', goal: { aim: 'largest', low: 0, target: 1 } }],
  });
  const store = memoryStudyStore();
  const clock = tickingClock();
  const opened = { ...openedFrom(description), kind: 'study opened' as const };
  store.append([{ at: new Date(clock.now()).toISOString(), who: 'tester', what: opened }], 0);
  const journal = openJournal(store, clock, 'tester');
  const made = planOf({
    factors: opened.factors,
    seed: 5,
    surroundings: { ...surroundings, defaults: studyDefaults(journal.state()) },
    ...plan,
  });
  journal.record({ kind: 'plan adopted', plan: adoptedPlan(made) });
  for (let i = 1; i <= done; i++) {
    const cell = journal.state().queue[0]!;
    const { run } = journal.state().cells[cell - 1]!;
    if (failed.includes(i)) {
      journal.record({ kind: 'cell failed', cell, direction: 'cold', next: 'leave out' });
      continue;
    }
    journal.record({
      kind: 'settings entered',
      cell,
      setPoints: run.setPoints!,
      holdSeconds: run.holdSeconds!,
    });
    journal.record({ kind: 'hold ended', cell, how: 'full', heldSeconds: run.holdSeconds! });
    journal.record({
      kind: 'value entered',
      cell,
      response: 'gloss',
      value: 0.15 + 0.02 * Number(run.coded['screw']) + 0.001 * i,
    });
    journal.record({ kind: 'cell finished', cell });
  }
  return journal;
}

const corners = {
  family: 'full factorial',
  model: 'interactions',
  options: { centrePoints: 2 },
} as const;

function checked(extension: Extension): Extension {
  for (const happening of extension.happenings) Happening.parse(happening);
  for (const { setPoints } of extension.runs)
    expect(refusals(setPoints!, line, grade, surroundings.product)).toEqual([]);
  return extension;
}

describe('planExtension', () => {
  it('makes corners a composite: axial points as a new block, the squares then told', () => {
    const journal = studyWith(corners, 3);
    const addition: AdditionInput = { kind: 'axial block', alpha: 'face-centred', centrePoints: 3 };
    const extension = checked(planExtension(journal.state(), addition));
    expect(extension.runs).toHaveLength(9);
    expect(extension.runs.every(({ block }) => block === 2)).toBe(true);
    expect(extension.runs.map(({ runOrder }) => runOrder)).toEqual([
      11, 12, 13, 14, 15, 16, 17, 18, 19,
    ]);
    const square = (properties: Extension['after']) =>
      properties.terms.find(({ name }) => name === 'level²')!.power;
    expect(square(extension.before)).toBeNull();
    expect(square(extension.after)).toBeGreaterThan(0);
    for (const happening of extension.happenings) journal.record(happening);
    expect(journal.state().plan!.model).toBe('quadratic');
    expect(
      journal
        .state()
        .cells.slice(0, 3)
        .every(({ status }) => status === 'done'),
    ).toBe(true);
    expect(journal.state().queue).toHaveLength(7 + 9);
  });

  it('gives the fit a block column once both blocks have been measured', () => {
    const journal = studyWith(corners, 10);
    expect(studySpec(journal.state()).block).toBeUndefined();
    const { happenings } = planExtension(journal.state(), { kind: 'centre points', count: 1 });
    for (const happening of happenings) journal.record(happening);
    const [cell] = journal.state().queue;
    journal.record({ kind: 'cell failed', cell: cell!, direction: 'hot', next: 'leave out' });
    expect(studySpec(journal.state()).block).toBe('block');
  });

  it.each<[AdditionInput, number]>([
    [{ kind: 'centre points', count: 4 }, 4],
    [{ kind: 'replicates' }, 10],
    [{ kind: 'replicates', cells: [1, 5], block: 'same' }, 2],
    [{ kind: 'fold-over' }, 8],
    [{ kind: 'fold-over', reverse: ['level'], keep: { factor: 'screw', at: 'high' } }, 4],
    [{ kind: 'bigger model', model: 'quadratic', runs: 6, criterion: 'I', starts: 3 }, 6],
  ])('adds cells and leaves those that stand as they are: %o', (addition, count) => {
    const journal = studyWith(corners, 4);
    const before = journal.state();
    const extension = checked(planExtension(before, addition));
    expect(extension.runs).toHaveLength(count);
    expect(extension.after.cells).toBe(extension.before.cells + count);
    // On the model that could be told before, more cells never tell less, new blocks or not.
    const fair = extension.afterOnSameModel ?? extension.after;
    expect(fair.assessed).toEqual(extension.before.assessed);
    expect(fair.averageError).toBeLessThan(extension.before.averageError * (1 + 1e-9));
    for (const happening of extension.happenings) journal.record(happening);
    expect(journal.state().cells.slice(0, 10)).toEqual(before.cells);
    expect(journal.state().cells).toHaveLength(10 + count);
  });

  it('keeps done whole plots and numbers new ones after them', () => {
    const journal = studyWith(
      {
        family: 'optimal',
        model: 'main',
        options: { starts: 2, wholePlots: 4, cells: 3, replicatedWholePlots: 1 },
      },
      6,
    );
    const addition: AdditionInput = {
      kind: 'bigger model',
      model: 'quadratic',
      runs: 9,
      wholePlots: 3,
      criterion: 'I',
      starts: 3,
    };
    const extension = checked(planExtension(journal.state(), addition));
    const plots = [...new Set(extension.runs.map(({ wholePlot }) => wholePlot))];
    expect(plots).toEqual([5, 6, 7]);
    for (const plot of plots) {
      const inside = extension.runs.filter(({ wholePlot }) => wholePlot === plot);
      expect(new Set(inside.map(({ natural }) => natural['level'])).size).toBe(1);
    }
    expect(extension.after.assessed).toBe('quadratic');
  });

  it('replaces failed cells once, pulled in toward the centre', () => {
    const journal = studyWith(corners, 6, [2, 4]);
    const failed = journal.state().cells.filter(({ status }) => status === 'failed');
    const pullable = failed.filter(({ run }) => run.kind !== 'centre').length;
    const extension = checked(planExtension(journal.state(), { kind: 'replace failed' }));
    expect(extension.runs).toHaveLength(pullable);
    for (const { coded } of extension.runs)
      for (const value of Object.values(coded)) expect(Math.abs(Number(value))).toBeLessThan(0.75);
    for (const happening of extension.happenings) journal.record(happening);
    expect(() => planExtension(journal.state(), { kind: 'replace failed' })).toThrow(
      /No failed cell is without its replacement/,
    );
  });

  it('moves a range: waiting cells outside give way, done ones stay and are coded anew', () => {
    const journal = studyWith(corners, 4);
    const addition: AdditionInput = {
      kind: 'move range',
      factor: 'level',
      low: 196,
      high: 210,
      runs: 4,
    };
    const extension = checked(planExtension(journal.state(), addition));
    const waitingLow = journal
      .state()
      .cells.filter(
        ({ status, run }) => status === 'waiting' && Number(run.natural['level']) < 195,
      );
    expect(extension.leftOut).toEqual(waitingLow.map(({ cell }) => cell));
    expect(extension.happenings.map(({ kind }) => kind)).toEqual([
      'ranges changed',
      'plan extended',
    ]);
    const before = journal.state().cells;
    for (const happening of extension.happenings) journal.record(happening);
    const after = journal.state();
    for (const { cell, run, status } of after.cells.slice(0, 10)) {
      expect(run.natural).toEqual(before[cell - 1]!.run.natural);
      const coded = (2 * Number(run.natural['level']) - 196 - 210) / 14;
      expect(run.coded['level']).toBeCloseTo(coded, 12);
      expect(status === 'left out').toBe(extension.leftOut.includes(cell));
    }
    expect(after.queue).toHaveLength(6 - extension.leftOut.length + 4);
  });

  it('walks up the steepest path of a response and shifts the region along it', () => {
    const journal = studyWith(corners, 10);
    const path = checked(
      planExtension(journal.state(), {
        kind: 'steepest path',
        response: 'gloss',
        steps: 3,
        stride: 0.5,
      }),
    );
    // Gloss rises by 0.02 per half-range of the screw and by little else.
    const speeds = path.runs.map(({ natural }) => Number(natural['screw']));
    expect(speeds).toEqual([...speeds].sort((a, b) => a - b));
    expect(speeds[0]!).toBeGreaterThan(5.5);
    const shift = checked(
      planExtension(journal.state(), { kind: 'shift region', response: 'gloss', by: 1, runs: 5 }),
    );
    const moved = shift.happenings[0];
    expect(moved?.kind).toBe('ranges changed');
    if (moved?.kind !== 'ranges changed') return;
    const range = moved.factors.find(({ name }) => name === 'screw')!;
    expect(range).toMatchObject({ low: 5, high: 8 });
  });

  it.each<[AdditionInput, string]>([
    [{ kind: 'replace failed' }, 'nothing_to_add'],
    [{ kind: 'replicates', cells: [99] }, 'unknown_cell'],
    [{ kind: 'move range', factor: 'levle', low: 1, high: 2 }, 'unknown_factor'],
    [{ kind: 'move range', factor: 'level', low: 5, high: 2 }, 'bad_range'],
    [{ kind: 'steepest path', response: 'glsos', steps: 2, stride: 0.5 }, 'unknown_response'],
    [{ kind: 'steepest path', response: 'gloss', steps: 2, stride: 0.5 }, 'not_fitted'],
    [{ kind: 'axial block', alpha: 9, centrePoints: 1 }, 'axial_outside_limits'],
  ])('refuses %o with %s', (addition, code) => {
    const { state } = studyWith(corners);
    try {
      planExtension(state(), addition);
    } catch (error) {
      expect((error as DomainError).code).toBe(code);
      return;
    }
    expect.unreachable('nothing was refused');
  });
});
