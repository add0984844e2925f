import { resolve } from 'node:path';
import { filledGrade, openedFrom, StudyDescription } from '@strandwise/core';
import { sqliteStudyStore } from '@strandwise/store';
import { readDocument } from '../input/read-document.ts';
import { askedDescription } from '../screen/new/ask.tsx';
import { themeOf, themeWish } from '../theme.ts';
import { gradeCheckLines } from '../wording/ready-text.ts';
import type { Command, ExitCode } from './command.ts';
import { studySummary } from './show.ts';
import { signerOf, studyEnding, whoOption } from './study-file.ts';
import { textOption, UsageError } from './usage-error.ts';

export const newCommand: Command = {
  name: 'new',
  summary: 'start a study: grade, line, target and factor ranges',
  usage: 'new FILE.strandwise [--from DESCRIPTION.yaml]',
  example: {
    line: 'strandwise new px-31.strandwise --from px-31.yaml',
    says: 'reads the description (JSON or YAML) and writes one study file; without --from it asks.',
  },
  options: {
    from: {
      type: 'string',
      value: 'FILE',
      says: 'description of the study, JSON or YAML; "schema study" shows its fields',
    },
    ...whoOption,
  },
  async run(given, around): Promise<ExitCode> {
    const name = given.rest[0];
    if (name === undefined)
      throw new UsageError('name the study file to write, for example "px-31.strandwise".');
    const path = resolve(around.cwd, name.includes('.') ? name : `${name}${studyEnding}`);
    const from = textOption(given.options, 'from');
    if (from === undefined && !process.stdin.isTTY) {
      throw new UsageError(
        'there is no terminal to ask at; give the description with --from FILE.',
      );
    }
    const description =
      from === undefined
        ? await askedDescription(around)
        : readDocument(resolve(around.cwd, from), StudyDescription);
    if (description === null) {
      around.tell('Left without writing a study.');
      return 0;
    }
    const opened = openedFrom(description);
    const store = sqliteStudyStore(path, { mode: 'create' });
    try {
      const at = new Date(around.clock.now()).toISOString();
      store.append([{ at, who: signerOf(given, around), what: opened }], 0);
      around.out(studySummary(store.events(), path));
      const theme = themeOf(themeWish(around.env, around.isTerminal));
      const checks = gradeCheckLines(filledGrade(description), opened.grade.family, theme);
      if (checks.length > 0) around.out(checks.join('\n'));
    } finally {
      store.close();
    }
    return 0;
  },
};
