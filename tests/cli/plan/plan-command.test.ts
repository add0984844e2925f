import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import {
  AdviceAnswer,
  DomainError,
  PlanAnswer,
  PlanComparison,
  planAdvice,
  planAnswer,
  Spec,
} from '@strandwise/core';
import { beforeAll, describe, expect, it } from 'vitest';
import { parseConfig, type Surroundings } from '../../../packages/cli/src/command/command.ts';
import { ExtensionAnswer } from '../../../packages/cli/src/command/extend.ts';
import { planCommand } from '../../../packages/cli/src/command/plan.ts';
import { UsageError } from '../../../packages/cli/src/command/usage-error.ts';
import { emptyFolder, type Ran, strandwise } from '../strandwise.ts';

const description = `
name: QX-7 trial
invented: true
grade: { name: QX-7 (invented), family: PLA, floorCelsius: 165, ceilingCelsius: 230, solidDensityGPerCm3: 1.24, meltDensityGPerCm3: 1.07 }
line:
  name: bench line 9 (invented)
  zones: [{ name: feed, heaterLimitCelsius: 300 }, { name: middle, heaterLimitCelsius: 300 }, { name: die, heaterLimitCelsius: 300 }]
  screw: {}
product: { diameterMm: 1.75, toleranceMm: 0.05 }
factors:
  - { name: level, low: 185, high: 205, unit: °C, changes: hard, acts: level }
  - { name: screw, low: 3, high: 6, unit: rpm, changes: semi-hard, acts: screw }
  - { name: fan, low: 20, high: 80, unit: '%', changes: easy, acts: fan }
seed: 3
`;
const spec = {
  factors: [
    { name: 'a', low: 0, high: 10 },
    { name: 'b', low: 5, high: 6 },
    { name: 'c', low: -1, high: 1 },
  ],
  model: 'interactions',
  family: 'optimal',
  options: { runs: 12, starts: 8, criterion: 'D' },
};

let folder: string;
const silent = (): Surroundings => ({
  out: () => {},
  tell: () => {},
  clock: { now: () => Date.UTC(2026, 0, 5) },
  env: { STRANDWISE_WHO: 'tester' },
  cwd: folder,
  isTerminal: false,
  columns: 80,
});
const run = (...args: string[]): Ran => strandwise(args, folder);
const plan = (...args: string[]): Ran => run('plan', 'qx.strandwise', ...args);

beforeAll(() => {
  folder = emptyFolder();
  writeFileSync(join(folder, 'qx.yaml'), description);
  writeFileSync(join(folder, 'spec.json'), JSON.stringify(spec));
  expect(run('new', 'qx.strandwise', '--from', 'qx.yaml').code).toBe(0);
});

