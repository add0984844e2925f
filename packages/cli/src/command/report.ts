import { dirname, join, resolve } from 'node:path';
import { type Journal, openJournal } from '@strandwise/core';
import { figureSvg, studyPage, tableCsv, tableData } from '@strandwise/report';
import { sqliteStudyStore } from '@strandwise/store';
import { rasteriser } from '../output/picture.ts';
import { madeFolder, refuseExisting, writeWhole } from '../output/written-file.ts';
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
    if (out !== null && !isReplacing) refuseExisting(out);
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
export const besidePath = (study: string): string =>
  `${study.endsWith(studyEnding) ? study.slice(0, -studyEnding.length) : study}.html`;

/** A journal's study, ready for its page. */
export const studyOf = (
  journal: Journal,
  { asked, isWhole }: { readonly asked?: number | undefined; readonly isWhole?: boolean } = {},
): PagedStudy =>
  pagedStudy({
    state: journal.state(),
    events: journal.events(),
    version: __STRANDWISE_VERSION__,
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

async function written(
  study: PagedStudy,
  { given, around, out, isReplacing, tell }: Writing,
): Promise<WrittenFiles> {
  const input = studyPageInput(study, panelScript());
  const page = studyPage(input);
  if (out === null) around.out(page);
  else writeWhole(out, page, { isReplacing });
  const tables = folderOf('tables', given, around);
  const figures = folderOf('figures', given, around);
  const write = (folder: string, name: string, content: string | Uint8Array): string => {
    const path = join(folder, name);
    writeWhole(path, content, { isReplacing });
    return path;
  };
  const tableFiles =
    tables === null
      ? []
      : pageTables(study, input).flatMap(({ name, content }) => [
          write(tables, `${name}.csv`, `\ufeff${tableCsv(content)}`),
          write(tables, `${name}.json`, `${JSON.stringify(tableData(content), null, 2)}\n`),
        ]);
  const notes: string[] = [];
  const figureFiles: string[] = [];
  if (figures !== null) {
    tell('Drawing figures');
    const png = await rasteriser();
    if (!png)
      notes.push(
        'No PNG: the optional package @resvg/resvg-js is not installed here. The SVG files hold the same figures.',
      );
    for (const { name, content } of pageFigures(input)) {
      const svg = figureSvg(content, 'figure');
      figureFiles.push(write(figures, `${name}.svg`, svg));
      if (png) figureFiles.push(write(figures, `${name}.png`, png(svg)));
    }
  }
  return { page: out, tables: tableFiles, figures: figureFiles, notes };
}

function folderOf(name: 'tables' | 'figures', given: Given, { cwd }: Surroundings): string | null {
  const folder = textOption(given.options, name);
  return folder === undefined ? null : madeFolder(resolve(cwd, folder));
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
