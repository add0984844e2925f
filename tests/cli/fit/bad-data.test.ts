import { describe, expect, it } from 'vitest';
import { csvOf, fitCommandLine, fitFiles, fitted, type Ran } from './run-fit.ts';

// Poor data and poor files through the command itself: what a person reads, and the exit code that a
// program reads. Invented runs of two factors on a face-centred design with three centre runs.

const design = [
  [-1, -1],
  [1, -1],
  [-1, 1],
  [1, 1],
  [-1, 0],
  [1, 0],
  [0, -1],
  [0, 1],
  [0, 0],
  [0, 0],
  [0, 0],
] as const;
const scatter = [0.3, -0.2, 0.1, 0.4, -0.5, 0.2, -0.1, 0.6, -0.3, 0.25, -0.15];
const factors = [
  { name: 'level', low: 190, high: 210 },
  { name: 'screw', low: 3, high: 7 },
];
const spec = (over: object = {}) => ({
  factors,
  responses: [{ name: 'y', kind: 'continuous' }],
  ...over,
});

type Value = (level: number, screw: number, i: number) => string | number;
const curved: Value = (a, b, i) => 20 + 3 * a + 4 * b - 2 * a * a - b * b + scatter[i]!;

function runs(
  value: Value,
  more: Record<string, Value> = {},
  points: readonly (readonly number[])[] = design,
): string {
  return csvOf(
    ['level', 'screw', 'y', ...Object.keys(more)],
    points.map(([a, b], i) => [
      200 + 10 * a!,
      5 + 2 * b!,
      value(a!, b!, i),
      ...Object.values(more).map((of) => of(a!, b!, i)),
    ]),
  );
}

/** The text in one line, as wrapping is not what is tested. */
const words = ({ out }: Ran): string => out.replace(/\s+/g, ' ');

