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
