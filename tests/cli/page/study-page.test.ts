import { type Factor, type Journal, Line, NumericFactor, recommendation } from '@strandwise/core';
import { type StudyPageInput, studyPage, tableData } from '@strandwise/report';
import { demoScenario } from '@strandwise/virtual-line';
import { describe, expect, it } from 'vitest';
import { outlookOf } from '../../../packages/cli/src/command/fit/outlook.ts';
import { analyst } from '../../../packages/cli/src/command/fit/study-analysis.ts';
import { pageFigures, pageTables } from '../../../packages/cli/src/page/page-export.ts';
import { pagedStudy } from '../../../packages/cli/src/page/paged-study.ts';
import { studyPageInput } from '../../../packages/cli/src/page/study-page-input.ts';
import { failed, openedStudy, type StudyOf, typed, walked, withPlan } from './walked-study.ts';

const inputOf = (journal: Journal): StudyPageInput =>
  studyPageInput(
    pagedStudy({ state: journal.state(), events: journal.events(), version: '0.0.0' }),
    'void 0;',
  );

/** The words of a page, without what is for the eye or the program alone. */
const wordsOf = (input: StudyPageInput): string =>
  studyPage(input)
    .replace(/<style>[\s\S]*?<\/style>/g, '')
    .replace(/<script[\s\S]*?<\/script>/g, '')
    .replace(/<[^>]+>/g, ' ');

