import { writeFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { openJournal } from '@strandwise/core';
import { runSheet } from '@strandwise/report';
import { sqliteStudyStore } from '@strandwise/store';
import { sheetInput, sheetText } from '../wording/sheet-text.ts';
import type { Command, ExitCode } from './command.ts';
import { studyPath } from './study-file.ts';
import { textOption, UsageError } from './usage-error.ts';

export const sheetCommand: Command = {
  name: 'sheet',
  summary: 'the run sheet on paper: cells in order, with blanks to fill by hand',
  usage: 'sheet STUDY [--html] [--out FILE] [--all]',
  example: {
    line: 'strandwise sheet px-31.strandwise --html --out px-31-sheet.html',
    says: 'writes one page to print on A4 landscape; without --html it is plain text.',
  },
  options: {
    html: { type: 'boolean', says: 'a page to print instead of plain text' },
    out: { type: 'string', value: 'FILE', says: 'write there instead of standard output' },
    all: { type: 'boolean', says: 'every cell of the plan, also those that are done' },
  },
  run(given, around): ExitCode {
    const store = sqliteStudyStore(studyPath(given, around), { mode: 'read' });
    try {
      const state = openJournal(store, around.clock, 'reader').state();
      if (state.plan === null)
        throw new UsageError(
          'there is no plan to print. Make one with "strandwise plan … --adopt".',
        );
      const sheet = sheetInput(state, { isWhole: given.options['all'] === true });
      if (sheet.cells.length === 0)
        throw new UsageError('no cell is left to do; --all prints the whole plan.');
      const text = given.options['html'] ? runSheet(sheet) : sheetText(sheet);
      const file = textOption(given.options, 'out');
      if (file === undefined) around.out(text);
      else {
        writeFileSync(resolve(around.cwd, file), text);
        around.tell(`Written to ${file}: ${sheet.cells.length} cells.`);
      }
    } finally {
      store.close();
    }
    return 0;
  },
};
