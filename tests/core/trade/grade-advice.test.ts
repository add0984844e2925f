import {
  cautionMoments,
  cautions,
  dryingAdvice,
  isRunnable,
  mixRule,
  moistureAfter,
  permission,
  polymerFamilies,
  polymerFamily,
  withFamilyDefaults,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';

describe('polymerFamilies', () => {
  it('holds sane rows: ranges rise, the ceiling is above the barrel range, melt is lighter than solid', () => {
    expect(polymerFamilies.length).toBeGreaterThanOrEqual(25);
    for (const row of polymerFamilies) {
      const where = row.family;
      if (row.barrelCelsius) {
        const [low, high] = row.barrelCelsius;
        expect([where, low < high && high <= row.ceilingCelsius]).toEqual([where, true]);
        const melting = row.meltingCelsius?.[0];
        if (melting !== undefined && where !== 'PVA')
          expect([where, high > melting]).toEqual([where, true]);
      }
      for (const end of [0, 1] as const)
        expect(row.meltDensityGPerCm3[end]).toBeLessThan(row.solidDensityGPerCm3[end]);
    }
  });

  it('is found by other names, letter case aside', () => {
    expect(polymerFamily('polycarbonate')?.family).toBe('PC');
    expect(polymerFamily(' hips ')?.family).toBe('PS');
    expect(polymerFamily('Nylon 6')?.family).toBe('PA6');
    expect(polymerFamily('unobtainium')).toBeUndefined();
  });

  // Tm and Tg: physical properties of plastics, PMC9088909, table 1; checked at its ranges.
  it.each([
    ['PET', 'meltingCelsius', 245, 265],
    ['POM', 'meltingCelsius', 165, 180],
    ['PC', 'glassTransitionCelsius', 145, 150],
    ['PS', 'glassTransitionCelsius', 90, 100],
    ['PMMA', 'glassTransitionCelsius', 100, 110],
  ] as const)('%s %s lies in %d to %d °C', (name, field, low, high) => {
    const [from, to] = polymerFamily(name)![field]!;
    expect(from).toBeGreaterThanOrEqual(low);
    expect(to).toBeLessThanOrEqual(high);
  });
});

describe('withFamilyDefaults', () => {
  it('fills gaps, marks them assumed and keeps the sheet', () => {
    const result = withFamilyDefaults({
      name: 'invented PX-1',
      family: 'pla',
      meltingCelsius: 168,
      sources: { meltingCelsius: 'data sheet' },
    });
    if (result.kind !== 'filled') throw new Error(result.says);
    expect(result.grade.meltingCelsius).toBe(168);
    expect(result.grade.floorCelsius).toBe(178);
    expect(result.grade.ceilingCelsius).toBe(215);
    expect(result.grade.sources['meltingCelsius']).toBe('data sheet');
    expect(result.grade.sources['ceilingCelsius']).toBe('assumed');
    expect(result.assumed).toContain('drying');
    expect(result.conflicts).toEqual([]);
  });

  it('shows where the sheet leaves the family, and does not overwrite it', () => {
    const result = withFamilyDefaults({
      name: 'invented PX-2',
      family: 'PLA',
      ceilingCelsius: 260,
      meltingCelsius: 130,
      solidDensityGPerCm3: 1.6,
    });
    if (result.kind !== 'filled') throw new Error(result.says);
    expect(result.grade.ceilingCelsius).toBe(260);
    expect(result.conflicts.map(({ field }) => field)).toEqual([
      'meltingCelsius',
      'ceilingCelsius',
      'solidDensityGPerCm3',
    ]);
    expect(result.conflicts[1]!.says).toMatchInlineSnapshot(
      `"Hottest barrel setting 260 °C is outside what is usual for PLA, at most 230 °C. Above it the family degrades within minutes. Check the sheet."`,
    );
  });

  it('asks for what is missing of an unknown family, and offers the nearest known', () => {
    const result = withFamilyDefaults({ name: 'invented', family: 'polycarbonat' });
    expect(result).toMatchObject({ kind: 'incomplete', nearest: 'polycarbonate' });
    const given = withFamilyDefaults({
      name: 'invented',
      family: 'unobtainium',
      floorCelsius: 200,
      ceilingCelsius: 240,
      solidDensityGPerCm3: 1.1,
      meltDensityGPerCm3: 1,
    });
    expect(given).toMatchObject({ kind: 'filled', assumed: [] });
  });
});

describe('permission', () => {
  it.each([
    ['PLA', 'allowed'],
    ['PP', 'allowed'],
    ['TPU', 'warn'],
    ['PEEK', 'warn'],
    ['POM', 'needs-exception'],
    ['acetal', 'needs-exception'],
    ['PVDF', 'needs-exception'],
    ['FEP', 'needs-exception'],
    ['PVC', 'never'],
    ['vinyl', 'never'],
    ['PTFE', 'never'],
    ['unknown', 'never'],
    ['mixed recyclate', 'never'],
    ['unobtainium', 'needs-exception'],
  ])('of %s is %s', (family, kind) => {
    expect(permission({ family }).kind).toBe(kind);
  });

  it('is lifted by a named person for the excluded list only', () => {
    const exception = { by: 'A. Person', reason: 'closed line, extraction checked' };
    expect(isRunnable(permission({ family: 'POM' }, exception))).toBe(true);
    expect(isRunnable(permission({ family: 'PVC' }, exception))).toBe(false);
    expect(isRunnable(permission({ family: 'POM' }, { by: ' ', reason: 'x' }))).toBe(false);
  });

  it('looks at name and hazards too', () => {
    expect(permission({ family: 'ABS', hazards: ['brominated flame retardant'] }).kind).toBe(
      'needs-exception',
    );
    expect(permission({ family: 'PP', name: 'PP regrind' }).kind).toBe('warn');
    expect(permission({ family: 'PP', name: 'unsorted bag' }).kind).toBe('never');
  });
});

describe('mixRule', () => {
  it('knows acetal and PVC from either side and by any name', () => {
    expect(mixRule('POM', 'PVC')?.kind).toBe('never');
    expect(mixRule('vinyl', 'polyacetal')?.kind).toBe('never');
    expect(mixRule('PLA', 'PETG')).toBe(null);
    expect(mixRule('PEEK', 'PA6')?.kind).toBe('warn');
  });
});

describe('moistureAfter', () => {
  it('takes 150 ppm to about 380 ppm in two hours (24 h, 3000 ppm)', () => {
    const ppm = moistureAfter(2, { driedPpm: 150, equilibriumPpm: 3000, uptakeHours: 24 });
    // 3000 − 2850 × 0.920044 = 377.87, by hand.
    expect(ppm).toBeCloseTo(377.87, 2);
  });
});

describe('dryingAdvice', () => {
  it('says how, how long, and how long it lasts', () => {
    const advice = dryingAdvice({ name: 'invented PX-1', family: 'PLA' });
    if (advice.kind !== 'dry') throw new Error(advice.says);
    expect([advice.celsius, advice.hours, advice.mostMoisturePpm]).toEqual([80, 4, 250]);
    const back = moistureAfter(advice.staysDryHours!, {
      driedPpm: 125,
      equilibriumPpm: 3000,
      uptakeHours: 24,
    });
    expect(back).toBeCloseTo(250, 6);
    expect(advice.says).toMatchInlineSnapshot(
      `"Dry invented PX-1 at 80 °C for 4 h, to below 250 ppm. In an open hopper it stays below the limit for about 1.1 h; refill little and often, or dry in place."`,
    );
  });

  it('warns when the drying would make amorphous pellets clump', () => {
    const advice = dryingAdvice({
      name: 'invented',
      family: 'PLA amorphous',
      drying: { celsius: 80, hours: 4, mostMoisturePpm: 250 },
    });
    expect(advice.kind === 'dry' && advice.cautions.join(' ')).toContain('clump');
  });

  it('asks for nothing from polyolefins, and knows what it does not know', () => {
    expect(dryingAdvice({ name: 'x', family: 'PP' }).kind).toBe('not-needed');
    expect(dryingAdvice({ name: 'x', family: 'unobtainium' }).kind).toBe('unknown');
  });

  it('is 0 h when the pellets are already too wet, longer for recycled material', () => {
    const grade = { name: 'x', family: 'PLA' };
    expect(dryingAdvice(grade, { driedPpm: 300 })).toMatchObject({ staysDryHours: 0 });
    expect(dryingAdvice(grade, { isRecycled: true })).toMatchObject({ hours: 6 });
  });
});

describe('cautions', () => {
  it.each(cautionMoments)('defers to data sheet, manual and supervision at %s', (moment) => {
    const said = cautions(moment);
    expect(said[0]!.says).toContain('not a safety system');
    expect(said.length).toBeGreaterThan(4);
  });

  it('adds what is particular to the grade', () => {
    const said = cautions('walking', {
      name: 'invented TX',
      family: 'TPU',
      hazards: ['glass fibre'],
    });
    const words = said.map(({ says }) => says).join(' ');
    expect(words).toContain('isocyanates');
    expect(words).toContain('glass fibre');
  });

  it('warns of the cold nozzle before the screw turns', () => {
    const words = cautions('heat-up')
      .map(({ says }) => says)
      .join(' ');
    expect(words).toContain('nozzle up first');
    expect(words).toContain('in line with the nozzle');
  });
});
