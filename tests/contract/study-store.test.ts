import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { memoryStudyStore, sqliteStudyStore } from '@strandwise/store';
import { studyStoreContract } from './study-store.ts';

studyStoreContract('memory', () => ({ store: memoryStudyStore() }));

studyStoreContract('SQLite file', () => {
  const path = join(mkdtempSync(join(tmpdir(), 'strandwise-')), 'study.strandwise');
  const store = sqliteStudyStore(path, { mode: 'create' });
  return {
    store,
    reopen: () => {
      store.close();
      return sqliteStudyStore(path, { mode: 'open' });
    },
  };
});
