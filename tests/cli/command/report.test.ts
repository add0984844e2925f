import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { sqliteStudyStore } from '@strandwise/store';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import type { Surroundings } from '../../../packages/cli/src/command/command.ts';
import { reportCommand } from '../../../packages/cli/src/command/report.ts';
import { openedStudy, typed, withPlan } from '../page/walked-study.ts';

vi.mock('../../../packages/cli/src/page/panel-script.ts', () => ({ panelScript: () => 'void 0;' }));

const folder = mkdtempSync(join(tmpdir(), 'strandwise-report-'));
const study = join(folder, 'small.strandwise');

beforeAll(() => {
  vi.stubGlobal('__STRANDWISE_VERSION__', '0.0.0');
  const journal = typed(
    withPlan(
      openedStudy({
        responses: [
          {
            name: '=haze',
            kind: 'continuous',
            unit: '%',
            goal: { aim: 'smallest', target: 1, high: 40 },
          },
        ],
      }),
      { family: 'definitive screening', model: 'main' },
    ),
    ({ level, screw }) => 12 + Number(level) / 40 + ((Number(screw) * 31) % 3) / 10,
  );
  const store = sqliteStudyStore(study, { mode: 'create' });
  store.append(
    journal.events().map(({ seq: _, ...entry }) => entry),
    0,
  );
  store.close();
});

afterAll(() => {
  vi.unstubAllGlobals();
  rmSync(folder, { recursive: true, force: true });
});

interface Said {
  readonly out: string[];
  readonly told: string[];
}

async function ran(options: Record<string, string | boolean>): Promise<Said> {
  const said: Said = { out: [], told: [] };
  let now = 0;
  const around: Surroundings = {
    out: (text) => said.out.push(text),
    tell: (text) => said.told.push(text),
    // Every look at the clock takes a second and a half.
    clock: { now: () => (now += 1500) },
    env: {},
    cwd: folder,
    isTerminal: false,
    columns: 80,
  };
  await reportCommand.run({ options, rest: ['small.strandwise'] }, around);
  return said;
}

describe('report', () => {
  it('writes the page beside the study and names it', async () => {
    const { told } = await ran({});
    expect(told.at(-1)).toBe(`page     ${join(folder, 'small.html')}`);
    expect(readFileSync(join(folder, 'small.html'), 'utf-8')).toMatch(/^<!doctype html>/);
  });

  it('says what it is doing when that takes more than a second', async () => {
    const { told } = await ran({ replace: true });
    expect(told[0]).toMatch(/ …$/);
  });

  it('leaves a file alone that is there, unless told to replace it', async () => {
    const page = join(folder, 'kept.html');
    writeFileSync(page, 'mine');
    await expect(ran({ out: 'kept.html' })).rejects.toThrow(/is there already; add --replace/);
    expect(readFileSync(page, 'utf-8')).toBe('mine');
    await ran({ out: 'kept.html', replace: true });
    expect(readFileSync(page, 'utf-8')).not.toBe('mine');
    expect(readdirSync(folder).filter((name) => name.endsWith('.part'))).toEqual([]);
  });

  it('names a missing folder and writes nothing', async () => {
    await expect(ran({ out: 'nowhere/page.html' })).rejects.toThrow(/folder of .* does not exist/);
  });

  it('gives the same bytes for the same study', async () => {
    const [first, second] = [await ran({ out: '-' }), await ran({ out: '-' })];
    expect(first.out[0]).toBe(second.out[0]);
  });

  it('writes tables safe for a spreadsheet, with all their digits', async () => {
    await ran({ tables: 'tables', replace: true });
    const runs = readFileSync(join(folder, 'tables', 'runs.csv'), 'utf-8');
    expect(runs).toContain("'=haze in %");
    const data = JSON.parse(readFileSync(join(folder, 'tables', 'runs.json'), 'utf-8'));
    expect(data.rows).toHaveLength(runs.trim().split('\r\n').length - 1);
    expect(typeof data.rows[0]['=haze in %']).toBe('number');
    expect(readdirSync(join(folder, 'tables')).filter((name) => name.startsWith('='))).toEqual([]);
  });

  it('writes nothing at all when one table may not be replaced', async () => {
    await expect(ran({ out: 'other.html', tables: 'tables' })).rejects.toThrow(/is there already/);
    expect(readdirSync(folder)).not.toContain('other.html');
  });

  it('writes every figure as SVG and as PNG', async () => {
    const { out } = await ran({ figures: 'figures', replace: true, json: true });
    const files: string[] = JSON.parse(out[0]!).figures;
    const svg = files.filter((name) => name.endsWith('.svg'));
    const png = files.filter((name) => name.endsWith('.png'));
    expect(svg.length).toBeGreaterThan(5);
    expect(png).toHaveLength(svg.length);
    for (const file of png)
      expect([...readFileSync(file).subarray(0, 4)]).toEqual([0x89, 0x50, 0x4e, 0x47]);
  });

  it('refuses a chance outside 0 to 1', async () => {
    await expect(ran({ asked: '1.2' })).rejects.toThrow(
      /--asked must lie between 0 and 1; got 1.2/,
    );
  });
});
