// Meets every fault of the disk with a walk in hand and tells what the operator is told, as JSON lines.
import { copyFileSync, writeFileSync, writeSync } from 'node:fs';
import { openJournal } from '@strandwise/core';
import { sqliteStudyStore } from '@strandwise/store';
import { walkSession } from '../../../packages/cli/src/screen/walk/session.ts';
import { pressAll } from '../../cli/walk/press.ts';
import { checked, handClock, sixCells } from '../../cli/walk/walk-study.ts';
import { entry, openedStudy } from '../../core/study/example-study.ts';

const [, , folder = '', orderFile = ''] = process.argv;
const order = (letter: string): void => writeFileSync(orderFile, letter);

const faults = {
  'disk full': 'f',
  'write error': 'w',
  'synchronisation error': 's',
  'read-only disk': 'r',
} as const;

for (const [fault, letter] of Object.entries(faults)) {
  order('n');
  const path = `${folder}/study ${fault}`;
  const store = sqliteStudyStore(path, { mode: 'create' });
  store.append([entry(openedStudy, 30), entry(sixCells, 31), entry(checked, 32)], 0);
  const clock = handClock();
  const journal = openJournal(store, clock.steady, 'Robin');
  const session = walkSession({ journal, clock: clock.steady, attachLog: () => '' });
  pressAll(session, 'enter m "calm" enter space space');
  const before = journal.events().length;
  order(letter);
  pressAll(session, 'n "typed in trouble" enter');
  const told = session.screen().notice;
  const during = journal.events().length;
  const draft = session.screen().mode;
  order('n');
  // Nothing has to be typed again: one enter, and it is done.
  pressAll(session, 'enter');
  const after = journal.events().length;
  void session.close();
  store.close();
  const again = sqliteStudyStore(path, { mode: 'open' });
  writeSync(
    1,
    `${JSON.stringify({
      fault,
      told,
      isKeptOnScreen: 'draft' in draft && draft.draft === 'typed in trouble',
      lostDuring: before - during,
      recordedAfter: after - before,
      last: again.events().at(-1)?.what,
      problems: again.verify(),
    })}\n`,
  );
  again.close();
}

// A study that lies on a read-only disk from the start: with entries still in its log, as after a kill.
order('n');
const path = `${folder}/study read-only`;
const writer = sqliteStudyStore(path, { mode: 'create' });
writer.append([entry(openedStudy, 30), entry(sixCells, 31)], 0);
for (const end of ['', '-wal']) copyFileSync(path + end, `${path} copy${end}`);
writer.close();
order('r');
const attempted = (work: () => unknown): unknown => {
  try {
    return work();
  } catch (error) {
    return (error as Error).message;
  }
};
const told = attempted(() => {
  const store = sqliteStudyStore(`${path} copy`, { mode: 'open' });
  store.append([entry(checked, 32)], 2);
});
const read = attempted(() => {
  const store = sqliteStudyStore(`${path} copy`, { mode: 'read' });
  return { entries: store.events().length, problems: store.verify() };
});
writeSync(1, `${JSON.stringify({ fault: 'read-only from the start', told, read })}\n`);
