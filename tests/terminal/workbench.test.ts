import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { gunzipSync } from 'node:zlib';
import { afterEach, describe, expect, it } from 'vitest';
import { builtCommand, emptyFolder, strandwise } from '../cli/strandwise.ts';
import { openTerminal, type Terminal } from './terminal.ts';

const worked = join(import.meta.dirname, '../../datasets');
const start = `STRANDWISE_LIBRARY= node ${builtCommand}`;

let terminal: Terminal | undefined;
afterEach(() => terminal?.close());

describe('workbench in a terminal', () => {
  it('greets a first visitor and leaves the terminal as it was', async () => {
    terminal = openTerminal(emptyFolder(), { columns: 80, rows: 24 });
    const { press, waitFor } = terminal;
    await terminal.command(start);
    const screen = await waitFor('No study in this folder yet');
    for (const line of screen.split('\n')) expect([...line].length).toBeLessThanOrEqual(80);
    press('n');
    await waitFor('Name of the file');
    press('Escape');
    await waitFor('No study in this folder yet');
    press('q');
    await terminal.command('echo back-$((6*7))');
    await waitFor('back-42');
  });

  it('shows a study with its next action, and scouts it from the list of stages', async () => {
    const folder = emptyFolder();
    const description = readFileSync(join(worked, 'worked-soft/description.yaml'));
    writeFileSync(join(folder, 'sx.yaml'), description);
    writeFileSync(
      join(folder, 'fx.json'),
      gunzipSync(readFileSync(join(worked, 'worked-brittle-filled/study.json.gz'))),
    );
    strandwise(['import', 'fx.json', 'fx.strandwise'], folder);
    strandwise(['new', 'sx.strandwise', '--from', 'sx.yaml'], folder);
    terminal = openTerminal(folder, { columns: 80, rows: 24 });
    const { press, waitFor } = terminal;
    await terminal.command(start);
    const list = await waitFor('FX-20, brittle and filled');
    expect(list).toContain('recipe 1 is released; shut the line down');
    expect(list).toMatch(/> SX-85, soft +plan/);

    press('s');
    await waitFor('any stage');
    press('Down');
    press('Enter');
    await waitFor('BEFORE HEATING');
    press('Enter');
    const step = await waitFor('WHAT DO YOU SEE');
    expect(step).toContain('SET NOW');
    press('5');
    await waitFor('step 2');
    await waitFor('so far, °C');
    press('u');
    await waitFor('step 1');
    press('q');
    await waitFor('strandwise · studies');
    // What a command prints stays until it has been read; then the studies come back.
    press('s');
    await waitFor('any stage');
    for (let i = 0; i < 8; i++) press('Down');
    press('Enter');
    await waitFor('enter: back to the workbench');
    press('Enter');
    await waitFor('strandwise · studies');
    press('q');
    await terminal.command('echo back-$((6*7))');
    await waitFor('back-42');
  });
});