describe('strandwise plan, advice and comparison', () => {
  it('gives the same JSON with one worker and two, in the published schema', () => {
    const one = run('plan', '--spec', 'spec.json', '--json', '--workers', '1');
    const two = run('plan', '--spec', 'spec.json', '--json', '--workers', '2');
    expect(one.code).toBe(0);
    expect(two.out).toBe(one.out);
    const answer = PlanAnswer.parse(JSON.parse(one.out));
    expect(answer.runs).toHaveLength(12);
    expect(answer.properties.terms).toHaveLength(7);
  });

  it('advises the same with one worker and two, and as the search without threads', () => {
    const wish = [
      '--spec',
      'spec.json',
      '--advise',
      '--goal',
      'map',
      '--json',
      '--set',
      'starts=4',
    ];
    const one = run('plan', ...wish, '--workers', '1');
    const two = run('plan', ...wish, '--workers', '2');
    expect(two.out).toBe(one.out);
    const answer = AdviceAnswer.parse(JSON.parse(one.out));
    const basis = { factors: Spec.parse(spec).factors, seed: 1 };
    const alone = planAdvice(basis, { goal: 'map', starts: 4 });
    expect(answer.plans.map(({ plan: { runs } }) => runs)).toEqual(
      alone.plans.map((plan) => planAnswer(plan).runs),
    );
  });

  it('keeps limits of the spec and of the command line', () => {
    const limited = { ...spec, limits: [{ weights: { a: 1 }, atMost: 7 }] };
    writeFileSync(join(folder, 'limited.json'), JSON.stringify(limited));
    const ran = run('plan', '--spec', 'limited.json', '--json', '--limit', 'a + 4 b >= 22');
    const { runs } = PlanAnswer.parse(JSON.parse(ran.out));
    for (const { natural } of runs) {
      expect(Number(natural['a'])).toBeLessThanOrEqual(7 + 1e-9);
      expect(Number(natural['a']) + 4 * Number(natural['b'])).toBeGreaterThanOrEqual(22 - 1e-9);
    }
  });

  it('prints chances, errors, aliases and what it cannot tell', () => {
    const { out, code } = plan('--family', 'box-behnken');
    expect(code).toBe(0);
    for (const words of [
      'CHANCE TO SEE',
      'efficiencies   D',
      'worst loss',
      'screw × fan',
      'share of the region',
    ])
      expect(out).toContain(words);
  });

  it('advises within the budget, and with exit code 1 says what budget would do', () => {
    const fits = plan('--advise', '--hours', '12', '--json', '--set', 'starts=2');
    expect(fits.code).toBe(0);
    const advice = AdviceAnswer.parse(JSON.parse(fits.out));
    for (const { plan: answer } of advice.plans)
      expect(answer.properties.hours!).toBeLessThanOrEqual(12);
    const none = plan('--advise', '--goal', 'find', '--hours', '0.5', '--set', 'starts=2');
    expect(none.code).toBe(1);
    expect(none.out).toMatch(/No plan fits 0\.5 h\. The nearest, .* needs \d+\.\d h/);
  });

  it('compares named plans as text and as JSON', () => {
    const beside = [
      '--compare',
      '--beside',
      'central composite; alpha=face-centred',
      '--beside',
      'box-behnken; order=trend-robust',
    ];
    const text = plan(...beside, '--hours', '9');
    expect(text.code).toBe(0);
    expect(text.out).toContain('fits 9 h');
    const { plans, names } = PlanComparison.parse(JSON.parse(plan(...beside, '--json').out));
    expect(names).toHaveLength(2);
    expect(plans[1]!.order).toBe('trend-robust');
  });

  it('shows every order in one table', () => {
    const { out } = plan('--family', 'box-behnken', '--orders');
    for (const order of ['complete randomisation', 'robust to drift', 'fewest hours'])
      expect(out).toContain(order);
  });

  it('marks cells that a flat hold leaves under-flushed', () => {
    const answer = PlanAnswer.parse(
      JSON.parse(plan('--family', 'box-behnken', '--hold', 'flat 10/3', '--json').out),
    );
    expect(answer.properties.underFlushed.length).toBeGreaterThan(0);
    const computed = PlanAnswer.parse(JSON.parse(plan('--family', 'box-behnken', '--json').out));
    expect(computed.properties.underFlushed).toEqual([]);
  });

  it('takes a variance ratio given once for search and chances alike', () => {
    const wish = ['--set', 'wholePlots=6', '--set', 'cells=2', '--set', 'starts=2', '--json'];
    const answer = (...more: string[]) => PlanAnswer.parse(JSON.parse(plan(...wish, ...more).out));
    const flag = answer('--ratio', '3');
    const option = answer('--set', 'varianceRatio=3');
    expect(flag.properties.change.plotRatio).toBe(3);
    expect(option.properties).toEqual(flag.properties);
    const both = answer('--ratio', '2', '--set', 'varianceRatio=3');
    expect(both.properties.change.plotRatio).toBe(2);
    expect(both.runs).toEqual(option.runs);
  });

  it('marks them on the run sheet as well, and not where holds are computed', () => {
    const sheetFor = (...hold: string[]): string => {
      const name = `sheet-${hold.length}.strandwise`;
      run('new', name, '--from', 'qx.yaml');
      run('plan', name, '--family', 'box-behnken', ...hold, '--adopt');
      return run('sheet', name).out;
    };
    const flat = sheetFor('--hold', 'flat 10/3');
    expect(flat).toMatch(/ 10! /);
    expect(flat).toContain('! under-flushed: less than one barrel volume');
    expect(sheetFor()).not.toContain('under-flushed');
  });

  it('adopts a chosen plan, prints its sheet and extends it', () => {
    const chosen = plan(
      '--compare',
      '--choose',
      'b',
      '--beside',
      'box-behnken',
      '--beside',
      'full factorial; centrePoints=2; model=interactions',
    );
    expect(chosen.told).toContain('Adopted as plan 1');
    const sheet = run('sheet', 'qx.strandwise');
    expect(sheet.out).toContain('10 cells');
    expect(sheet.out).toContain('local rules');
    expect(run('sheet', 'qx.strandwise', '--html', '--out', 'sheet.html').code).toBe(0);
    expect(readFileSync(join(folder, 'sheet.html'), 'utf8')).toContain('<caption>');
    const shown = run('extend', 'qx.strandwise', '--add', 'axial block', '--json');
    expect(ExtensionAnswer.parse(JSON.parse(shown.out))).toMatchObject({ adopted: false });
    const added = run('extend', 'qx.strandwise', '--add', 'axial block', '--adopt');
    expect(added.told).toContain('Recorded as plan 2');
    expect(run('show', 'qx.strandwise').out).toContain('19 cells');
  });

  it.each([
    [['--beside', 'box-benken', '--compare'], 'Did you mean "box-behnken"?'],
    [
      ['--compare', '--beside', 'box-behnken', '--choose', 'C'],
      '--choose must be a letter from A to A',
    ],
    [['--goal', 'fnd', '--advise'], 'Did you mean "find"?'],
    [['--order', 'fewest-hour'], 'Did you mean "fewest-hours"?'],
    [['--effect=-3'], '--effect must be above 0; got -3.'],
    [['--hours', '0', '--advise'], '--hours must be above 0; got 0.'],
    [['--hold', 'flat 3'], '--hold must be computed, flat or "flat 12/4"; got "flat 3".'],
    [['--limit', 'level below 200'], '--limit must read like'],
    [['--limit', 'levl <= 200'], 'Did you mean "level"?'],
    [['--set', 'runs=3', '--set', 'everyRunSetAnew=true'], 'at least 10 runs are needed; got 3'],
    [
      ['--family', 'fractional factorial', '--set', 'runs=4', '--set', 'resolution=5'],
      'resolution',
    ],
    [['--limit', 'level >= 204', '--limit', 'level + 0.1 fan <= 200'], 'together leave no room'],
  ])('refuses %j in words', async (args, words) => {
    // In this process, so that a dozen refusals do not start a dozen programs.
    const { values } = parseArgs(parseConfig(planCommand, args));
    const given = { options: values, rest: ['qx.strandwise'] };
    const refused = async () => planCommand.run(given, silent());
    await expect(refused()).rejects.toThrow(words);
    await expect(refused()).rejects.toSatisfy(
      (error) => error instanceof DomainError || error instanceof UsageError,
    );
  });
});
