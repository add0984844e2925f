import { mkdirSync, mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import {
  type FitResult,
  type Journal,
  openedFrom,
  openJournal,
  type PlanRequest,
  type StudyState,
} from '@strandwise/core';
import { sqliteStudyStore } from '@strandwise/store';
import {
  type DemoPart,
  demoDescription,
  demonstratedJob,
} from '../demonstration/demonstrated-job.ts';
import { truthBeside, truthText } from '../demonstration/truth-beside.ts';
import { lineClock } from '../rehearsal/rehearsed-walk.ts';
import { bar } from '../terminal/bar.ts';
import { line, painted } from '../terminal/line.ts';
import { type Theme, themeOf, themeWish } from '../theme.ts';
import { fitText, headOf, mattersLines } from '../wording/fit-text.ts';
import { recommendationText } from '../wording/recommendation-text.ts';
import type { Command, ExitCode, Given, Surroundings } from './command.ts';
import { requestFromStudy } from './plan-request.ts';
import { pageBeside } from './report.ts';
import { textOption, wholeOption } from './usage-error.ts';

export const demoCommand: Command = {
  name: 'demo',
  summary: 'the whole job on a virtual line with an invented grade, in accelerated time',
  usage: 'demo [--folder DIR] [--seed N]',
  example: {
    line: 'strandwise demo --seed 7',
    says: 'plans, walks, fits and recommends, says the virtual line’s true optimum beside it, and names the files.',
  },
  options: {
    folder: {
      type: 'string',
      value: 'DIR',
      says: 'where to write the study and the page (default: a new temporary folder)',
    },
    seed: { type: 'string', value: 'N', says: 'seed of plan and line (default 1)' },
    family: { type: 'string', value: 'NAME', says: 'another design family than the composite' },
    model: { type: 'string', value: 'NAME', says: 'main, interactions or quadratic' },
    set: {
      type: 'string',
      multiple: true,
      value: 'OPTION=VALUE',
      says: "one of the family's options",
    },
    whole: { type: 'boolean', says: 'keep every term of the model' },
    full: {
      type: 'boolean',
      says: 'every term, check and remark of the fits, not only what matters',
    },
    brief: { type: 'boolean', says: 'leave the fits out' },
  },
  async run(given, around): Promise<ExitCode> {
    const seed = wholeOption(given.options, 'seed') ?? 1;
    const path = join(demoFolder(given, around), `px-31-seed-${seed}.strandwise`);
    const clock = lineClock(Date.UTC(2026, 0, 5, 7));
    const store = sqliteStudyStore(path, { mode: 'create' });
    try {
      const at = new Date(clock.now()).toISOString();
      store.append([{ at, who: 'scientist', what: openedFrom(demoDescription(seed)) }], 0);
      const journal = openJournal(store, clock, 'scientist');
      const theme = themeOf(themeWish(around.env, around.isTerminal));
      const tell = teller(given, around, theme);
      around.out('Everything here is invented: the lab, the line, the grade PX-31 and its data.');
      const job = await demonstratedJob({
        journal,
        clock,
        seed,
        request: demoRequest(journal, given),
        whole: given.options['whole'] === true,
        onPart: (part) => tell(part, journal.state()),
        onCell: progressOf(around, theme),
      });
      around.out(heading('THE VIRTUAL LINE’S TRUE OPTIMUM', theme));
      around.out(truthText(truthBeside(journal.state(), job)));
      around.out(heading('FILES', theme));
      around.out(`study  ${path}\npage   ${pageBeside(journal, path)}`);
    } finally {
      store.close();
    }
    return 0;
  },
};

function demoFolder(given: Given, around: Surroundings): string {
  const wanted = textOption(given.options, 'folder');
  if (wanted === undefined) return mkdtempSync(join(tmpdir(), 'strandwise-demo-'));
  const folder = resolve(around.cwd, wanted);
  mkdirSync(folder, { recursive: true });
  return folder;
}

/** The composite whose axes end at the ranges' limits, every cell set anew: each effect rests on all resets. */
function demoRequest(journal: Journal, given: Given): PlanRequest {
  if (given.options['family'] !== undefined) return requestFromStudy(journal.state(), given);
  const options = { ...given.options, family: 'central composite', set: ['alpha=face-centred'] };
  return requestFromStudy(journal.state(), { ...given, options });
}

const heading = (text: string, theme: Theme): string => `\n${theme.paint('strong', text)}\n`;

/** Tells each part of the job as soon as it is done. */
function teller(given: Given, { out, columns }: Surroundings, theme: Theme) {
  const look = { theme, columns: Math.max(60, Math.min(110, columns)) };
  return (part: DemoPart, state: StudyState): void => {
    for (const text of partTexts(part, state, given, look)) out(text);
  };
}

interface Look {
  readonly theme: Theme;
  readonly columns: number;
}

function partTexts(part: DemoPart, state: StudyState, given: Given, look: Look): string[] {
  const { theme, columns } = look;
  switch (part.kind) {
    case 'planned': {
      const { ordered, design } = part.plan;
      const cost = `${ordered.hours?.toFixed(1)} h, ${Math.round(ordered.grams ?? 0)} g of resin`;
      const plan = `${design.family}, ${ordered.runs.length} cells, ${cost}`;
      return [heading('PLAN', theme), plan, heading('WALK', theme)];
    }
    case 'walked':
      return [walkedWords(part.state)];
    case 'fitted':
      return given.options['brief']
        ? []
        : [heading('FIT', theme), fittedWords(part.fits, state, given, look)];
    case 'recommended':
      return [heading('RECOMMENDED', theme), recommendationText(part.found, state, theme, columns)];
  }
}

/** What matters for each response that decides; all of every fit when asked. */
function fittedWords(fits: FitResult, { opened }: StudyState, given: Given, look: Look): string {
  const { factors, responses } = opened;
  const { theme, columns } = look;
  if (given.options['full']) return fitText(fits, factors, theme, { responses, columns });
  return fits.responses
    .filter(({ name }) => responses.some((response) => response.name === name && response.goal))
    .map((fit) =>
      painted(
        [line(headOf(fit), 'strong'), ...mattersLines(fit, factors, theme, { responses, columns })],
        theme,
      ),
    )
    .join('\n\n');
}

function walkedWords({ cells }: StudyState): string {
  const failed = cells.filter(({ status }) => status === 'failed');
  const ways = failed.map(({ cell, failures }) => `cell ${cell} ${failures.at(-1)?.direction}`);
  const measured = `${cells.length - failed.length} cells measured, ${failed.length} failed`;
  return ways.length === 0 ? measured : `${measured}: ${ways.join(', ')}`;
}

/** A bar that moves on a terminal; a line every ten cells elsewhere. */
function progressOf({ isTerminal, tell }: Surroundings, theme: Theme) {
  return (state: StudyState): void => {
    const of = state.cells.length;
    const done = of - state.queue.length;
    const text = `  ${bar(done / of, 40, theme)} cell ${done} of ${of}`;
    if (isTerminal) process.stderr.write(`\r${text}${done === of ? '\n' : ''}`);
    else if (done % 10 === 0 || done === of) tell(text);
  };
}
