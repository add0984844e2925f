import { resolve } from 'node:path';
import {
  type Library,
  type LibraryEntry,
  type LibraryKind,
  libraryKinds,
  openJournal,
  RecipeCard,
  type StudyState,
} from '@strandwise/core';
import { sqliteStudyStore } from '@strandwise/store';
import { unknownName } from '../input/file-error.ts';
import { readDocument } from '../input/read-document.ts';
import { withLibrary } from '../library/lab-library.ts';
import type { Command, ExitCode, Given, Surroundings } from './command.ts';
import { signerOf, studyEnding, whoOption } from './study-file.ts';
import { UsageError, wholeOption } from './usage-error.ts';

const kinds = Object.keys(libraryKinds) as LibraryKind[];

export const libraryCommand: Command = {
  name: 'library',
  summary: 'grades, lines and recipes that the lab keeps beside its studies',
  usage:
    'library [list]   |   library keep STUDY   |   library keep KIND FILE   |   library show KIND NAME [--revision N]',
  example: {
    line: 'strandwise library keep px-31.strandwise',
    says: 'keeps the study’s grade, line and released recipe, each as its next revision; "library" alone lists what there is.',
  },
  options: {
    revision: { type: 'string', value: 'N', says: 'with show: an earlier revision' },
    json: { type: 'boolean', says: 'as JSON' },
    ...whoOption,
  },
  run(given, around) {
    const [verb = 'list', ...rest] = given.rest;
    return withLibrary(around.env, (library): ExitCode => {
      switch (verb) {
        case 'list':
          return listed(library, given, around);
        case 'keep':
          return kept(library, rest, given, around);
        case 'show':
          return shown(library, rest, given, around);
        default:
          throw unknownName('what to do with the library', verb, ['list', 'keep', 'show']);
      }
    });
  },
};

function listed(library: Library, { options }: Given, around: Surroundings): ExitCode {
  const all = kinds.flatMap((kind) => library.entries(kind) as LibraryEntry[]);
  if (options['json']) {
    around.out(
      JSON.stringify(
        all.map(({ kind, name, revision, at, who }) => ({ kind, name, revision, at, who })),
        null,
        2,
      ),
    );
    return 0;
  }
  if (all.length === 0)
    around.out(`The library is empty. "strandwise library keep STUDY" fills it.`);
  for (const { kind, name, revision, at, who } of all)
    around.out(
      `${kind.padEnd(7)} ${name.padEnd(28)} revision ${revision}, ${at.slice(0, 10)} by ${who}`,
    );
  around.out(`file  ${library.place}`);
  return 0;
}

function kept(
  library: Library,
  [first, file]: readonly string[],
  given: Given,
  around: Surroundings,
): ExitCode {
  if (first === undefined)
    throw new UsageError(
      'name a study to keep from, or a kind and a file: "library keep grade px-31.yaml".',
    );
  const by = { at: new Date(around.clock.now()).toISOString(), who: signerOf(given, around) };
  const entries: LibraryEntry[] = [];
  if (file === undefined) {
    const { opened, released } = readStudy(resolve(around.cwd, first), around);
    entries.push(library.keep('grade', opened.grade.name, opened.grade, by));
    entries.push(library.keep('line', opened.line.name, opened.line, by));
    if (released) {
      const card = RecipeCard.parse(released.card);
      entries.push(library.keep('recipe', `${card.grade.name} on ${card.line}`, card, by));
    }
  } else {
    const kind = kindOf(first);
    const value = readDocument(resolve(around.cwd, file), libraryKinds[kind]);
    const name = 'study' in value ? `${value.grade.name} on ${value.line}` : value.name;
    entries.push(library.keep(kind, name, value, by) as LibraryEntry);
  }
  for (const { kind, name, revision } of entries)
    around.out(`${kind} "${name}", revision ${revision}`);
  return 0;
}

function readStudy(path: string, around: Surroundings): StudyState {
  if (!path.endsWith(studyEnding))
    throw new UsageError(`name a study file (*${studyEnding}) or a kind and a file.`);
  const store = sqliteStudyStore(path, { mode: 'read' });
  try {
    return openJournal(store, around.clock, 'reader').state();
  } finally {
    store.close();
  }
}

function kindOf(text: string): LibraryKind {
  const kind = kinds.find((one) => one === text || `${one}s` === text);
  if (kind) return kind;
  throw unknownName('the kind', text, kinds);
}

function shown(
  library: Library,
  [kindText, name]: readonly string[],
  given: Given,
  around: Surroundings,
): ExitCode {
  if (kindText === undefined || name === undefined)
    throw new UsageError('name the kind and the record: "library show grade PX-31".');
  const kind = kindOf(kindText);
  const revision = wholeOption(given.options, 'revision');
  const entry = library.entry(kind, name, revision);
  if (!entry) {
    if (library.entry(kind, name))
      throw new UsageError(
        `there is no revision ${revision} of ${kind} "${name}"; the latest is ${library.entry(kind, name)!.revision}.`,
      );
    throw unknownName(
      `the ${kind}`,
      name,
      (library.entries(kind) as LibraryEntry[]).map((one) => one.name),
    );
  }
  around.out(JSON.stringify(given.options['json'] ? entry : entry.value, null, 2));
  return 0;
}
