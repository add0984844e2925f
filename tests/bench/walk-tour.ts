// Walks a whole 20-cell plan in a real terminal, by its keys alone, with two failed cells, an undo, a
// quit and a shift change, and prints the frames on the way.
// node tests/bench/run.mjs walk-tour [frames to print: all | few]
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import {
  adoptedPlan,
  openedFrom,
  openJournal,
  planOf,
  StudyDescription,
  studyDefaults,
  studyState,
} from '@strandwise/core';
import { sqliteStudyStore } from '@strandwise/store';
import { demoScenario } from '@strandwise/virtual-line';
import { entry } from '../core/study/example-study.ts';
import { tmuxTerminal } from '../terminal/tmux.ts';

const isAll = process.argv[2] === 'all';
const folder = mkdtempSync(join(tmpdir(), 'strandwise-tour-'));
const path = join(folder, 'px-31.strandwise');
const program = resolve(process.cwd(), 'packages/cli/dist/main.js');

function madeStudy(): void {
  const { grade, line, product } = demoScenario;
  const opened = openedFrom(
    StudyDescription.parse({
      name: 'PX-31 on bench line 2',
      invented: true,
      grade,
      line,
      product,
      factors: [
        { name: 'level', low: 188, high: 198, unit: '°C', changes: 'hard', acts: 'level' },
        { name: 'screw', low: 4, high: 6, unit: 'rpm', changes: 'semi-hard', acts: 'screw' },
      ],
    }),
  );
  const state = studyState([{ seq: 1, ...entry(opened) }]);
  const plan = planOf({
    factors: state.opened.factors,
    model: 'main',
    family: 'full factorial',
    options: { replicates: 5 },
    seed: 4,
    surroundings: { line, grade, product, defaults: studyDefaults(state) },
  });
  const store = sqliteStudyStore(path, { mode: 'create' });
  store.append([entry(opened), entry({ kind: 'plan adopted', plan: adoptedPlan(plan) }, 1)], 0);
  store.close();
}

const open = () =>
  tmuxTerminal({
    command: [
      process.execPath,
      program,
      'walk',
      path,
      '--who',
      'Robin',
      '--gauge',
      'virtual',
      '--speed',
      '900',
    ],
  });

const wanted = { failures: 2, undo: 1, quit: 1, shift: 1 };
const shown = new Set<string>();
function show(name: string, frame: string): void {
  if (!isAll && shown.has(name)) return;
  shown.add(name);
  process.stdout.write(`\n== ${name}\n${frame.replace(/\s+$/gm, '').trimEnd()}\n`);
}

/** A frame without what moves by itself: countdowns, the trace, the finish. */
const withoutMotion = (frame: string): string =>
  frame
    .split('\n')
    .slice(1)
    .join('\n')
    .replace(/[\d:.]+|[\u2580-\u28ff]+/g, '');

madeStudy();
let terminal = open();
let steps = 0;
const started = performance.now();
for (;;) {
  const frame = terminal.frame();
  const cell = Number(/cell (\d+) of/.exec(frame)?.[1] ?? 0);
  if (frame.includes('THE WALK IS DONE')) {
    show('the walk is done', frame);
    break;
  }
  if (++steps > 20_000) throw new Error(`lost in\n${frame}`);
  if (/STOP SAFELY|KEYS|SKIP CELL|NOTED SO FAR|KEYED IN/.test(frame)) {
    terminal.press('Escape');
  } else if (frame.includes('BEFORE HEATING')) {
    show('before heating', frame);
    if (frame.includes('y yes')) terminal.press('y');
    else {
      if (frame.includes('→ barrel')) terminal.type('HDPE');
      else if (frame.includes('→ dried')) terminal.type('4');
      terminal.press('Enter');
    }
  } else if (frame.includes('> ')) {
    show(/ {3}([A-Z][A-Z0-9 ,]+)/.exec(frame)?.[1] ?? 'question', frame);
    if (frame.includes('Who walks from here')) terminal.type('Sam');
    else if (frame.includes('should Sam know')) terminal.type('zone 3 is slow to cool');
    else if (frame.includes('What was seen')) terminal.type('strand stalled at the puller');
    else if (/CUT|NOT SETTLED|EARLY/.test(frame)) terminal.type('as it is');
    else if (frame.includes('METRES') && /> _/.test(frame)) terminal.type('5');
    terminal.press('Enter');
  } else if (frame.includes('which way?')) {
    show('failed: which way', frame);
    terminal.press('c');
  } else if (frame.includes('and now?')) {
    show('failed: and now', frame);
    terminal.press(frame.includes('n   a cell nearer') && wanted.failures === 0 ? 'n' : 'a');
  } else if (frame.includes('SET NOW')) {
    show('set now', frame);
    if (wanted.failures > 0 && (cell === 3 || cell === 9)) {
      wanted.failures--;
      terminal.press('x');
    } else if (wanted.shift > 0 && cell === 11) {
      wanted.shift--;
      terminal.press('w');
    } else terminal.press('Enter');
  } else if (frame.includes('no strand at the gauge')) {
    // The virtual line fails by itself now and then.
    show('no strand', frame);
    terminal.press('x');
  } else if (frame.includes('HOLD IS OVER')) {
    show('the hold is over', frame);
    terminal.press('Enter');
  } else if (frame.includes('HOLD')) {
    show('hold', frame);
    if (wanted.undo > 0 && cell === 5) {
      wanted.undo--;
      terminal.press('u');
      show('undone', await terminal.see('Taken back'));
    } else if (wanted.quit > 0 && cell === 7) {
      wanted.quit--;
      terminal.press('q');
      await terminal.ended();
      terminal.close();
      terminal = open();
      show('taken up again', await terminal.see('Resumed at cell'));
    }
  } else if (frame.includes('MEASURE   ')) {
    if (/MEASURE {3}[4-9]:/.test(frame)) show('measuring', frame);
    if (Math.random() < 0.05) terminal.press('Space');
  } else if (/enter {3}/.test(frame)) {
    if (frame.includes('MEASURED')) show('measured', frame);
    terminal.press('Enter');
  }
  // The screen answers before the next key; while it is held or measured there is nothing to answer.
  const isWaiting = /HOLD {3}|MEASURE {3}/.test(frame) && !frame.includes('HOLD IS OVER');
  for (let tries = 0; tries < (isWaiting ? 3 : 60); tries++) {
    await new Promise((done) => setTimeout(done, 40));
    if (withoutMotion(terminal.frame()) !== withoutMotion(frame)) break;
  }
}
terminal.press('s');
show('stop safely', await terminal.see('STOP SAFELY'));
terminal.close();
const store = sqliteStudyStore(path, { mode: 'read' });
const journal = openJournal(store, { now: Date.now }, 'reader');
const { cells, people } = journal.state();
const count = (status: string): number => cells.filter((one) => one.status === status).length;
process.stdout.write(
  `\n${cells.length} cells: ${count('done')} done, ${count('failed')} failed; walked by ${people.join(' and ')}; ${store.events().length} entries, problems ${store.verify().length}; ${Math.round((performance.now() - started) / 1000)} s\n`,
);
store.close();
rmSync(folder, { recursive: true });