describe('fit on poor data says in words what it cannot say', () => {
  it('one whole plot only: estimates, the exact Bayesian reading, and why no more', () => {
    const one = runs(
      (_, b, i) => curved(0, b, i),
      { plot: () => 1 },
      design.map(([, b]) => [0, b]),
    );
    const ran = fitFiles(spec({ model: 'main', wholePlot: 'plot' }), one);
    expect(ran.code).toBe(0);
    expect(words(ran)).toMatch(/All runs stand in one of the plot.*Reset at least twice/);
    expect(words(ran)).toMatch(/level did not change in the runs used/);
    expect(words(ran)).toMatch(
      /Judged by the exact Bayesian fit: restricted likelihood cannot judge/,
    );
  });

  it('too few whole plots for their terms: no errors, the Bayesian row still answers', () => {
    // Two settings of level, one plot each: a slope between two plots leaves no df among them.
    const two = runs(
      curved,
      { plot: (a) => a },
      design.filter(([a]) => a !== 0),
    );
    const ran = fitFiles(spec({ model: 'main', wholePlot: 'plot' }), two, '--json');
    const fit = fitted(ran);
    expect(fit.terms.every(({ standardError }) => standardError === null)).toBe(true);
    expect(fit.cannotSay.map(({ kind }) => kind)).toContain('too-few-whole-plots');
    expect(fit.sensitivity!.rows.at(-1)!.terms.length).toBe(3);
  });

  it('all cells of a level failed: the factor is named, the rest is fitted', () => {
    const named = { factors: [...factors, { name: 'nozzle', levels: ['2 mm', '3 mm'] }] };
    const csv = runs((a, b, i) => (i % 2 ? '' : curved(a, b, i)), {
      nozzle: (_a, _b, i) => (i % 2 ? '3 mm' : '2 mm'),
    });
    const ran = fitFiles(spec({ ...named, model: 'main' }), csv);
    expect(ran.code).toBe(0);
    expect(words(ran)).toMatch(/nozzle did not change in the runs used \(coded 2 mm\)/);
    expect(words(ran)).toMatch(/5 of 11 cells gave no y \(rows 2, 4, 6, 8, 10\)/);
    expect(words(ran)).toMatch(/not in the model: nozzle/);
  });

  it('a perfect fit is suspected, not praised', () => {
    const ran = fitFiles(
      spec(),
      runs((a, b) => 20 + 3 * a + 4 * b - 2 * a * a - b * b),
    );
    expect(ran.code).toBe(0);
    expect(words(ran)).toMatch(
      /runs through every value of y.*check that the column is not computed/,
    );
    expect(ran.out).not.toMatch(/e-\d\d/);
  });

  it('a constant factor is named', () => {
    const ran = fitFiles(
      spec({ model: 'main' }),
      runs(
        curved,
        {},
        design.map(([a]) => [a, 0]),
      ),
    );
    expect(ran.code).toBe(0);
    expect(words(ran)).toMatch(/screw did not change in the runs used \(coded 0\)/);
  });

  it('a mean of 1e6 with an SD of 1e-3 costs no digits', () => {
    const small: Value = (a, _b, i) => (1e6 + 1e-3 * (3 * a + scatter[i]!)).toFixed(9);
    const fit = fitted(fitFiles(spec({ model: 'main' }), runs(small), '--json'));
    const plain = fitted(
      fitFiles(
        spec({ model: 'main' }),
        runs((a, _b, i) => 3 * a + scatter[i]!),
        '--json',
      ),
    );
    // The doubles near 1e6 are 1.2e-10 apart, which is 1e-7 of the spread.
    expect(fit.terms[1]!.estimate * 1e3).toBeCloseTo(plain.terms[1]!.estimate, 6);
    expect(fit.residualSd! * 1e3).toBeCloseTo(plain.residualSd!, 6);
  });

  it('tied extremes are values like others', () => {
    const ran = fitFiles(
      spec({ model: 'main' }),
      runs((_a, _b, i) => (i < 5 || i > 8 ? 10 : 12)),
    );
    expect(ran.code).toBe(0);
    expect(words(ran)).toMatch(/cannot tell/);
  });

  it('more terms than runs: what cannot be estimated is listed', () => {
    const ran = fitFiles(spec(), runs(curved, {}, design.slice(0, 4)));
    expect(ran.code).toBe(0);
    expect(words(ran)).toMatch(/6 terms need at least 6 different settings; got 4/);
    expect(words(ran)).toMatch(/leave nothing to judge them by/);
  });

  it('all responses equal', () => {
    const ran = fitFiles(
      spec(),
      runs(() => 7),
    );
    expect(ran.code).toBe(0);
    expect(words(ran)).toMatch(/y was 7 in every run used: no setting can be seen to change it/);
  });

  it('all cells failed: exit 1, and why', () => {
    const ran = fitFiles(
      spec(),
      runs(() => ''),
    );
    expect(ran.code).toBe(1);
    expect(words(ran)).toMatch(/Nothing can be fitted for y: none of the 11 cells has a value/);
  });

  it('one response failed altogether does not stop the other', () => {
    const both = { responses: [...spec().responses, { name: 'z', kind: 'continuous' }] };
    const ran = fitFiles(spec({ ...both, model: 'main' }), runs(curved, { z: () => '' }));
    expect(ran.code).toBe(0);
    expect(words(ran)).toMatch(/Nothing can be fitted for z/);
  });

  it.each([
    [
      'a spread of zero',
      'spread',
      0,
      /a spread must be above 0 to have a logarithm; got 0 \(row 3\)/,
    ],
    [
      'a count that is no whole number',
      'count',
      1.5,
      /a count must be a whole number of at least 0; got 1.5 \(row 3\)/,
    ],
    [
      'a pass-fail entry of 2',
      'pass-fail',
      2,
      /pass-fail must be pass or fail, 1 or 0; got 2 \(row 3\)/,
    ],
  ])('%s: exit 1 and the row', (_name, kind, bad, says) => {
    const csv = runs((_a, _b, i) => (i === 2 ? bad : kind === 'pass-fail' ? i % 2 : 1 + i));
    const ran = fitFiles(spec({ responses: [{ name: 'y', kind }], model: 'main' }), csv);
    expect(ran.code).toBe(1);
    expect(words(ran)).toMatch(says);
  });

  it('not one event counted: a limit instead of a fit', () => {
    const ran = fitFiles(
      spec({ responses: [{ name: 'y', kind: 'count' }], model: 'main' }),
      runs(() => 0),
    );
    expect(ran.code).toBe(1);
    expect(words(ran)).toMatch(/Not one event over an exposure of 11: the rate is below 0.272/);
  });

  it('settings that part passing from failing: finite answers, and a word', () => {
    const csv = runs((a) => (a > 0 ? 'pass' : 'fail'));
    const fit = fitted(
      fitFiles(
        spec({ responses: [{ name: 'y', kind: 'pass-fail' }], model: 'main' }),
        csv,
        '--json',
      ),
    );
    expect(fit.cannotSay.map(({ kind }) => kind)).toContain('separated');
    expect(fit.terms.every(({ estimate }) => Number.isFinite(estimate))).toBe(true);
  });

  it('settings that run together: who stands for whom', () => {
    const tilt = { factors: [...factors, { name: 'tilt', low: 0, high: 10 }] };
    const ran = fitFiles(
      spec({ ...tilt, model: 'main' }),
      runs(curved, { tilt: (a) => 5 + 5 * a }),
    );
    expect(ran.code).toBe(0);
    expect(words(ran)).toMatch(/cannot tell some terms apart: tilt cannot be told from level/);
  });
});

