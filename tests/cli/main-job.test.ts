import { readFileSync, truncateSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { emptyFolder, type Ran, strandwise } from './strandwise.ts';

/** An invented grade on an invented line. */
const description = `
name: QX-7 trial
invented: true
grade:
  name: QX-7 (invented)
  family: PLA
  floorCelsius: 165
  ceilingCelsius: 230
  solidDensityGPerCm3: 1.24
  meltDensityGPerCm3: 1.07
line:
  name: bench line 9 (invented)
  zones:
    - { name: feed, heaterLimitCelsius: 300 }
    - { name: middle, heaterLimitCelsius: 300 }
    - { name: die, heaterLimitCelsius: 300 }
  screw: {}
product: { diameterMm: 1.75, toleranceMm: 0.05 }
factors:
  - { name: level, low: 185, high: 205, unit: °C, changes: hard, acts: level }
  - { name: screw, low: 3, high: 6, unit: rpm, changes: semi-hard, acts: screw }
seed: 3
`;

let folder: string;
const run = (...args: string[]): Ran => strandwise(args, folder);

beforeAll(() => {
  folder = emptyFolder();
  writeFileSync(join(folder, 'qx-7.yaml'), description);
});

describe('strandwise, file by file', () => {
  it('makes a study from a description and refuses to overwrite it', () => {
    const made = run('new', 'qx-7.strandwise', '--from', 'qx-7.yaml');
    expect(made.told).toBe('');
    expect(made.code).toBe(0);
    expect(made.out).toContain('QX-7 trial (invented example)   stage: plan');
    const again = run('new', 'qx-7.strandwise', '--from', 'qx-7.yaml');
    expect(again.code).toBe(2);
    expect(again.told).toContain('nothing was overwritten');
  });

  it('adopts a plan, shows where the study stands, and finds it sound', () => {
    const planned = run(
      'plan',
      'qx-7.strandwise',
      '--family',
      'full factorial',
      '--set',
      'centrePoints=3',
      '--adopt',
    );
    expect(planned.told).toContain('Adopted as plan 1');
    expect(planned.code).toBe(0);
    const shown = run('show', 'qx-7.strandwise');
    expect(shown.out).toContain('full factorial, 7 cells: 0 done, 0 failed, 7 to do');
    expect(shown.out).toContain('stage: walk');
    expect(run('show', 'qx-7.strandwise', '--entries').out).toContain('tester  plan adopted');
    expect(run('verify', 'qx-7.strandwise')).toMatchObject({ code: 0, told: '' });
  });

  it('says that nothing is measured yet, with the exit code for data that say no', () => {
    const fitted = run('fit', 'qx-7.strandwise');
    expect(fitted.code).toBe(1);
    expect(fitted.out).toContain('Next: strandwise walk');
  });

  it('exports and imports without losing a byte', () => {
    expect(run('export', 'qx-7.strandwise', 'first.json').code).toBe(0);
    expect(run('import', 'first.json', 'copy.strandwise').code).toBe(0);
    expect(run('export', 'copy.strandwise', 'second.json').code).toBe(0);
    expect(readFileSync(join(folder, 'second.json'), 'utf8')).toBe(
      readFileSync(join(folder, 'first.json'), 'utf8'),
    );
  });

  it('refuses an altered export and writes nothing', () => {
    const text = readFileSync(join(folder, 'first.json'), 'utf8').replace('"seq": 2', '"seq": 5');
    writeFileSync(join(folder, 'altered.json'), text);
    run('import', 'altered.json', 'altered.strandwise');
    // The numbers of entries are given anew by the store, so a changed one must not pass in silence.
    expect(run('import', 'altered.json', 'altered.strandwise').code).toBe(2);
  });
});

describe('strandwise, bad input', () => {
  const refused = (ran: Ran, ...words: string[]): void => {
    expect(ran.code).toBe(2);
    expect(ran.out).toBe('');
    for (const word of words) expect(ran.told).toContain(word);
  };

  it('names file, line, column and field of a wrong description', () => {
    writeFileSync(
      join(folder, 'wrong.yaml'),
      description.replace('low: 185, high: 205', 'low: 205, high: 185'),
    );
    refused(
      run('new', 'w.strandwise', '--from', 'wrong.yaml'),
      'wrong.yaml',
      'line 20',
      'high must exceed low; got low=205, high=185',
    );
    writeFileSync(join(folder, 'unknown.yaml'), description.replace('toleranceMm', 'tolleranceMm'));
    refused(run('new', 'w.strandwise', '--from', 'unknown.yaml'), 'tolleranceMm');
    writeFileSync(
      join(folder, 'twice.yaml'),
      description.replace('name: screw, low', 'name: level, low'),
    );
    refused(run('new', 'w.strandwise', '--from', 'twice.yaml'), '"level"');
    writeFileSync(join(folder, 'broken.yaml'), `${description}\n  - : [`);
    refused(run('new', 'w.strandwise', '--from', 'broken.yaml'), 'broken.yaml: line');
  });

  it('offers the nearest command, family, option and schema', () => {
    refused(run('plann'), 'Did you mean "plan"?');
    refused(run('plan', 'qx-7.strandwise', '--family', 'central compsite'), 'central composite');
    refused(run('plan', 'qx-7.strandwise', '--sed', '3'), "'--sed'");
    refused(run('schema', 'spek'), 'Did you mean "spec"?');
  });

  it('refuses a missing, truncated or foreign study without touching it', () => {
    refused(run('show', 'none.strandwise'), 'there is no such file');
    writeFileSync(join(folder, 'text.strandwise'), description);
    refused(run('show', 'text.strandwise'), 'not a study file');
    run('import', 'first.json', 'cut.strandwise');
    truncateSync(join(folder, 'cut.strandwise'), 5000);
    const before = readFileSync(join(folder, 'cut.strandwise'));
    expect(run('show', 'cut.strandwise').code).toBe(2);
    expect(readFileSync(join(folder, 'cut.strandwise')).equals(before)).toBe(true);
  });

  it('prints a JSON Schema for every name it offers', () => {
    for (const name of run('schema').out.trim().split('\n')) {
      const schema = run('schema', name);
      expect(schema.code).toBe(0);
      expect(JSON.parse(schema.out)).toHaveProperty('$schema');
    }
  });
});
