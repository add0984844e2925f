import { confirmationRuns, type Happening, refusals, studyState } from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { adoptedPlan, at, openedStudy, setPoints } from '../study/example-study.ts';

const recipe = { zonesCelsius: [181, 196, 202, 199], screwRpm: 4, fanPercent: 50, other: {} };
const stateAfter = (...happenings: Happening[]) =>
  studyState(happenings.map((what, i) => ({ seq: i + 1, at: at(i), who: 'analyst', what })));
const proposed: Happening = { kind: 'recipe proposed', setPoints: recipe, natural: {}, says: [] };

describe('confirmationRuns', () => {
  it('sets up afresh each time: another setting stands between', () => {
    const state = stateAfter(openedStudy, adoptedPlan(4), proposed);
    const extensions = confirmationRuns(state, 3);
    expect(extensions.map(({ purpose }) => purpose)).toEqual([
      'confirm',
      'augment',
      'confirm',
      'augment',
      'confirm',
    ]);
    const zones = extensions.map(({ runs }) => runs[0]!.setPoints!.zonesCelsius);
    for (let i = 1; i < zones.length; i++) {
      const moved = zones[i]!.map((celsius, z) => Math.abs(celsius - zones[i - 1]![z]!));
      expect(Math.min(...moved)).toBeGreaterThanOrEqual(4);
    }
    expect(zones.filter((_, i) => i % 2 === 0)).toEqual([
      recipe.zonesCelsius,
      recipe.zonesCelsius,
      recipe.zonesCelsius,
    ]);
  });

  it('keeps every cell inside the limits, and to the plots that the plan has', () => {
    const state = stateAfter(openedStudy, adoptedPlan(4), proposed);
    const { line, grade, product } = state.opened;
    for (const { runs } of confirmationRuns(state, 5)) {
      expect(refusals(runs[0]!.setPoints!, line, grade, product)).toEqual([]);
      expect(runs[0]!.wholePlot).toBeNull();
      expect(runs[0]!.holdSeconds).toBeGreaterThan(600);
    }
  });

  it('leaves the recipe first when the line stands there already', () => {
    const here: Happening = {
      kind: 'settings entered',
      cell: 1,
      setPoints: recipe,
      holdSeconds: 600,
    };
    const state = stateAfter(openedStudy, adoptedPlan(4), here, proposed);
    expect(confirmationRuns(state, 1).map(({ purpose }) => purpose)).toEqual([
      'augment',
      'confirm',
    ]);
    const elsewhere: Happening = { ...here, setPoints };
    const other = stateAfter(openedStudy, adoptedPlan(4), elsewhere, proposed);
    expect(confirmationRuns(other, 1).map(({ purpose }) => purpose)).toEqual(['confirm']);
  });

  it('throws no_recipe without one, and set_ups outside 1 to 20', () => {
    expect(() => confirmationRuns(stateAfter(openedStudy, adoptedPlan(4)), 3)).toThrow(
      expect.objectContaining({ code: 'no_recipe' }),
    );
    expect(() => confirmationRuns(stateAfter(openedStudy, adoptedPlan(4), proposed), 0)).toThrow(
      expect.objectContaining({ code: 'set_ups' }),
    );
  });
});
