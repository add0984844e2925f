import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { gunzipSync } from 'node:zlib';
import { RecipeCard, SpoolCertificate, SpoolComparison } from '@strandwise/core';
import { beforeAll, describe, expect, it } from 'vitest';
import { virtualSpool } from '../bench/virtual-spool.ts';
import { emptyFolder, type Ran, strandwise } from './strandwise.ts';

const worked = join(import.meta.dirname, '../../datasets/worked-brittle-filled');
let folder: string;
const run = (...args: string[]): Ran => strandwise(args, folder);

beforeAll(() => {
  folder = emptyFolder();
  process.env['STRANDWISE_LIBRARY'] = join(folder, 'library.db');
  writeFileSync(join(folder, 'fx.json'), gunzipSync(readFileSync(join(worked, 'study.json.gz'))));
  for (const seed of [1, 2, 3])
    writeFileSync(join(folder, `spool-${seed}.csv`), virtualSpool({ seed, hours: 0.9 }));
  expect(run('import', 'fx.json', 'fx.strandwise').code).toBe(0);
});

describe('before heating', () => {
  it('shows where the sheet leaves its family, and what was assumed', () => {
    const made = run('new', 'fresh.strandwise', '--from', join(worked, 'description.yaml'));
    expect(made.out).toContain('Solid density 1.42 g/cm³ is outside what is usual for');
    expect(made.out).toContain('assumed');
  });

  it('asks what the barrel holds when nothing is on record, and refuses a dangerous pair', () => {
    expect(run('ready', 'fresh.strandwise')).toMatchObject({ code: 2 });
    const dangerous = run('ready', 'fresh.strandwise', '--barrel', 'PVC');
    expect(dangerous.code).toBe(1);
    expect(dangerous.out).toContain('DO NOT HEAT');
    expect(dangerous.out).not.toContain('START');
    const path = run('ready', 'fresh.strandwise', '--barrel', 'PC', '--json');
    expect(JSON.parse(path.out).changeover.steps.map(({ to }: { to: string }) => to)).toEqual([
      'HDPE',
      'FX-20 (invented)',
    ]);
  });

  it('scouts on the virtual line, and takes the ranges over', () => {
    const scouted = run('scout', 'fresh.strandwise', '--virtual', 'FX-20', '--adopt');
    expect(scouted.code, scouted.told).toBe(0);
    expect(scouted.out).toContain('PROPOSED RANGES');
    expect(run('show', 'fresh.strandwise').out).toContain('stage: plan');
    expect(run('scout', 'fresh.strandwise', '--virtual', 'NO-1').told).toContain('Known: PX-31');
  });

  it('takes looks one by one without a screen, and undoes them', () => {
    run('new', 'step.strandwise', '--from', join(worked, 'description.yaml'));
    const first = JSON.parse(run('scout', 'step.strandwise', '--json').out).advice;
    const second = JSON.parse(
      run('scout', 'step.strandwise', '--seen', 'runs', '--json').out,
    ).advice;
    expect(second.levelCelsius).toBeLessThan(first.levelCelsius);
    expect(run('scout', 'step.strandwise', '--seen', 'lumpy').told).toContain('Known: unmelted');
    const undone = JSON.parse(run('scout', 'step.strandwise', '--undo', '--json').out);
    expect(undone.advice.levelCelsius).toBe(first.levelCelsius);
  });
});

