import {
  type BarrelMaterial,
  changeover,
  familyMaterial,
  Line,
  polymerFamilies,
  shutdownAdvice,
  transitionMaterials,
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

/** Materials passed through, or the code of the refusal. */
const path = (from: string, to: string, on = line) => {
  const result = changeover({ from, to, line: on });
  return result.kind === 'refused'
    ? result.code
    : [from, ...result.steps.map((step) => step.to)].join(' > ');
};

describe('changeover', () => {
  // The textbook chain PLA, polyethylene, PC is common practice. Windows are too (no source); which pairs meet directly follows from an overlap of
  // 10 °C. Dangerous pairs: acetal with PVC is in any moulding shop's rules (training notes of
  // processors, 2011 and 2021); the rest is common practice, no source.
  it.each([
    ['PLA', 'PETG', 'PLA > PETG'],
    ['PLA', 'ABS', 'PLA > ABS'],
    ['PLA', 'PP', 'PLA > PP'],
    ['PLA', 'HDPE', 'PLA > HDPE'],
    ['PLA', 'PC', 'PLA > HDPE > PC'],
    ['PLA', 'PA6', 'PLA > HDPE > PA6'],
    ['PLA', 'PA66', 'PLA > HDPE > PA66'],
    ['PLA', 'PET', 'PLA > HDPE > PET'],
    ['PLA', 'PEEK', 'no_route'],
    ['PLA', 'PEI', 'no_route'],
    ['PETG', 'PLA', 'PETG > PLA'],
    ['PC', 'PLA', 'PC > HDPE > PLA'],
    ['PC', 'ABS', 'PC > ABS'],
    ['PC', 'PETG', 'PC > PETG'],
    ['PC', 'PA6', 'PC > PA6'],
    ['PCL', 'PLA', 'PCL > PLA'],
    ['PCL', 'PA6', 'PCL > HDPE > PA6'],
    ['PCL', 'PC', 'PCL > HDPE > PC'],
    ['PVA', 'PLA', 'PVA > PLA'],
    ['PVA', 'PA12', 'PVA > PA12'],
    ['PVA', 'PETG', 'PVA > HDPE > PETG'],
    ['PVA', 'PC', 'PVA > HDPE > PC'],
    ['TPU', 'PC', 'TPU > HDPE > PC'],
    ['TPU', 'ABS', 'TPU > ABS'],
    ['ABS', 'PLA', 'ABS > PLA'],
    ['ABS', 'PET', 'ABS > PET'],
    ['PMMA', 'PA66', 'PMMA > HDPE > PA66'],
    ['PEEK', 'PEI', 'PEEK > PEI'],
    ['PEI', 'PEEK', 'PEI > PEEK'],
    ['PEEK', 'PP', 'no_route'],
    ['PEI', 'PC', 'no_route'],
    ['POM', 'PLA', 'POM > PLA'],
    ['POM', 'HDPE', 'POM > HDPE'],
    ['POM', 'PC', 'POM > HDPE > PC'],
    // Dangerous or forbidden.
    ['POM', 'PVC', 'never_run'],
    ['PVC', 'POM', 'never_mix'],
    ['PVC', 'PC', 'never_mix'],
    ['PVC', 'PLA', 'never_mix'],
    ['PVC', 'HDPE', 'never_run'],
    ['HDPE', 'PVC', 'never_run'],
    ['PLA', 'POM', 'needs_exception'],
    ['PLA', 'PVDF', 'needs_exception'],
    ['PVDF', 'POM', 'never_mix'],
    ['POM', 'PVDF', 'never_mix'],
    ['FEP', 'PEI', 'needs_exception'],
    ['PLA', 'PTFE', 'never_run'],
    ['PTFE', 'PLA', 'never_run'],
    ['PLA', 'mixed recyclate', 'never_run'],
    ['unknown pellets', 'PLA', 'never_run'],
    ['PLA', 'a thing of no name', 'needs_exception'],
    ['a thing of no name', 'PLA', 'unknown_material'],
  ])('from %s to %s: %s', (from, to, want) => {
    expect(path(from, to)).toBe(want);
  });

  it('refuses acetal after PVC even when other material has been run in between', () => {
    const exception = { by: 'A. Person', reason: 'trial agreed' };
    const result = changeover({ from: 'HDPE', to: 'POM', line, runBefore: ['PVC'], exception });
    expect(result).toMatchObject({ kind: 'refused', code: 'never_mix' });
    const clean = changeover({ from: 'HDPE', to: 'POM', line, exception });
    expect(clean.kind).toBe('route');
  });

  it('lets no exception lift PVC', () => {
    const exception = { by: 'A. Person', reason: 'wanted' };
    const result = changeover({ from: 'HDPE', to: 'PVC', line, exception });
    expect(result).toMatchObject({ kind: 'refused', code: 'never_run' });
  });

  it('asks for nothing when the barrel is clean', () => {
    expect(changeover({ from: null, to: 'PLA', line })).toMatchObject({ kind: 'route', grams: 0 });
  });

  it('refuses what the heaters cannot reach', () => {
    expect(path('HDPE', 'PEEK', lineOf(350))).toBe('heater_limit');
    const cold = changeover({ from: 'LDPE', to: 'PC', line: lineOf(255) });
    // 245 °C leaves 5 °C between PC's floor and the heaters: too thin to displace anything.
    expect(cold).toMatchObject({ kind: 'refused', code: 'no_route' });
  });

  it('prices a step by barrel volumes: four times 27.6 cm³ of the new melt', () => {
    const result = changeover({ from: 'PLA', to: 'PETG', line });
    if (result.kind !== 'route') throw new Error('expected a route');
    expect(result.grams).toBe(Math.round(4 * 27.6 * 1.1));
    expect(result.steps[0]!.says).toMatchInlineSnapshot(
      `"Bring every zone to 217 °C (between 210 and 230 °C) with PLA still in the barrel, then feed PETG: 4 barrel volumes, about 121 g. Do not run the barrel empty in between."`,
    );
  });

  it('says in words why there is no way', () => {
    const result = changeover({ from: 'PLA', to: 'PEEK', line });
    expect(result.kind === 'refused' && result.says).toMatchInlineSnapshot(
      `"No chain of transition materials joins PLA (165 to 230 °C) and PEEK (360 to 420 °C) with windows that overlap by 10 °C on this line. Take screw and barrel out and clean them mechanically, following the machine's manual."`,
    );
  });

  const material = fc
    .tuple(fc.integer({ min: 60, max: 380 }), fc.integer({ min: 1, max: 120 }), fc.nat(9999))
    .map(
      ([floor, width, id]): BarrelMaterial => ({
        name: `invented ${id}`,
        family: `family ${id}`,
        floorCelsius: floor,
        ceilingCelsius: floor + width,
        meltDensityGPerCm3: 1,
      }),
    );
  const exception = { by: 'A. Person', reason: 'test of invented material' };
  const windowOf = (name: string, known: readonly BarrelMaterial[]) =>
    known.find((one) => one.name === name) ?? familyMaterial(name)!;

  it('law: no path ever passes a material outside its window, whatever the windows', () => {
    let routes = 0;
    fc.assert(
      fc.property(material, material, fc.integer({ min: 150, max: 450 }), (from, to, limit) => {
        fc.pre(from.name !== to.name);
        const result = changeover({ from, to, line: lineOf(limit), exception });
        if (result.kind === 'refused') return;
        routes++;
        let resident = from;
        for (const step of result.steps) {
          expect(step.from).toBe(resident.name);
          const next = windowOf(step.to, [from, to]);
          for (const inside of [resident, next]) {
            expect(step.celsius).toBeGreaterThanOrEqual(inside.floorCelsius);
            expect(step.celsius).toBeLessThanOrEqual(inside.ceilingCelsius);
          }
          expect(step.celsius).toBeLessThanOrEqual(limit - 10);
          resident = next;
        }
        expect(resident).toBe(to);
      }),
      { seed: 61, numRuns: 800 },
    );
    expect(routes).toBeGreaterThan(100);
  });

  it('law: every route between known families stays inside windows and dangerous pairs never meet', () => {
    for (const { family: from } of polymerFamilies) {
      for (const { family: to } of polymerFamilies) {
        const result = changeover({ from, to, line });
        if (result.kind === 'refused') {
          expect(result.says.length).toBeGreaterThan(30);
          continue;
        }
        expect([from, to]).not.toContain('PVC');
        const passed = result.steps.slice(0, -1).map((step) => step.to);
        for (const name of passed) expect(transitionMaterials).toContain(name);
        for (const step of result.steps) {
          for (const name of [step.from, step.to]) {
            const { floorCelsius, ceilingCelsius } = familyMaterial(name)!;
            expect(step.celsius).toBeGreaterThanOrEqual(floorCelsius);
            expect(step.celsius).toBeLessThanOrEqual(ceilingCelsius);
          }
        }
      }
    }
  });
});

describe('shutdownAdvice', () => {
  it.each([
    ['HDPE', 'yes', 'HDPE'],
    ['PP', 'yes', 'PP'],
    ['PLA', 'no', 'HDPE'],
    ['ABS', 'short stop only', 'HDPE'],
    ['PC', 'never', 'HDPE'],
    ['POM', 'never', 'HDPE'],
    ['PVA', 'never', 'HDPE'],
    ['PEEK', 'never', 'PEEK'],
    ['PEI', 'never', 'PEI'],
    ['something unknown', 'no', 'something unknown'],
  ])('of %s: may stay %s, leaves %s', (resident, mayStay, leaves) => {
    const advice = shutdownAdvice(resident, line);
    expect([advice.mayStay, advice.leaves]).toEqual([mayStay, leaves]);
    expect(advice.steps.join(' ')).toContain('Write down what is in the barrel');
  });

  it('says to call someone where no seal resin reaches', () => {
    const advice = shutdownAdvice('PEEK', line);
    expect(advice.purge).toMatchObject({ kind: 'refused', code: 'no_route' });
    expect(advice.steps.join(' ')).toContain('person in charge');
  });
});
