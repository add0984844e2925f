import {
  barrelMaterial,
  type Grade,
  isCleanBarrel,
  Line,
  readiness,
  startTemperature,
  withFamilyDefaults,
} from '@strandwise/core';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

const lineOf = (heaterLimitCelsius: number) =>
  Line.parse({
    name: 'bench line',
    zones: [1, 2, 3, 4].map((i) => ({ name: `zone ${i}`, heaterLimitCelsius })),
    screw: {},
  });
const line = lineOf(430);

const gradeOf = (family: string, name = `invented ${family}`): Grade => {
  const filled = withFamilyDefaults({ name, family });
  if (filled.kind !== 'filled') throw new Error(filled.says);
  return filled.grade;
};

describe('readiness', () => {
  // Windows and rules: common practice, no source, except acetal with PVC (rules of moulding shops) and
  // the fume constituents (HSE Plastics Processing Sheet 13). Number of steps of the changeover last.
  it.each([
    // [grade's family, barrel, verdict, words of the refusal, steps]
    ['PLA', 'clean', 'may heat', '', 0],
    ['PLA', 'PLA', 'may heat', '', 1],
    // A study stays 15 °C under the family's limit: PLA to 215, PETG from 210, so 5 °C of overlap only.
    ['PLA', 'PETG', 'may heat', '', 2],
    ['PLA', 'PC', 'may heat', '', 2],
    ['PLA', 'PEI', 'refused', 'clean them mechanically', 0],
    ['PLA', 'PEEK', 'refused', 'clean them mechanically', 0],
    ['PLA', 'PVC', 'refused', 'Acid from PVC', 0],
    ['PLA', 'PTFE', 'refused', 'PTFE', 0],
    ['PLA', 'unknown pellets', 'refused', 'Unknown or mixed', 0],
    ['PLA', 'grey stuff', 'refused', 'not known here', 0],
    ['PLA', 'HDPE', 'may heat', '', 1],
    ['PLA', 'polylactide', 'may heat', '', 1],
    ['PETG', 'ABS', 'may heat', '', 1],
    ['PETG', 'PA6', 'may heat', '', 1],
    ['PETG', 'PVA', 'may heat', '', 2],
    ['PA6', 'PLA', 'may heat', '', 2],
    ['PA6', 'PVC', 'refused', 'Acid from PVC', 0],
    ['PA66', 'PCL', 'may heat', '', 2],
    ['PC', 'PLA', 'may heat', '', 2],
    ['PC', 'TPU', 'may heat', '', 2],
    ['PC', 'PVC', 'refused', 'Acid from PVC', 0],
    ['PEI', 'PLA', 'refused', 'clean them mechanically', 0],
    ['PEI', 'PEEK', 'may heat', '', 1],
    ['PEEK', 'PEI', 'may heat', '', 1],
    ['TPU', 'PP', 'may heat', '', 1],
    ['PVA', 'PLA', 'may heat', '', 1],
    ['PVA', 'PC', 'may heat', '', 2],
    ['PCL', 'HDPE', 'may heat', '', 1],
    ['POM', 'HDPE', 'refused', 'excluded list', 0],
    ['POM', 'PVC', 'refused', 'never share a machine', 0],
    ['POM', 'PVDF', 'refused', 'set off the decomposition', 0],
    ['PVDF', 'HDPE', 'refused', 'excluded list', 0],
    ['PVC', 'HDPE', 'refused', 'hydrogen chloride', 0],
    ['PVC', 'POM', 'refused', 'hydrogen chloride', 0],
    ['PP', 'FEP', 'refused', 'toxic fume', 0],
  ])('of %s with %s in the barrel: %s', (family, barrel, verdict, words, steps) => {
    const ready = readiness({ grade: gradeOf(family), line, barrel: barrelMaterial(barrel, []) });
    expect(ready.verdict, ready.refusals.join(' ')).toBe(verdict);
    expect(ready.refusals.join(' ')).toContain(words);
    const { changeover: path } = ready;
    expect(path.kind === 'route' ? path.steps.length : 0).toBe(verdict === 'may heat' ? steps : 0);
    expect(ready.cautions[0]!.says).toContain('safety data sheet');
  });

  it('lets a named person run acetal, never PVC, and never acetal after PVC', () => {
    const exception = { by: 'A. Person', reason: 'trial agreed' };
    const of = (family: string, barrel: string) =>
      readiness({ grade: gradeOf(family), line, barrel, exception });
    expect(of('POM', 'HDPE').verdict).toBe('may heat');
    expect(of('POM', 'PVC').verdict).toBe('refused');
    expect(of('PVC', 'HDPE').verdict).toBe('refused');
    expect(
      readiness({ grade: gradeOf('POM'), line, barrel: 'HDPE', runBefore: ['PVC'], exception })
        .verdict,
    ).toBe('refused');
  });

  it('asks for no changeover when the barrel holds the very grade', () => {
    const grade = gradeOf('PLA', 'PX-9');
    expect(barrelMaterial('px-9', [grade])).toMatchObject({
      name: 'PX-9',
      floorCelsius: grade.floorCelsius,
    });
    const ready = readiness({ grade, line, barrel: barrelMaterial('px-9', [grade]) });
    expect(ready.changeover).toMatchObject({ kind: 'route', steps: [] });
  });

  it('knows words for a clean barrel', () => {
    expect(['clean', 'Empty', ' none '].map(isCleanBarrel)).toEqual([true, true, true]);
    expect(isCleanBarrel('cleaning resin')).toBe(false);
  });
});

describe('startTemperature', () => {
  it('stands a tenth of the melting point above it: 160 °C gives 176 °C', () => {
    const grade = {
      ...gradeOf('PLA'),
      meltingCelsius: 160,
      floorCelsius: 170,
      ceilingCelsius: 225,
    };
    expect(startTemperature(grade, line)).toMatchObject({ celsius: 176, basis: 'melting point' });
  });

  it('takes an amorphous grade 100 °C over its glass transition, and not past its ceiling', () => {
    expect(startTemperature(gradeOf('ABS'), line)).toMatchObject({
      celsius: 205,
      basis: 'glass transition',
    });
    const low = { ...gradeOf('ABS'), floorCelsius: 170, ceilingCelsius: 200 };
    expect(startTemperature(low, line).celsius).toBe(190);
  });

  it('takes the middle of a window too narrow for a margin, and says what is assumed', () => {
    const grade = { ...gradeOf('PVA'), floorCelsius: 180, ceilingCelsius: 188 };
    const start = startTemperature(grade, line);
    expect(start).toMatchObject({ celsius: 184, basis: 'middle of the window' });
    expect(start.assumed).toEqual(['floorCelsius', 'ceilingCelsius']);
  });

  it('law: lies between floor and ceiling and inside the heaters, whatever the grade', () => {
    const number = fc.integer({ min: 60, max: 380 });
    fc.assert(
      fc.property(
        number,
        fc.integer({ min: 1, max: 120 }),
        number,
        fc.integer({ min: 150, max: 450 }),
        (floor, width, melting, heater) => {
          fc.pre(heater - 10 > floor);
          const grade = {
            family: 'PP',
            meltingCelsius: melting,
            floorCelsius: floor,
            ceilingCelsius: floor + width,
            sources: {},
          };
          const { celsius } = startTemperature(grade, lineOf(heater));
          expect(celsius).toBeGreaterThanOrEqual(floor - 0.5);
          expect(celsius).toBeLessThanOrEqual(Math.min(floor + width, heater - 10) + 0.5);
        },
      ),
      { seed: 17, numRuns: 500 },
    );
  });
});
