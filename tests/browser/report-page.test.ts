import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { chanceAt, Line, NumericFactor, type Point, recipeAt, settingsOf } from '@strandwise/core';
import {
  fixed,
  interval,
  intervalDecimals,
  type StudyPageInput,
  studyPage,
} from '@strandwise/report';
import { demoScenario } from '@strandwise/virtual-line';
import axe from 'axe-core';
import type { Browser, BrowserContextOptions, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type PagedStudy, pagedStudy } from '../../packages/cli/src/page/paged-study.ts';
import { studyPageInput } from '../../packages/cli/src/page/study-page-input.ts';
import { openedStudy, typed, walked, withPlan } from '../cli/page/walked-study.ts';
import { launchedBrowser } from './chromium.ts';
import { panelBundle } from './panel-bundle.ts';

// A small study walked on the virtual line, as the command would page it.

let browser: Browser;
let study: PagedStudy;
let input: StudyPageInput;
let html: string;
const folder = mkdtempSync(join(tmpdir(), 'strandwise-report-page-'));

const factors = [
  { name: 'level', low: 182, high: 202, unit: '°C', changes: 'hard', acts: 'level' },
  { name: 'screw', low: 3, high: 7, unit: 'rpm', changes: 'semi-hard', acts: 'screw' },
  { name: 'fan', low: 20, high: 80, unit: '%', changes: 'easy', acts: 'fan' },
].map((factor) => NumericFactor.parse(factor));

const many = ['haze', 'ovality', 'mean diameter', 'melt pressure'].map((name) => ({
  name,
  kind: 'continuous' as const,
  unit: 'mm',
}));

beforeAll(async () => {
  const [started, script] = await Promise.all([launchedBrowser(), panelBundle()]);
  browser = started;
  const journal = await walked(
    withPlan(openedStudy({ factors, fixed: { tilt: 15, hump: 8 } }), {
      family: 'box-behnken',
      model: 'quadratic',
    }),
  );
  study = pagedStudy({
    state: journal.state(),
    events: journal.events(),
    version: '0.0.0',
    raw: (sha256) => journal.store.raw(sha256),
  });
  input = studyPageInput(study, script);
  html = studyPage(input);
}, 60_000);

afterAll(async () => {
  await browser?.close();
  rmSync(folder, { recursive: true, force: true });
});

let files = 0;
async function opened(
  options: BrowserContextOptions = {},
  text = html,
): Promise<{ page: Page; complaints: string[] }> {
  const file = join(folder, `${++files}.html`);
  writeFileSync(file, text);
  const url = pathToFileURL(file).href;
  const context = await browser.newContext({ viewport: { width: 1200, height: 900 }, ...options });
  const page = await context.newPage();
  const complaints: string[] = [];
  page.on('console', (message) => complaints.push(`${message.type()}: ${message.text()}`));
  page.on('pageerror', (error) => complaints.push(`error: ${error.message}`));
  page.on('request', (request) => {
    if (request.url() !== url) complaints.push(`request: ${request.url()}`);
  });
  await page.goto(url);
  return { page, complaints };
}

/** Opens everything that is folded away, as a person would by its first line. */
const unfolded = (page: Page): Promise<void> =>
  page.evaluate(() => {
    for (const fold of Array.from(document.querySelectorAll('details'))) fold.open = true;
  });

async function violations(page: Page): Promise<string[]> {
  await page.evaluate(axe.source);
  const found = await page.evaluate(
    async () => (await (globalThis as unknown as { axe: typeof axe }).axe.run()).violations,
  );
  return found.map(
    ({ id, nodes }) => `${id}: ${nodes.map((node) => node.html.slice(0, 160)).join(' | ')}`,
  );
}

/** How far the page reaches beyond a window of that width, px. */
async function sidewaysRoom(page: Page, width: number): Promise<number> {
  await page.setViewportSize({ width, height: 800 });
  return page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
}

const readings = (page: Page): Promise<string[][]> =>
  page
    .locator('#try-panel tbody tr')
    .evaluateAll((rows) =>
      rows.map((row) => Array.from(row.children).map((cell) => (cell.textContent ?? '').trim())),
    );

/** Tables and figures that reach beyond the window. */
const tooWide = (page: Page): Promise<string[]> =>
  page.evaluate(() =>
    Array.from(document.querySelectorAll('main svg, main table'))
      .filter((node) => node.getBoundingClientRect().right > innerWidth + 1)
      .map(
        (node) => `${node.textContent?.trim().slice(0, 40)}: ${node.getBoundingClientRect().right}`,
      ),
  );