describe('after the fit', () => {
  it('says whether the fresh set-ups hold', () => {
    const confirmed = run('confirm', 'fx.strandwise');
    expect(confirmed.code, confirmed.told).toBe(0);
    expect(confirmed.out).toContain('The recipe holds');
  });

  it('shows the released card, as text, JSON and a page', () => {
    const shown = run('release', 'fx.strandwise', '--show', '--html', 'card.html');
    expect(shown.out).toContain('RECIPE 1   FX-20 (invented)');
    expect(readFileSync(join(folder, 'card.html'), 'utf8')).toContain('released by');
    const card = RecipeCard.parse(
      JSON.parse(run('release', 'fx.strandwise', '--show', '--json').out),
    );
    expect(card.recipeVersion).toBe(1);
    expect(run('release', 'fx.strandwise', '--show', '--recipe', '7').told).toContain(
      'there is no recipe 7',
    );
  });

  it('releases again as the next version, and not without a recipe', () => {
    const again = run('release', 'fx.strandwise', '--json');
    expect(again.code, again.told).toBe(0);
    expect(JSON.parse(again.out)).toMatchObject({ recipeVersion: 2, signedBy: 'tester' });
    expect(run('release', 'fresh.strandwise')).toMatchObject({ code: 2 });
  });

  it('refuses to release what is not confirmed, unless somebody says why', () => {
    const soft = join(import.meta.dirname, '../../datasets/worked-soft/study.json.gz');
    writeFileSync(join(folder, 'sx.json'), gunzipSync(readFileSync(soft)));
    run('import', 'sx.json', 'sx.strandwise');
    const refused = run('release', 'sx.strandwise');
    expect(refused.code).toBe(1);
    expect(refused.told).toContain('Not released');
    const despite = run('release', 'sx.strandwise', '--despite', 'trial spool only', '--json');
    expect(JSON.parse(despite.out).despite).toContain('trial spool only');
  });

  it('certifies spools and compares them', () => {
    const first = run(
      'certify',
      'fx.strandwise',
      'spool-1.csv',
      '--html',
      's.html',
      '--svg',
      's.svg',
      '--json',
      '--bubbles',
      '2',
      '--inspected',
      '20',
    );
    const certificate = SpoolCertificate.parse(JSON.parse(first.out));
    expect(certificate).toMatchObject({ spool: 'spool-1', recipeVersion: 2, invented: true });
    expect(first.code).toBe(certificate.accepted ? 0 : 1);
    expect(readFileSync(join(folder, 's.svg'), 'utf8')).toMatch(/^<svg/);
    expect(run('certify', 'fx.strandwise', 'spool-2.csv').out).toMatch(/ACCEPTED|REJECTED/);
    run('certify', 'fx.strandwise', 'spool-3.csv');
    const compared = SpoolComparison.parse(
      JSON.parse(run('compare-spools', 'fx.strandwise', '--json').out),
    );
    expect(compared.spools.map(({ spool }) => spool)).toEqual(['spool-1', 'spool-2', 'spool-3']);
    expect(run('certify', 'fx.strandwise', 'spool-1.csv', '--bubbles', '2').code).toBe(2);
  });

  it('judges by the lab’s own limits', () => {
    writeFileSync(join(folder, 'limits.yaml'), 'leastMetres: 5000\n');
    const short = run(
      'certify',
      'fx.strandwise',
      'spool-1.csv',
      '--limits',
      'limits.yaml',
      '--dry-run',
    );
    expect(short.code).toBe(1);
    expect(short.out).toContain('at least 5000 m');
  });

  it('makes check runs for the next lot in a study of their own', () => {
    const made = run('transfer', 'fx.strandwise', 'lot-8.strandwise', '--lot', '8', '--runs', '4');
    expect(made.code, made.told).toBe(0);
    expect(made.out).toContain('4 check runs');
    expect(run('show', 'lot-8.strandwise').out).toContain('check runs, 4 cells');
    expect(run('transfer', 'fx.strandwise', 'lot-8.strandwise').out).toContain(
      '0 of 4 check runs are done',
    );
    expect(run('transfer', 'fx.strandwise', 'fx.strandwise').told).toContain('holds no check runs');
    expect(run('transfer', 'fx.strandwise', 'lot-9.strandwise').told).toContain('say what is new');
  });

  it('keeps grade, line and recipe in the library, and starts a study from it', () => {
    expect(run('library', 'keep', 'fx.strandwise').out).toContain(
      'recipe "FX-20 (invented) on bench line 2", revision 1',
    );
    expect(run('library').out).toContain('grade');
    writeFileSync(
      join(folder, 'short.yaml'),
      'name: from the library\ninvented: true\nproduct: { diameterMm: 1.75, toleranceMm: 0.05 }\n',
    );
    const made = run(
      'new',
      'lib.strandwise',
      '--from',
      'short.yaml',
      '--grade',
      'fx-20 (invented)',
      '--line',
      'bench line 2',
    );
    expect(made.code, made.told).toBe(0);
    expect(made.out).toContain('FX-20 (invented), PLA, barrel 172 to 230 °C');
    expect(run('library', 'show', 'grade', 'nothing').code).toBe(2);
  });

  it('shuts down: what may cool, what pushes it out, and a recorded finish', () => {
    const advice = run('shutdown', 'fx.strandwise');
    expect(advice.out).toContain('may not cool in the barrel');
    expect(advice.out).toContain('HDPE');
    expect(run('shutdown', 'fx.strandwise', '--done').told).toContain('shut down with HDPE');
    expect(run('show', 'fx.strandwise').out).toContain('stage: shutdown');
  });
});

describe('completion', () => {
  it.each(['bash', 'zsh', 'fish'])('knows every command in %s', (shell) => {
    const { out, code } = run('completion', shell);
    expect(code).toBe(0);
    for (const name of [
      'ready',
      'scout',
      'confirm',
      'compare-spools',
      'virtual-line',
      'completion',
    ])
      expect(out).toContain(name);
    expect(out).toContain(shell === 'fish' ? '-l set-ups' : '--set-ups');
  });
});

describe('virtual-line', () => {
  it('makes a practice study with a plan to walk', () => {
    expect(run('virtual-line', 'practice', '--grade', 'SX-85').out).toContain('--gauge virtual');
    expect(run('show', 'practice.strandwise').out).toContain('full factorial, 10 cells');
  });
});
