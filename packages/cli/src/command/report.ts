import { dirname, join, resolve } from 'node:path';
import { type Journal, openJournal } from '@strandwise/core';
import { figureSvg, type StudyPageInput, studyPage, tableCsv, tableData } from '@strandwise/report';
import { sqliteStudyStore } from '@strandwise/store';
import { type Rasteriser, rasteriser } from '../output/picture.ts';
import { madeFolder, refuseExisting, requireFolder, writeWhole } from '../output/written-file.ts';
import { pageFigures, pageTables } from '../page/page-export.ts';
import { type PagedStudy, pagedStudy } from '../page/paged-study.ts';
import { panelScript } from '../page/panel-script.ts';
import { studyPageInput } from '../page/study-page-input.ts';
import type { Command, ExitCode, Given, Surroundings } from './command.ts';
import { studyEnding, studyPath } from './study-file.ts';
import { numberOption, textOption, UsageError } from './usage-error.ts';

/** From this long on, the person is told what is going on. */
const patienceMs = 1000;

export const reportCommand: Command = {
  name: 'report',
  summary: 'write a study as one page to read, send or print, with its figures and tables',
  usage: 'report STUDY [--out FILE.html] [--tables DIR] [--figures DIR] [--replace]',
  example: {
    line: 'strandwise report px-31.strandwise --figures figures --tables tables',
    says: 'writes px-31.html beside the study, and every figure (SVG, PNG) and table (CSV, JSON) in folders.',
  },
  options: {
    out: {
      type: 'string',
      value: 'FILE',
      says: 'the page (default: beside the study, ending .html); "-" for standard output',
    },
    tables: { type: 'string', value: 'DIR', says: 'also write every table as CSV and JSON' },
    figures: { type: 'string', value: 'DIR', says: 'also write every figure as SVG and PNG' },
    replace: {
      type: 'boolean',
      says: 'replace files that are there; without it nothing is overwritten',
    },
    asked: {
      type: 'string',
      value: 'P',
      says: 'chance of conforming the window must keep (default 0.9)',
    },
    whole: { type: 'boolean', says: 'keep every term of the models' },
    json: { type: 'boolean', says: 'the names of the files written, as JSON' },
  },
  async run(given, around): Promise<ExitCode> {
    const path = studyPath(given, around);
    const asked = numberOption(given.options, 'asked');
    if (asked !== undefined && !(asked > 0 && asked < 1))
      throw new UsageError(`--asked must lie between 0 and 1; got ${asked}.`);
    const isReplacing = given.options['replace'] === true;
    const out = outPath(path, given, around);
    if (out !== null) {
      requireFolder(out);
      if (!isReplacing) refuseExisting(out);
    }
    const store = sqliteStudyStore(path, { mode: 'read' });
    try {
      const journal = openJournal(store, around.clock, 'reader');
      const tell = impatient(around);
      tell('Fitting');
      const study = studyOf(journal, { asked, isWhole: given.options['whole'] === true });
      tell('Drawing the page');
      const files = await written(study, { given, around, out, isReplacing, tell });
      if (given.options['json']) around.out(JSON.stringify(files, null, 2));
      else for (const text of toldFiles(files)) around.tell(text);
    } finally {
      store.close();
    }
    return 0;
  },
};

interface WrittenFiles {
  readonly page: string | null;
  readonly tables: readonly string[];
  readonly figures: readonly string[];
  readonly notes: readonly string[];
}

/** Progress on standard error once a person has waited for a second; at once for what surely takes longer. */
function impatient({ clock, tell }: Surroundings): (says: string) => void {
  const start = clock.now();
  let last = '';
  return (says) => {
    if (last !== '' && clock.now() - start > patienceMs) tell(`${says} …`);
    last = says;
  };
}

/** Where the page goes; null for standard output. */
function outPath(study: string, given: Given, { cwd }: Surroundings): string | null {
  const asked = textOption(given.options, 'out');
  if (asked === '-') return null;
  return asked === undefined ? besidePath(study) : resolve(cwd, asked);
}

/** The page of a study stands beside it under its name. */
const besidePath = (study: string): string =>
  `${study.endsWith(studyEnding) ? study.slice(0, -studyEnding.length) : study}.html`;