describe('the page of a walked study in a browser', () => {
  it('opens without a complaint and asks for nothing', async () => {
    const { page, complaints } = await opened();
    await page.locator('#try').waitFor({ state: 'visible' });
    expect(complaints).toEqual([]);
  });

  for (const [words, options] of [
    ['on a desk', {}],
    ['on a phone', { viewport: { width: 360, height: 740 } }],
    ['in the dark', { colorScheme: 'dark' }],
  ] as const) {
    it(`has nothing that axe finds at fault ${words}`, async () => {
      const { page } = await opened(options);
      await page.locator('#try').waitFor({ state: 'visible' });
      expect(await violations(page)).toEqual([]);
      await unfolded(page);
      expect(await violations(page)).toEqual([]);
    });
  }

  it('never scrolls sideways, however narrow or wide', async () => {
    const { page } = await opened();
    for (const width of [320, 700, 1100, 1600]) {
      await page.setViewportSize({ width, height: 800 });
      const [content, window] = await page.evaluate(() => [
        document.documentElement.scrollWidth,
        innerWidth,
      ]);
      expect(content, `${width} px`).toBe(window);
    }
    await unfolded(page);
    for (const width of [320, 390, 1200])
      expect(await sidewaysRoom(page, width), `${width} px, unfolded`).toBe(0);
  });

  it('stays short while its details are folded', async () => {
    const { page } = await opened({ viewport: { width: 1280, height: 900 } });
    const folded = await page.evaluate(() => document.documentElement.scrollHeight);
    await unfolded(page);
    const whole = await page.evaluate(() => document.documentElement.scrollHeight);
    // In px at 1280 px wide; the page of the demonstration, with five factors, is a little longer.
    expect(folded).toBeLessThan(14_000);
    expect(whole).toBeGreaterThan(1.5 * folded);
  });

  it('draws the log of every cell that was measured', () => {
    const { figure } = input.runs.traces!;
    if (figure.kind !== 'trace-grid') throw new Error('the logs are drawn otherwise');
    expect(figure.cells.map(({ cell }) => cell)).toEqual(
      study.state.cells.flatMap(({ cell, readings }) => (readings.log ? [cell] : [])),
    );
    for (const { pieces } of figure.cells) expect(pieces.length).toBeLessThanOrEqual(44);
  });

  it('shows the recipe and every part without script', async () => {
    const { page, complaints } = await opened({ javaScriptEnabled: false });
    expect(complaints).toEqual([]);
    expect(await page.locator('#try').isVisible()).toBe(false);
    if (input.recipe.kind !== 'recommended') throw new Error('the small study has no recipe');
    const shown = await page.locator('.set-points .value').allTextContents();
    expect(shown.map((text) => Number.parseFloat(text))).toEqual(
      input.recipe.setPoints.map(({ value }) => value),
    );
    expect(await page.locator('h2:visible').allTextContents()).toEqual([
      'The recipe',
      'What to run next',
      'Where it is good',
      'What trades against what',
      'What matters',
      'What was run',
      'Whether the models stand',
      'What cannot be said',
      'The plan behind it',
      'Where this comes from',
      'Cautions',
    ]);
  });

  it('draws every cell that was run on every contour', async () => {
    const attempts = input.runs.rows.length;
    const contours = input.surfaces.flatMap(({ figure }) =>
      'runs' in figure ? [figure.runs!] : [],
    );
    expect(contours.length).toBeGreaterThanOrEqual(3);
    for (const runs of contours) expect(runs).toHaveLength(attempts);
  });

  it('prints to A4 without the panel, no table or figure wider than the paper', async () => {
    // 178 mm between the margins at 96 px an inch.
    const { page } = await opened({ viewport: { width: 672, height: 1000 } });
    await page.emulateMedia({ media: 'print' });
    expect(await page.locator('#try').isVisible()).toBe(false);
    expect(await tooWide(page)).toEqual([]);
    const pdf = (await page.pdf({ preferCSSPageSize: true })).toString('latin1');
    const [, width, height] = /\/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]/.exec(pdf)!;
    expect(Math.abs(Number(width) - 595.3)).toBeLessThan(1);
    expect(Math.abs(Number(height) - 841.9)).toBeLessThan(1);
  });
});

