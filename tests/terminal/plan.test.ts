import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import { builtCommand, emptyFolder, strandwise } from '../cli/strandwise.ts';
import { openTerminal, type Terminal } from './terminal.ts';

const description = `
name: QX-7 trial
invented: true
grade: { name: QX-7 (invented), family: PLA, floorCelsius: 165, ceilingCelsius: 230, solidDensityGPerCm3: 1.24, meltDensityGPerCm3: 1.07 }
line:
  name: bench line 9 (invented)
  zones: [{ name: feed, heaterLimitCelsius: 300 }, { name: middle, heaterLimitCelsius: 300 }, { name: die, heaterLimitCelsius: 300 }]
  screw: {}
product: { diameterMm: 1.75, toleranceMm: 0.05 }
seed: 3
`;

let terminal: Terminal | undefined;
afterEach(() => terminal?.close());

describe('planning in a terminal', () => {
  it.each([
    [80, 24],
    [120, 40],
  ])(
    'makes a study, compares plans, takes one and prints its sheet at %i × %i',
    async (columns, rows) => {
      const folder = emptyFolder();
      writeFileSync(join(folder, 'qx.yaml'), description);
      terminal = openTerminal(folder, { columns, rows });
      const { press, waitFor, screen } = terminal;
      const command = (text: string) => terminal!.command(`node ${builtCommand} ${text}`);

      await command('new qx.strandwise --from qx.yaml');
      await waitFor('stage: plan');
      await command('plan qx.strandwise --compare --hours 14 --grams 2500 --set starts=3');
      const table = await waitFor('enter choose A');
      expect(table).toContain('fits 14 h, 2500 g');
      expect(table).toContain('[A]');
      for (const line of table.split('\n')) expect([...line].length).toBeLessThanOrEqual(columns);

      press('Right');
      await waitFor('[B]');
      press('p');
      await waitFor('share of the region');
      press('o');
      await waitFor('complete randomisation');
      press('Escape');
      await waitFor('[B]');
      press('Enter');
      await waitFor('as the plan of this study?');
      press('y');
      // The terminal has its first page back, with what was recorded.
      const left = await waitFor('Adopted as plan 1');
      expect(left).not.toContain('enter choose');

      await command('sheet qx.strandwise --html --out sheet.html');
      await waitFor('Written to sheet.html');
      expect(screen()).toContain('cells.');
      expect(strandwise(['show', 'qx.strandwise'], folder).out).toContain('stage: walk');
    },
  );

  it('leaves the study as it is on ctrl-c', async () => {
    const folder = emptyFolder();
    writeFileSync(join(folder, 'qx.yaml'), description);
    strandwise(['new', 'qx.strandwise', '--from', 'qx.yaml'], folder);
    terminal = openTerminal(folder, { columns: 80, rows: 24 });
    await terminal.command(`node ${builtCommand} plan qx.strandwise --compare --set starts=2`);
    await terminal.waitFor('enter choose A');
    terminal.press('C-c');
    await terminal.waitFor('No plan chosen.');
    expect(strandwise(['show', 'qx.strandwise'], folder).out).toContain('none yet');
  });

  it('stops a search on Escape and keeps the best so far', async () => {
    const folder = emptyFolder();
    writeFileSync(join(folder, 'qx.yaml'), description);
    strandwise(['new', 'qx.strandwise', '--from', 'qx.yaml'], folder);
    terminal = openTerminal(folder, { columns: 120, rows: 40 });
    await terminal.command(`node ${builtCommand} plan qx.strandwise --brief --set starts=10000`);
    await terminal.waitFor('I efficiency');
    terminal.press('Escape');
    const stopped = await terminal.waitFor('The search was stopped early');
    expect(stopped).toContain('Stopping; keeping the best so far.');
    await terminal.waitFor('Not adopted yet');
  });

  it('stops the adviser on Escape, keeps the best so far and names what it left', async () => {
    const folder = emptyFolder();
    writeFileSync(join(folder, 'qx.yaml'), description);
    strandwise(['new', 'qx.strandwise', '--from', 'qx.yaml'], folder);
    terminal = openTerminal(folder, { columns: 80, rows: 24 });
    await terminal.command(`node ${builtCommand} plan qx.strandwise --advise --set starts=10000`);
    const searching = await terminal.waitFor('esc keeps it');
    expect(searching).toMatch(/plan \d of \d .* of 10000, best I efficiency/);
    terminal.press('Escape');
    const stopped = await terminal.waitFor('stopped before its turn');
    expect(stopped).toMatch(/ A {2}\w/);
  });
});