const faults = /undefined|NaN|\bnull\b|Infinity|\[object|\bcells? 0\b| ,|\.\./;

const level = NumericFactor.parse({
  name: 'level',
  low: 182,
  high: 202,
  unit: '°C',
  changes: 'hard',
  acts: 'level',
});
const screw = NumericFactor.parse({
  name: 'screw',
  low: 3,
  high: 7,
  unit: 'rpm',
  changes: 'semi-hard',
  acts: 'screw',
});
const fan = NumericFactor.parse({
  name: 'fan',
  low: 20,
  high: 80,
  unit: '%',
  changes: 'easy',
  acts: 'fan',
});
const fixed = { tilt: 15, hump: 8 };
const nozzle: Factor = { name: 'nozzle', levels: ['2.5 mm', '3 mm'], changes: 'hard' };
const lineOf = (zones: number): Line =>
  Line.parse({
    ...demoScenario.line,
    zones: Array.from({ length: zones }, (_, i) => ({
      name: `zone ${i + 1}`,
      heaterLimitCelsius: 300,
    })),
  });
const raw = (zone: number): Factor =>
  NumericFactor.parse({
    name: `zone ${zone}`,
    low: 185,
    high: 200,
    unit: '°C',
    changes: 'hard',
    acts: `zone ${zone}`,
  });

const small = (of: StudyOf = {}): Journal =>
  withPlan(openedStudy({ factors: [level, screw, fan], fixed, ...of }), {
    family: 'box-behnken',
    model: 'quadratic',
  });

describe('the page of a study without results', () => {
  it('says that nothing was run when no plan is adopted', () => {
    const input = inputOf(openedStudy());
    expect(input.recipe).toMatchObject({ kind: 'none' });
    expect(input.panel).toBeUndefined();
    expect(input.answer).toContain('no plan is adopted');
    expect(wordsOf(input)).not.toMatch(faults);
  });

  it('says what the plan will tell when no cell was walked', () => {
    const input = inputOf(small());
    expect(input.answer).toMatch(/15 cells to walk/);
    expect(input.plan.figures).toHaveLength(2);
    expect(input.next?.table?.rows).toHaveLength(15);
    expect(input.runs.rows).toHaveLength(0);
    expect(wordsOf(input)).not.toMatch(faults);
  });

  it('says how the cells failed when all did', () => {
    const input = inputOf(failed(small()));
    expect(input.answer).toBe(
      'All 15 cells that were walked failed, so no settings can be recommended: cold in cells 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14 and 15.',
    );
    expect(input.runs.rows.every(({ outcome }) => outcome === 'cold')).toBe(true);
    expect(input.models).toEqual([]);
    expect(wordsOf(input)).not.toMatch(faults);
  });

  it('holds when a single cell was measured', async () => {
    const input = inputOf(await walked(small(), 1));
    expect(input.runs.rows).toHaveLength(1);
    expect(input.recipe).toMatchObject({
      kind: 'none',
      sentence: expect.stringContaining('do not tell one setting from another'),
    });
    expect(wordsOf(input)).not.toMatch(faults);
  });
});

describe('what a page says first', () => {
  const haze = [
    { name: 'haze', kind: 'continuous', unit: '%', goal: { aim: 'smallest', target: 1, high: 20 } },
  ] as const;

  it('gives the settings and the chance in one sentence', async () => {
    const input = inputOf(await walked(small()));
    expect(input.answer).toMatch(/the screw at [\d.]+\u202frpm and the fan at \d+\u202f%/);
    expect(input.answer.match(/\.(?= |$)/g)).toHaveLength(1);
  }, 60_000);

  it('tells the same next steps and cells of influence as the fit', async () => {
    const journal = await walked(small());
    const { predictor } = analyst(journal.state()).analysis(journal.state(), {});
    const found = recommendation(predictor, 0.9);
    const { next, influences } = outlookOf(predictor, found, 0.9);
    const page = inputOf(journal).next!;
    const plain = (texts: readonly string[] = []): string[] =>
      texts.map((text) => text.replaceAll('\u202f', ' '));
    expect(plain(page.steps)).toEqual(next.map(({ says }) => says));
    const notable = influences.filter(({ largestShare }) => largestShare >= 0.1);
    if (notable.length > 0)
      expect(plain(page.influences)).toEqual(notable.slice(0, 3).map(({ says }) => says));
  }, 60_000);

  it('checks the models by the sentences of the fit', () => {
    const journal = typed(
      small({ responses: haze }),
      ({ level, screw }) =>
        5 + ((Number(level) - 190) / 9) ** 2 + 0.1 * ((Number(screw) * 997) % 7),
    );
    const { result } = analyst(journal.state()).analysis(journal.state(), {});
    expect(inputOf(journal).models[0]!.checks.map(({ sentence }) => sentence)).toEqual(
      result.responses[0]!.checks.map(({ says }) => says),
    );
  });

  it('does not blame the ranges when every cell ran and nothing differed', () => {
    const flat = typed(small({ responses: haze }), () => 3);
    const { recipe, next } = inputOf(flat);
    if (recipe.kind === 'none') expect(next!.sentence).toMatch(/^Widen the ranges/);
  });
});

describe('the files beside a page', () => {
  it('hold every figure and table of it, the front and the next steps too', async () => {
    const journal = await walked(small());
    const study = pagedStudy({
      state: journal.state(),
      events: journal.events(),
      version: '0.0.0',
      raw: (sha256) => journal.store.raw(sha256),
    });
    const input = studyPageInput(study, 'void 0;');
    const figures = pageFigures(input).map(({ content }) => content.kind);
    const drawn = studyPage(input).match(/<svg /g)!.length;
    expect(figures).toHaveLength(drawn);
    for (const kind of ['trade-off', 'shares', 'trace-grid', 'conformance-map'])
      expect(figures).toContain(kind);
    const tables = new Map(pageTables(study, input).map(({ name, content }) => [name, content]));
    expect([...tables.keys()]).toEqual(
      expect.arrayContaining(['trade-off', 'next-steps', 'shares-sd-of-diameter', 'runs']),
    );
    const front = tableData(tables.get('trade-off')!);
    expect(front.rows).toHaveLength(study.traded!.settings.length);
    for (const row of front.rows)
      for (const value of Object.values(row)) expect(value).toEqual(expect.any(Number));
  }, 60_000);
});

describe('the page of an unusual study', () => {
  const goal = { aim: 'smallest', target: 1, high: 20 } as const;
  const haze = [{ name: 'haze', kind: 'continuous', unit: '%', goal }] as const;
  const bowl = (natural: Record<string, number | string>): number =>
    5 +
    Number(natural['level'] ?? natural['zone 2'] ?? 190) / 20 +
    (String(natural['nozzle']) === '3 mm' ? 1 : 0) +
    0.01 * ((Number(natural['screw'] ?? 5) * 997) % 7);

  it('takes one response that was typed in', () => {
    const input = inputOf(typed(small({ responses: haze }), bowl));
    expect(input.findings.map(({ response }) => response)).toEqual(['haze']);
    expect(input.recipe.kind).toBe('recommended');
    expect(wordsOf(input)).not.toMatch(faults);
  });

  it('takes raw zones as factors and names each once', () => {
    const journal = withPlan(openedStudy({ factors: [raw(2), raw(3), screw], responses: haze }), {
      family: 'box-behnken',
      model: 'quadratic',
    });
    const input = inputOf(typed(journal, bowl));
    expect(input.runs.setPoints.map(({ name }) => name)).toEqual([
      'zone 1',
      'zone 2',
      'zone 3',
      'zone 4',
      'screw',
      'fan',
    ]);
    expect(input.panel!.data.controls.map(({ name }) => name)).toEqual([
      'zone 2',
      'zone 3',
      'screw',
    ]);
    expect(wordsOf(input)).not.toMatch(faults);
  });

  it('takes factors with named levels', () => {
    const journal = withPlan(
      openedStudy({ factors: [nozzle, level, screw], fixed, responses: haze }),
      {
        family: 'full factorial',
        model: 'interactions',
        options: { centrePoints: 0 },
      },
    );
    const input = inputOf(typed(journal, bowl));
    expect(input.panel!.data.controls.some((control) => 'levels' in control)).toBe(true);
    expect(wordsOf(input)).not.toMatch(faults);
  });

  it('takes one factor alone', () => {
    const journal = withPlan(openedStudy({ factors: [level], fixed, responses: haze }), {
      family: 'full factorial',
      model: 'main',
    });
    const input = inputOf(typed(journal, bowl));
    expect(wordsOf(input)).not.toMatch(faults);
  });

  for (const zones of [1, 8]) {
    it(`takes a line of ${zones} ${zones === 1 ? 'zone' : 'zones'}`, async () => {
      const input = inputOf(
        await walked(small({ line: lineOf(zones), fixed: zones === 1 ? {} : fixed })),
      );
      expect(input.runs.setPoints).toHaveLength(zones + 2);
      expect(wordsOf(input)).not.toMatch(faults);
    });
  }
});