describe('the page of a line of eight zones', () => {
  it('still prints on A4', async () => {
    const zones = Array.from({ length: 8 }, (_, i) => ({
      name: `zone ${i + 1}`,
      heaterLimitCelsius: 300,
    }));
    const line = Line.parse({ ...demoScenario.line, zones });
    const journal = typed(
      withPlan(openedStudy({ factors, line, fixed: { tilt: 15, hump: 8 }, responses: many }), {
        family: 'box-behnken',
        model: 'main',
      }),
      ({ level }) => Number(level) / 30 + 0.004,
    );
    const wide = pagedStudy({ state: journal.state(), events: journal.events(), version: '0.0.0' });
    const size = { viewport: { width: 672, height: 1000 } };
    const { page } = await opened(size, studyPage(studyPageInput(wide)));
    await page.emulateMedia({ media: 'print' });
    expect(await tooWide(page)).toEqual([]);
  });
});

describe('the panel of a walked study', () => {
  /** What core says of set points, as the panel must show it. */
  function expected(screwRpm: number): { rows: string[][]; chance: string } {
    const { predictor, recipe } = study;
    const { factors: all } = study.state.opened;
    const natural: Point = { ...recipe!.natural, screw: screwRpm };
    const coded = Object.fromEntries(
      factors.map(({ name, low, high }) => [
        name,
        (2 * Number(natural[name]) - low - high) / (high - low),
      ]),
    );
    const there = recipeAt(predictor, coded, recipe!.joint, study.asked);
    expect(there.setPoints.screwRpm).toBe(screwRpm);
    return {
      rows: study.responses.map(({ name }) => {
        const { mean, next } = there.predictions.find((prediction) => prediction.name === name)!;
        const decimals = intervalDecimals(mean.low!, mean.high!);
        return [
          fixed(mean.value, decimals),
          interval(mean.low!, mean.high!, decimals),
          interval(next.low!, next.high!, decimals),
        ];
      }),
      chance: fixed(chanceAt(predictor, settingsOf(there.coded, all))!.probability, 2),
    };
  }

  it('tells what core tells, at the recipe and after the screw has moved', async () => {
    const { page, complaints } = await opened();
    const shown = async (): Promise<{ rows: string[][]; chance: string }> => ({
      rows: (await readings(page)).map((row) => row.slice(1, 4)),
      chance: (await page.locator('#try-panel .chance strong').textContent()) ?? '',
    });
    const start = study.recipe!.setPoints.screwRpm;
    expect(await shown()).toEqual(expected(start));
    const slider = page.getByRole('slider', { name: 'screw' });
    const direction = start > 5 ? 'ArrowLeft' : 'ArrowRight';
    await slider.focus();
    for (let i = 0; i < 12; i++) await page.keyboard.press(direction);
    const moved = Number(await slider.inputValue());
    expect(Math.abs(moved - start)).toBeCloseTo(1.2, 6);
    await expect.poll(shown).toEqual(expected(moved));
    expect(complaints).toEqual([]);
  });

  it('shows any response, or the chance, over any two factors, by keyboard, and says so', async () => {
    const { page, complaints } = await opened();
    const title = (): Promise<string | null> => page.locator('#try-panel svg title').textContent();
    const shows = page.getByLabel('of', { exact: true });
    await shows.focus();
    await page.keyboard.press('End');
    await expect.poll(title).toMatch(/^chance of conforming over /);
    const names = factors.map(({ name }) => name);
    const [across, up] = [
      page.getByLabel('across', { exact: true }),
      page.getByLabel('up', { exact: true }),
    ];
    const before = [await across.inputValue(), await up.inputValue()];
    const third = names.find((name) => !before.includes(name))!;
    await across.selectOption(third);
    await expect.poll(title).toContain(`over ${third} and ${before[1]}`);
    // The same factor on both axes makes them change places.
    await up.selectOption(third);
    await expect.poll(title).toContain(`over ${before[1]} and ${third}`);
    expect(await page.getByRole('status').textContent()).toMatch(
      /^The map shows chance of conforming/,
    );
    expect(await violations(page)).toEqual([]);
    expect(complaints).toEqual([]);
  });

  it('carries no schema library and weighs little', () => {
    const { script } = input.panel!;
    expect(script).not.toMatch(/ZodError|zod/i);
    expect(script.length).toBeLessThan(150_000);
  });
});
