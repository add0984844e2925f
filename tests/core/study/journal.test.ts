import { openJournal } from '@strandwise/core';
import { memoryStudyStore } from '@strandwise/store';
import { describe, expect, it } from 'vitest';
import { adoptedPlan, entry, openedStudy, setPoints, tickingClock } from './example-study.ts';

function startedJournal() {
  const store = memoryStudyStore();
  store.append([entry(openedStudy)], 0);
  const journal = openJournal(store, tickingClock(), 'operator');
  journal.record(adoptedPlan(2));
  return journal;
}

describe('openJournal', () => {
  it('records, and undoes the latest entry', () => {
    const journal = startedJournal();
    journal.record({ kind: 'settings entered', cell: 1, setPoints, holdSeconds: 600 });
    expect(journal.state().cells[0]?.status).toBe('holding');
    expect(journal.undo().cells[0]?.status).toBe('waiting');
    expect(() => journal.undo()).toThrow('There is nothing to undo.');
  });

  it('puts back what was undone, until something else is entered', () => {
    const journal = startedJournal();
    journal.record({ kind: 'settings entered', cell: 1, setPoints, holdSeconds: 600 });
    journal.record({ kind: 'hold ended', cell: 1, how: 'early', heldSeconds: 60 }, 'looks calm');
    journal.undo();
    journal.undo();
    expect(journal.redo().cells[0]?.status).toBe('holding');
    expect(journal.redo().cells[0]?.status).toBe('measuring');
    expect(journal.events().at(-1)?.why).toBe('looks calm');
    expect(() => journal.redo()).toThrow('There is nothing to put back.');
    journal.undo();
    journal.record({ kind: 'note written', cell: 1, text: 'something else' });
    expect(() => journal.redo()).toThrow('There is nothing to put back.');
  });

  it('never dates an entry before the one it follows, when the clock is set back', () => {
    const store = memoryStudyStore();
    store.append([entry(openedStudy, 30)], 0);
    const journal = openJournal(store, { now: () => Date.UTC(2026, 0, 5, 7) }, 'operator');
    journal.record({ kind: 'note written', cell: null, text: 'clock is slow' });
    expect(journal.events()[1]?.at).toBe(journal.events()[0]?.at);
  });

  it('asks everything again after a shutdown', () => {
    const journal = startedJournal();
    journal.record({
      kind: 'checks confirmed',
      items: ['extraction on'],
      barrelHolds: 'HDPE',
      driedHours: 4,
      hoursSinceDrying: 0,
    });
    expect(journal.state().checks).not.toBeNull();
    journal.record({ kind: 'shut down', barrelHolds: 'HDPE', steps: ['heaters off'] });
    expect(journal.state().checks).toBeNull();
    expect(journal.state().barrelHolds).toBe('HDPE');
  });

  it('does not count time that nobody watched as held', () => {
    const journal = startedJournal();
    journal.record({ kind: 'settings entered', cell: 1, setPoints, holdSeconds: 600 });
    journal.record({ kind: 'clock jumped', cell: 1, bySeconds: 7200 });
    journal.record({ kind: 'clock jumped', cell: 1, bySeconds: -60 });
    expect(journal.state().cells[0]?.uncountedSeconds).toBe(7200);
    expect(journal.state().troubles.map(({ says }) => says)).toEqual([
      '2 h passed unwatched: the computer slept or its clock was set ahead',
      'the clock was set back by 60 s',
    ]);
  });

  it('refuses what does not fit and writes nothing', () => {
    const journal = startedJournal();
    const before = journal.events().length;
    expect(() => journal.record({ kind: 'cell finished', cell: 1 })).toThrow(
      'Cell 1 is waiting; this does not fit there.',
    );
    expect(journal.store.events()).toHaveLength(before);
  });

  it('sees what someone else wrote only after refreshing', () => {
    const journal = startedJournal();
    const other = openJournal(journal.store, tickingClock(), 'scientist');
    other.record({ kind: 'note written', cell: null, text: 'new pellet bag' });
    expect(() => journal.record({ kind: 'note written', cell: null, text: 'mine' })).toThrow(
      '1 newer entry by someone else',
    );
    expect(journal.refresh().notes.map(({ text }) => text)).toEqual(['new pellet bag']);
    journal.record({ kind: 'note written', cell: null, text: 'mine' });
    expect(journal.state().people).toEqual(['operator', 'scientist']);
  });
});
