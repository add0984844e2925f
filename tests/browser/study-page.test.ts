import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { codedPoint, modelMatrix, pointOf, pointPrediction } from '@strandwise/core';
import {
  figureSvg,
  fixed,
  interval,
  intervalDecimals,
  runSheet,
  studyPage,
} from '@strandwise/report';
import axe from 'axe-core';
import type { Browser, BrowserContextOptions, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { inventedFigures } from '../report/figure/invented-figures.ts';
import { inventedSheet } from '../report/page/invented-sheet.ts';
import { inventedStudy, withPanel } from '../report/page/invented-study.ts';
import { factors, fits, line, panelModel } from '../report/panel/invented-panel.ts';
import { launchedBrowser } from './chromium.ts';
import { panelBundle } from './panel-bundle.ts';

let browser: Browser;
let script: string;
const folder = mkdtempSync(join(tmpdir(), 'strandwise-page-'));

beforeAll(async () => {
  [browser, script] = await Promise.all([launchedBrowser(), panelBundle()]);
});

afterAll(async () => {
  await browser?.close();
  rmSync(folder, { recursive: true, force: true });
});

interface Opened {
  readonly page: Page;
  /** Everything the page complained of or asked for. */
  readonly complaints: string[];
}

let files = 0;
async function opened(html: string, options: BrowserContextOptions = {}): Promise<Opened> {
  const file = join(folder, `${++files}.html`);
  writeFileSync(file, html);
  const context = await browser.newContext({ viewport: { width: 1200, height: 900 }, ...options });
  const page = await context.newPage();
  const complaints: string[] = [];
  page.on('console', (message) => complaints.push(`${message.type()}: ${message.text()}`));
  page.on('pageerror', (error) => complaints.push(`error: ${error.message}`));
  page.on('request', (request) => {
    if (request.url() !== url) complaints.push(`request: ${request.url()}`);
  });
  const url = pathToFileURL(file).href;
  await page.goto(url);
  return { page, complaints };
}

async function violations(page: Page): Promise<string[]> {
  await page.evaluate(axe.source);
  const found = await page.evaluate(async () => {
    const results = await (globalThis as unknown as { axe: typeof axe }).axe.run();
    return results.violations;
  });
  return found.map(
    ({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html.slice(0, 160)).join(' | ')}`,
  );
}

/** The table of readings as rows of trimmed cells. */
const readings = (page: Page): Promise<string[][]> =>
  page
    .locator('#try-panel tbody tr')
    .evaluateAll((rows) =>
      rows.map((row) => Array.from(row.children).map((cell) => (cell.textContent ?? '').trim())),
    );

describe('the study page in a browser', () => {
  it('opens without a complaint and asks for nothing', async () => {
    const { page, complaints } = await opened(studyPage(withPanel(script)));
    await page.locator('#try').waitFor({ state: 'visible' });
    expect(complaints).toEqual([]);
  });

  for (const [words, options] of [
    ['on a desk', {}],
    ['on a phone', { viewport: { width: 360, height: 740 } }],
    ['in the dark', { colorScheme: 'dark' }],
  ] as const) {
    it(`has nothing that axe finds at fault ${words}`, async () => {
      const { page } = await opened(studyPage(withPanel(script)), options);
      await page.locator('#try').waitFor({ state: 'visible' });
      expect(await violations(page)).toEqual([]);
    });
  }

  it('never scrolls sideways on a phone', async () => {
    const { page } = await opened(studyPage(withPanel(script)), {
      viewport: { width: 360, height: 740 },
    });
    const [content, window] = await page.evaluate(() => [
      document.documentElement.scrollWidth,
      innerWidth,
    ]);
    expect(content).toBe(window);
  });

  it('reads in full with script switched off, without the panel', async () => {
    const { page, complaints } = await opened(studyPage(withPanel(script)), {
      javaScriptEnabled: false,
    });
    expect(complaints).toEqual([]);
    expect(await page.locator('h2:visible').allTextContents()).toEqual(
      expect.arrayContaining(['The recipe', 'What matters', 'What was run', 'Cautions']),
    );
    expect(await page.locator('#try').isVisible()).toBe(false);
    for (const fold of await page.locator('main summary').all()) await fold.click();
    expect(await page.locator('figure svg:visible').count()).toBe(
      await page.locator('figure').count(),
    );
  });

  it('prints to A4 without the panel', async () => {
    const { page } = await opened(studyPage(withPanel(script)));
    await page.emulateMedia({ media: 'print' });
    expect(await page.locator('#try').isVisible()).toBe(false);
    const pdf = await page.pdf({ preferCSSPageSize: true });
    expect(pdf.subarray(0, 5).toString()).toBe('%PDF-');
    // 210 mm × 297 mm in points.
    const boxes = [...pdf.toString('latin1').matchAll(/\/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]/g)];
    expect(boxes.length).toBeGreaterThan(3);
    for (const [, width, height] of boxes) {
      expect(Math.abs(Number(width) - 595.3)).toBeLessThan(1);
      expect(Math.abs(Number(height) - 841.9)).toBeLessThan(1);
    }
  });

  it('is reached by keyboard: skip link first, then the contents', async () => {
    const { page } = await opened(studyPage(inventedStudy));
    await page.keyboard.press('Tab');
    expect(await page.locator(':focus').textContent()).toBe('Skip to the recipe');
    await page.keyboard.press('Tab');
    expect(await page.locator(':focus').textContent()).toBe('About this job');
    await page.keyboard.press('Enter');
    expect(await page.locator('header .facts').isVisible()).toBe(true);
    await page.keyboard.press('Tab');
    expect(await page.locator(':focus').textContent()).toBe('The recipe');
  });

  it('hands out the run table as a file', async () => {
    const { page } = await opened(studyPage(inventedStudy));
    await page.locator('#runs summary').first().click();
    const [download] = await Promise.all([
      page.waitForEvent('download'),
      page.locator('#runs').getByText('Save this table as CSV').click(),
    ]);
    expect(download.suggestedFilename()).toBe('runs.csv');
  });
});

describe('the panel in a browser', () => {
  it('shows what core computes, before and after a slider moves', async () => {
    const { page, complaints } = await opened(studyPage(withPanel(script)));
    const slider = page.getByRole('slider', { name: 'screw' });
    // What the page must show: core's own numbers with the digits that the interval's width deserves.
    const expected = (setPoints: typeof panelModel.start): string[] => {
      const coded = codedPoint(pointOf(setPoints, factors, line), factors);
      const row = modelMatrix(panelModel.responses[0]!.surface.terms, [coded], factors).data;
      const { estimate, confidence } = pointPrediction(fits['ln SD'], row);
      const [low, high] = confidence.map(Math.exp) as [number, number];
      const decimals = intervalDecimals(low, high);
      return [fixed(Math.exp(estimate), decimals), interval(low, high, decimals)];
    };
    const shown = async (): Promise<string[]> => (await readings(page))[0]!.slice(1, 3);
    expect(await shown()).toEqual(expected(panelModel.start));
    const before = await page.locator('#try-panel svg').innerHTML();
    await slider.focus();
    for (let i = 0; i < 12; i++) await page.keyboard.press('ArrowRight');
    const faster = { ...panelModel.start, screwRpm: Number(await slider.inputValue()) };
    expect(faster.screwRpm).toBeCloseTo(panelModel.start.screwRpm + 1.2, 6);
    expect(expected(faster)).not.toEqual(expected(panelModel.start));
    await expect.poll(shown).toEqual(expected(faster));
    expect(await page.locator('#try-panel svg').innerHTML()).not.toBe(before);
    expect(complaints).toEqual([]);
  });

  it('takes a typed zone, keeps both inputs in step, and says the result aloud', async () => {
    const { page } = await opened(studyPage(withPanel(script)));
    const box = page.getByRole('spinbutton', { name: 'zone 3, typed, in °C' });
    await box.fill('205');
    await box.press('Enter');
    expect(await page.getByRole('slider', { name: 'zone 3' }).inputValue()).toBe('205');
    await expect
      .poll(() => page.getByRole('status').textContent())
      .toMatch(/^SD of diameter [\d.]+\u202fµm, [\d.]+ to [\d.]+; /);
    await box.fill('999');
    await box.press('Enter');
    expect(await box.inputValue()).toBe('225');
    await expect
      .poll(() => page.locator('.try-warnings').textContent())
      .toContain('225 °C of zone 3 is above the material');
  });

  it('goes back to the recommended settings', async () => {
    const { page } = await opened(studyPage(withPanel(script)));
    const before = await readings(page);
    const fan = page.getByRole('slider', { name: 'fan' });
    await fan.fill('0');
    await expect.poll(() => readings(page)).not.toEqual(before);
    await page.getByRole('button', { name: 'Back to the recommended settings' }).click();
    expect(await readings(page)).toEqual(before);
    expect(await fan.inputValue()).toBe(String(panelModel.start.fanPercent));
  });

  it('weighs little', () => {
    expect(script.length).toBeLessThan(150_000);
  });
});

describe('the run sheet in a browser', () => {
  it('has nothing that axe finds at fault and prints on A4 across', async () => {
    const { page, complaints } = await opened(runSheet(inventedSheet));
    expect(await violations(page)).toEqual([]);
    const pdf = (await page.pdf({ preferCSSPageSize: true })).toString('latin1');
    const [, width, height] = /\/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]/.exec(pdf)!;
    expect(Number(width)).toBeGreaterThan(Number(height));
    expect(complaints).toEqual([]);
  });
});

describe('figures in a browser', () => {
  it('are well-formed SVG on their own', async () => {
    const { page } = await opened('<!doctype html><title>figures</title>');
    for (const [name, figure] of Object.entries(inventedFigures)) {
      const fault = await page.evaluate(
        (svg) => {
          const parsed = new DOMParser().parseFromString(svg, 'image/svg+xml');
          return parsed.querySelector('parsererror')?.textContent ?? null;
        },
        figureSvg(figure, name),
      );
      expect(fault, name).toBeNull();
    }
  });

  it('keep all their text inside the picture', async () => {
    const { page } = await opened('<!doctype html><title>figures</title><body></body>');
    for (const [name, figure] of Object.entries(inventedFigures)) {
      const outside = await page.evaluate(
        (svg) => {
          document.body.innerHTML = svg;
          const frame = document.querySelector('svg')!.getBoundingClientRect();
          return Array.from(document.querySelectorAll('text'))
            .filter((text) => {
              const box = text.getBoundingClientRect();
              return (
                box.left < frame.left ||
                box.right > frame.right ||
                box.top < frame.top ||
                box.bottom > frame.bottom
              );
            })
            .map((text) => text.textContent);
        },
        figureSvg(figure, name),
      );
      expect(outside, name).toEqual([]);
    }
  });
});
