import { describe, expect, it } from 'vitest';
import { workbenchLines } from '../../../packages/cli/src/screen/workbench/lines.ts';
import {
  openingWorkbench,
  reduceWorkbench,
  stageCommands,
  type Workbench,
  type WorkbenchIntent,
  workbenchIntent,
  workbenchKeys,
} from '../../../packages/cli/src/screen/workbench/state.ts';
import { lineWidth, plainText } from '../../../packages/cli/src/terminal/line.ts';
import { themeOf } from '../../../packages/cli/src/theme.ts';
import type { FoundStudy } from '../../../packages/cli/src/workbench/found-studies.ts';

const theme = themeOf({ colour: false, unicode: true });
const studies: FoundStudy[] = [
  {
    kind: 'study',
    path: '/lab/px-31.strandwise',
    shown: 'px-31.strandwise',
    name: 'PX-31 on bench line 2',
    grade: 'PX-31',
    isInvented: true,
    lastAt: '2026-01-05T08:00:00.000Z',
    next: { stage: 'walk', says: 'walk cell 7 (6 of 24 ended)', command: ['walk'] },
  },
  {
    kind: 'unreadable',
    path: '/lab/old.strandwise',
    shown: 'old.strandwise',
    says: 'the file is empty.',
  },
  {
    kind: 'study',
    path: '/lab/hx-7.strandwise',
    shown: 'hx-7.strandwise',
    name: 'HX-7, a study with quite a long name to see what happens to it',
    grade: 'HX-7',
    isInvented: false,
    lastAt: '2026-01-04T08:00:00.000Z',
    next: {
      stage: 'shutdown',
      says: 'the line is shut down; the record is complete',
      command: null,
    },
  },
];
const after = (screen: Workbench, ...intents: WorkbenchIntent[]): Workbench =>
  intents.reduce(reduceWorkbench, screen);
const none = {
  isReturn: false,
  isEscape: false,
  isUp: false,
  isDown: false,
  isBackspace: false,
  isControl: false,
};

describe('workbench', () => {
  it('runs the next action of the study in hand', () => {
    const { outcome } = after(openingWorkbench(studies), { kind: 'open' });
    expect(outcome).toEqual({
      kind: 'run',
      args: ['walk', '/lab/px-31.strandwise'],
      study: '/lab/px-31.strandwise',
    });
  });

  it('shows a study with nothing left to do, and tells why one cannot be read', () => {
    const down: WorkbenchIntent = { kind: 'move', by: 1 };
    expect(
      after(openingWorkbench(studies), down, down, down, { kind: 'open' }).outcome,
    ).toMatchObject({ args: ['show', '/lab/hx-7.strandwise'] });
    const broken = after(openingWorkbench(studies), down, { kind: 'open' });
    expect(broken).toMatchObject({ outcome: null, notice: 'old.strandwise: the file is empty.' });
  });

  it('reaches every stage by its name', () => {
    for (const [i, { command }] of stageCommands.entries()) {
      const downs = Array.from({ length: i }, (): WorkbenchIntent => ({ kind: 'move', by: 1 }));
      const { outcome } = after(openingWorkbench(studies), { kind: 'stages' }, ...downs, {
        kind: 'open',
      });
      expect(outcome).toMatchObject({
        kind: 'run',
        args: [command[0], '/lab/px-31.strandwise', ...command.slice(1)],
      });
    }
  });

  it('offers the demo to a first visitor, on enter', () => {
    expect(after(openingWorkbench([]), { kind: 'open' }).outcome).toMatchObject({
      args: ['demo', '--brief', '--folder', '.'],
    });
    expect(after(openingWorkbench([]), { kind: 'stages' }).notice).toContain('no study');
  });

  it('asks a name before a new study, and goes back on escape', () => {
    const named = after(
      openingWorkbench([]),
      { kind: 'new' },
      { kind: 'typed', text: 'px-3x' },
      { kind: 'erased' },
      { kind: 'typed', text: '1' },
    );
    expect(after(named, { kind: 'open' }).outcome).toMatchObject({ args: ['new', 'px-31'] });
    expect(after(named, { kind: 'back' })).toMatchObject({ mode: 'studies', typed: '' });
    expect(after(openingWorkbench([]), { kind: 'new' }, { kind: 'open' }).notice).toContain(
      'Type a name',
    );
  });

  it('means letters as commands in the list and as text while naming', () => {
    for (const [letter, intent] of workbenchKeys)
      expect(workbenchIntent(openingWorkbench(studies), { ...none, input: letter })).toEqual(
        intent,
      );
    const naming = after(openingWorkbench([]), { kind: 'new' });
    expect(workbenchIntent(naming, { ...none, input: 'q' })).toEqual({ kind: 'typed', text: 'q' });
    expect(workbenchIntent(naming, { ...none, input: 'c', isControl: true })).toEqual({
      kind: 'leave',
    });
  });

  it.each([
    [80, 24],
    [40, 20],
    [120, 10],
  ])('fits %i columns and %i rows, whatever is shown', (columns, rows) => {
    const many = Array.from({ length: 30 }, () => studies).flat();
    const screens = [
      openingWorkbench([]),
      openingWorkbench(studies),
      { ...openingWorkbench(many), at: 45 },
      after(openingWorkbench(studies), { kind: 'stages' }),
      after(openingWorkbench(studies), { kind: 'new' }, { kind: 'typed', text: 'x' }),
    ];
    for (const screen of screens) {
      const lines = workbenchLines(screen, { columns, rows }, theme);
      expect(lines).toHaveLength(rows);
      for (const spans of lines) expect(lineWidth(spans)).toBeLessThanOrEqual(columns);
    }
  });

  it('shows studies with stage and next action at 80 columns', () => {
    const text = plainText(
      workbenchLines(openingWorkbench(studies), { columns: 80, rows: 18 }, theme),
    );
    expect(text).toMatchInlineSnapshot(`
      " strandwise · studies
      ────────────────────────────────────────────────────────────────────────────────

       > PX-31 on bench line 2                         walk     px-31
           next  walk cell 7 (6 of 24 ended)   invented example

         old.strandwise
           cannot be read: the file is empty.

         HX-7, a study with quite a long name to see…  shutdown hx-7
           next  the line is shut down; the record is complete




      ────────────────────────────────────────────────────────────────────────────────
       enter do what comes next    up/down choose    s any stage    n new study
       d demo    v practise on the virtual line    l library    q leave"
    `);
  });

  it('greets a first visitor', () => {
    const text = plainText(workbenchLines(openingWorkbench([]), { columns: 80, rows: 16 }, theme));
    expect(text).toMatchInlineSnapshot(`
      " strandwise · studies
      ────────────────────────────────────────────────────────────────────────────────

         No study in this folder yet.

         enter  runs the demo: an invented grade from plan to recipe, in seconds
         n      starts a study of your own: grade, line, target
         v      practises the walk on the virtual line, failures included

         Strandwise tells people what to set; it never drives heaters or motors.



      ────────────────────────────────────────────────────────────────────────────────
       enter run the demo    s any stage    n new study    d demo
       v practise on the virtual line    l library    q leave"
    `);
  });
});
