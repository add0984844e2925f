import { resolve } from 'node:path';
import {
  filledGrade,
  type LibraryKind,
  type LibraryValue,
  openedFrom,
  StudyDescription,
} from '@strandwise/core';
import { sqliteStudyStore } from '@strandwise/store';
import { unknownName } from '../input/file-error.ts';
import { readDocument } from '../input/read-document.ts';
import { withLibrary } from '../library/lab-library.ts';
import { askedDescription } from '../screen/new/ask.tsx';
import type { FormBase } from '../screen/new/filled-description.ts';
import { themeOf, themeWish } from '../theme.ts';
import { gradeCheckLines } from '../wording/ready-text.ts';
import type { Command, ExitCode, Given, Surroundings } from './command.ts';
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
    grade: {
      type: 'string',
      value: 'NAME',
      says: 'take the grade from the library',
    },
    line: {
      type: 'string',
      value: 'NAME',
      says: 'take the line from the library',
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
        ? await askedDescription(around, libraryParts(given, around))
        : readDescription(resolve(around.cwd, from), given, around);
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
      const checks = gradeCheckLines(filledGrade(description), opened.grade.family, {
        theme,
        columns: around.columns,
      });
      if (checks.length > 0) around.out(checks.join('\n'));
    } finally {
      store.close();
    }
    return 0;
  },
};

const withoutParts = StudyDescription.partial({ grade: true, line: true });

/** The description, with grade and line from the library where they are named. */
function readDescription(file: string, given: Given, around: Surroundings): StudyDescription {
  const lent = libraryParts(given, around);
  if (lent.grade === undefined && lent.line === undefined)
    return readDocument(file, StudyDescription);
  const found = { ...readDocument(file, withoutParts), ...lent };
  for (const part of ['grade', 'line'] as const)
    if (found[part] === undefined)
      throw new UsageError(
        `the description has no ${part}; write it there or name one of the library with --${part}.`,
      );
  return StudyDescription.parse(found);
}

/** Grade and line of the library, where the options name them. */
function libraryParts({ options }: Given, around: Surroundings): FormBase {
  const grade = textOption(options, 'grade');
  const line = textOption(options, 'line');
  return {
    ...(grade === undefined ? {} : { grade: fromLibrary('grade', grade, around) }),
    ...(line === undefined ? {} : { line: fromLibrary('line', line, around) }),
  };
}

function fromLibrary<K extends LibraryKind>(
  kind: K,
  name: string,
  around: Surroundings,
): LibraryValue<K> {
  return withLibrary(around.env, (library) => {
    const entry = library.entry(kind, name);
    if (entry) return entry.value;
    throw unknownName(
      `--${kind}`,
      name,
      library.entries(kind).map((one) => one.name),
    );
  });
}
