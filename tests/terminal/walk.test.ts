import { spawnSync } from 'node:child_process';
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { sqliteStudyStore } from '@strandwise/store';
import { afterEach, describe, expect, it } from 'vitest';
import { sixCells } from '../cli/walk/walk-study.ts';
import { entry, openedStudy } from '../core/study/example-study.ts';
import { type TmuxTerminal, tmuxTerminal } from './tmux.ts';

const program = resolve(import.meta.dirname, '../../packages/cli/dist/main.js');
const open: TmuxTerminal[] = [];

afterEach(() => {
  for (const terminal of open.splice(0)) terminal.close();
});

function newStudy(): string {
  const path = join(mkdtempSync(join(tmpdir(), 'strandwise-walk-')), 'px.strandwise');
  const store = sqliteStudyStore(path, { mode: 'create' });
  store.append([entry(openedStudy), entry(sixCells, 1)], 0);
  store.close();
  return path;
}

function started(args: readonly string[], size: { columns?: number; rows?: number } = {}) {
  const terminal = tmuxTerminal({ command: [process.execPath, program, ...args], ...size });
  open.push(terminal);
  return terminal;
}

async function throughTheGates(terminal: TmuxTerminal): Promise<void> {
  await terminal.see('BEFORE HEATING');
  for (const next of ['guards', 'fume', 'nozzle', 'puller', 'barrel']) {
    terminal.press('y');
    await terminal.see(`→ ${next}`);
  }
  terminal.type('clean');
  terminal.press('Enter');
  await terminal.see('→ dried');
  terminal.type('4');
  terminal.press('Enter');
  await terminal.see('→ since drying');
  terminal.press('Enter');
  await terminal.see('SET NOW');
}

/** At this pace a light may go out between the eye and the finger; then it is pressed again. */
async function throughTheHold(terminal: TmuxTerminal): Promise<void> {
  for (let tries = 0; tries < 20; tries++) {
    await terminal.see(/HOLD IS OVER|HELD LONGER|BUBBLES/, 30_000);
    if (terminal.frame().includes('BUBBLES')) return;
    terminal.press('Enter');
    await terminal.see(/The hold is not over|HELD LONGER|BUBBLES/);
  }
  throw new Error(`the hold does not end\n${terminal.frame()}`);
}

describe('the walk in a terminal', () => {
  it('walks cells on the virtual line, survives a kill and a change of size, and is watched', async () => {
    const path = newStudy();
    const walk = ['walk', path, '--who', 'Robin', '--gauge', 'virtual', '--speed', '400'];
    let terminal = started(walk);
    await throughTheGates(terminal);
    terminal.press('Enter');
    await terminal.see('HOLD IS OVER', 30_000);

    const watcher = started(['walk', path, '--watch'], { columns: 40, rows: 20 });
    await watcher.see('only watching');
    await watcher.see('Robin walks.');
    watcher.press('x');
    const refused = spawnSync(
      'script',
      ['-qec', `${process.execPath} ${program} walk ${path} --who Sam`, '/dev/null'],
      { encoding: 'utf8', env: { ...process.env, NO_COLOR: '1' } },
    );
    expect(refused.stdout).toContain('Robin has been walking this study');
    expect(refused.status).toBe(2);

    await throughTheHold(terminal);
    await watcher.see('BUBBLES');
    terminal.press('Space', 'Space', 'Space');
    await terminal.see(/BUBBLES {3}3/);
    terminal.press('n');
    await terminal.see('NOTE');
    terminal.type('half a note');
    await terminal.see('> half a note_');

    process.kill(terminal.pid(), 'SIGKILL');
    terminal = started(walk);
    await terminal.see('> half a note_');
    terminal.type(', all of it');
    terminal.press('Enter');
    await terminal.see(/BUBBLES {3}3/);
    terminal.resize(40, 20);
    await terminal.see(/cell 1 of 6 +\d\d:\d\d/);
    terminal.resize(80, 24);
    await terminal.see('enter keeps it', 30_000);
    terminal.press('Enter');
    await terminal.see(/is kept|NOT SETTLED/);
    if (terminal.frame().includes('NOT SETTLED')) {
      terminal.type('as it is');
      terminal.press('Enter');
    }
    await terminal.see('how many metres');
    terminal.press('Enter');
    await terminal.see('METRES INSPECTED');
    terminal.press('Enter');
    await terminal.see('this cell is measured');
    terminal.press('Enter');
    await terminal.see('cell 2 of 6');
    terminal.press('q');
    await terminal.ended();
    const store = sqliteStudyStore(path, { mode: 'read' });
    expect(store.verify()).toEqual([]);
    const kinds = store.events().map(({ what }) => what.kind);
    expect(kinds).toContain('log attached');
    expect(kinds.at(-1)).toBe('cell finished');
    store.close();
  }, 120_000);
});