/** A journal's study, ready for its page. */
const studyOf = (
  journal: Journal,
  { asked, isWhole }: { readonly asked?: number | undefined; readonly isWhole?: boolean } = {},
): PagedStudy =>
  pagedStudy({
    state: journal.state(),
    events: journal.events(),
    version: __STRANDWISE_VERSION__,
    raw: (sha256) => journal.store.raw(sha256),
    ...(asked === undefined ? {} : { asked }),
    ...(isWhole === undefined ? {} : { isWhole }),
  });

/** Writes a study's page beside it, over an older one, and returns where it is. */
export function pageBeside(journal: Journal, studyFile: string): string {
  const path = besidePath(studyFile);
  const input = studyPageInput(studyOf(journal), panelScript());
  writeWhole(path, studyPage(input), { isReplacing: true });
  return path;
}

interface Writing {
  readonly given: Given;
  readonly around: Surroundings;
  readonly out: string | null;
  readonly isReplacing: boolean;
  readonly tell: (says: string) => void;
}

interface MadeFile {
  readonly kind: 'page' | 'tables' | 'figures';
  readonly path: string;
  readonly content: string | Uint8Array;
}

/** Makes everything first, then writes it: a file that may not be replaced stops all of them. */
async function written(study: PagedStudy, writing: Writing): Promise<WrittenFiles> {
  const { given, around, out, isReplacing, tell } = writing;
  const input = studyPageInput(study, panelScript());
  const page = studyPage(input);
  const tables = folderOf('tables', given, around);
  const figures = folderOf('figures', given, around);
  const made: MadeFile[] = [
    ...(out === null ? [] : [{ kind: 'page' as const, path: out, content: page }]),
    ...(tables === null ? [] : tableFiles(tables, study, input)),
  ];
  const notes: string[] = [];
  if (figures !== null) {
    tell('Drawing figures');
    const png = await rasteriser();
    if (!png) notes.push(noPictureWords);
    made.push(...figureFiles(figures, input, png));
  }
  if (!isReplacing) for (const { path } of made) refuseExisting(path);
  for (const folder of [tables, figures]) if (folder !== null) madeFolder(folder);
  for (const { path, content } of made) writeWhole(path, content, { isReplacing });
  if (out === null) around.out(page);
  const paths = (kind: MadeFile['kind']): string[] =>
    made.flatMap((file) => (file.kind === kind ? [file.path] : []));
  return { page: out, tables: paths('tables'), figures: paths('figures'), notes };
}

const noPictureWords =
  'No PNG: the optional package @resvg/resvg-js is not installed here. The SVG files hold the same figures.';

function tableFiles(folder: string, study: PagedStudy, input: StudyPageInput): MadeFile[] {
  return pageTables(study, input).flatMap(({ name, content }): MadeFile[] => [
    {
      kind: 'tables',
      path: join(folder, `${name}.csv`),
      content: `\ufeff${tableCsv(content)}`,
    },
    {
      kind: 'tables',
      path: join(folder, `${name}.json`),
      content: `${JSON.stringify(tableData(content), null, 2)}\n`,
    },
  ]);
}

function figureFiles(folder: string, input: StudyPageInput, png: Rasteriser | null): MadeFile[] {
  return pageFigures(input).flatMap(({ name, content }): MadeFile[] => {
    const svg = figureSvg(content, 'figure');
    const file = (ending: string, bytes: string | Uint8Array): MadeFile => ({
      kind: 'figures',
      path: join(folder, `${name}.${ending}`),
      content: bytes,
    });
    return [file('svg', svg), ...(png ? [file('png', png(svg))] : [])];
  });
}

function folderOf(name: 'tables' | 'figures', given: Given, { cwd }: Surroundings): string | null {
  const folder = textOption(given.options, name);
  return folder === undefined ? null : resolve(cwd, folder);
}

function toldFiles({ page, tables, figures, notes }: WrittenFiles): string[] {
  const folder = (files: readonly string[]): string => dirname(files[0]!);
  return [
    ...(page === null ? [] : [`page     ${page}`]),
    ...(tables.length > 0 ? [`tables   ${tables.length} files in ${folder(tables)}`] : []),
    ...(figures.length > 0 ? [`figures  ${figures.length} files in ${folder(figures)}`] : []),
    ...notes,
  ];
}