describe('fit on broken files ends with 2, one line, where and what to do', () => {
  const refused = (ran: Ran, says: RegExp): void => {
    expect(ran.told).toMatch(says);
    expect(ran.code).toBe(2);
    expect(ran.out).toBe('');
    expect(ran.told.trim().split('\n').length).toBe(1);
  };

  it.each([
    ['Infinity', 'Infinity', /line 5, column 3: column "y" must hold numbers; got "Infinity"/],
    ['a number beyond range', '1e400', /line 5, column 3: .*got "1e400"/],
    ['a number of another base', '0x10', /line 5, column 3: .*got "0x10"/],
    ['a word', 'cold', /line 5, column 3: .*got "cold"/],
  ])('%s among the values', (_name, entry, says) => {
    refused(
      fitFiles(
        spec(),
        runs((a, b, i) => (i === 3 ? entry : curved(a, b, i))),
      ),
      says,
    );
  });

  it('a decimal comma among commas, and how to write it', () => {
    const csv = runs((a, b, i) => curved(a, b, i).toString().replace('.', ','));
    refused(
      fitFiles(spec(), csv),
      /line 2: a row must have 3 entries.*got 4.*put semicolons between/,
    );
  });

  it('but reads a decimal comma among semicolons', () => {
    const csv = runs(curved);
    const commas = csv
      .split('\n')
      .map((row) => row.replaceAll(',', ';').replaceAll('.', ','))
      .join('\n');
    const [one, other] = [csv, commas].map((text) =>
      fitted(fitFiles(spec({ model: 'main' }), text, '--json')),
    );
    expect(other!.terms).toEqual(one!.terms);
  });

  it('two columns of one name', () => {
    refused(
      fitFiles(spec(), runs(curved).replace('screw', 'level')),
      /column heads must differ; got "level" again/,
    );
  });

  it('a column that is not there, with the nearest', () => {
    refused(
      fitFiles(spec(), runs(curved).replace('screw', 'scerw')),
      /must have a column for the factor "screw".*Did you mean "scerw"/,
    );
  });

  it('a level that the factor does not have', () => {
    const named = { factors: [...factors, { name: 'nozzle', levels: ['2 mm', '3 mm'] }] };
    refused(
      fitFiles(spec(named), runs(curved, { nozzle: () => '3mm' })),
      /factor "nozzle" must be one of 2 mm, 3 mm; got "3mm"/,
    );
  });

  it('an empty file, a head alone, no such file', () => {
    refused(fitFiles(spec(), ''), /the file is empty/);
    refused(fitFiles(spec(), 'level,screw,y'), /needs a head line and at least one run/);
    refused(
      fitCommandLine(['--spec', 'nothing.json', '--runs', 'nothing.csv']),
      /there is no such file/,
    );
  });

  it('an unknown field of the spec, a doubled factor', () => {
    refused(fitFiles({ ...spec(), modle: 'main' }, runs(curved)), /unknown field "modle"/);
    refused(
      fitFiles(spec({ factors: [factors[0], factors[0]] }), runs(curved)),
      /factor names must differ; got "level" twice/,
    );
  });

  it('units, terms and options that are not known', () => {
    refused(
      fitFiles(spec(), runs(curved), '--units', 'metric'),
      /--units must be natural or coded/,
    );
    refused(fitFiles(spec(), runs(curved), '--drop', 'levle x screw'), /Did you mean "level"/);
    refused(
      fitFiles(spec(), runs(curved), '--drop', 'level'),
      /"level" must stay while level × screw, level² are made of it/,
    );
    refused(fitFiles(spec(), runs(curved), '--response', 'y'), /--response goes with/);
    refused(fitCommandLine(['--spec', 'spec-1.json']), /give the runs with --runs/);
  });
});

describe('fit --drop, --add and --model on files', () => {
  it('change the model and tell what changed', () => {
    const ran = fitFiles(spec(), runs(curved), '--drop', 'level x screw');
    expect(ran.code).toBe(0);
    expect(ran.told).toMatch(/Now without level × screw\./);
    expect(ran.told).toMatch(/By AICc it is better by/);
    expect(ran.told).toMatch(/before\s+now/);
  });

  it('bring in what a term is made of', () => {
    const ran = fitFiles(
      spec({ model: { terms: [{}] } }),
      runs(curved),
      '--add',
      'screw²',
      '--json',
    );
    expect(ran.told).toMatch(/screw came in with screw², which is made of it/);
    expect(
      JSON.parse(ran.out).responses[0].terms.map(({ name }: { name: string }) => name),
    ).toEqual(['intercept', 'screw', 'screw²']);
  });
});
