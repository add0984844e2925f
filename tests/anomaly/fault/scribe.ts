// Writes entries, drafts and raw bytes into a new study and answers each once it is confirmed.
import { writeSync } from 'node:fs';
import { openJournal } from '@strandwise/core';
import { sqliteStudyStore } from '@strandwise/store';
import { sixCells } from '../../cli/walk/walk-study.ts';
import { entry, openedStudy } from '../../core/study/example-study.ts';

const [, , path = '', count = '40'] = process.argv;
const store = sqliteStudyStore(path, { mode: 'create' });
store.append([entry(openedStudy), entry(sixCells, 1)], 0);
writeSync(1, 'entry 2\n');
const journal = openJournal(store, { now: Date.now }, 'scribe');
for (let i = 0; i < Number(count); i++) {
  store.drafts.keep('screen', new TextEncoder().encode(`draft ${i}`));
  writeSync(1, `draft ${i}\n`);
  if (i % 5 === 0) {
    // Large enough that the log is written back into the study now and then.
    const bytes = Uint8Array.from({ length: 600_000 }, (_, k) => (k * 2654435761 * (i + 1)) >>> 24);
    const { sha256 } = store.putRaw(`raw-${i}`, bytes);
    writeSync(1, `raw ${sha256}\n`);
  }
  journal.record({ kind: 'note written', cell: null, text: `note ${i}` });
  writeSync(1, `entry ${journal.state().lastSeq}\n`);
}
store.close();
