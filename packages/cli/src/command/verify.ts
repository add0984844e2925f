import { sqliteStudyStore } from '@strandwise/store';
import type { Command } from './command.ts';
import { studyPath } from './study-file.ts';

export const verifyCommand: Command = {
  name: 'verify',
  summary: 'check a study file: its pages, its hashes, and that it folds from its entries',
  usage: 'verify STUDY',
  example: {
    line: 'strandwise verify px-31.strandwise',
    says: 'says "sound" and ends with 0, or lists what is wrong and ends with 1.',
  },
  options: {},
  run(given, around) {
    const store = sqliteStudyStore(studyPath(given, around), { mode: 'read' });
    try {
      const problems = store.verify();
      if (problems.length === 0) {
        around.out(`sound: ${store.events().length} entries, every hash fits`);
        return 0;
      }
      around.out(problems.join('\n'));
      return 1;
    } finally {
      store.close();
    }
  },
};
