import { basename, resolve } from 'node:path';
import { duration, type Journal, openJournal } from '@strandwise/core';
import { LineFormat } from '@strandwise/gauge';
import { sqliteStudyStore } from '@strandwise/store';
import { createElement } from 'react';
import { readBytes } from '../input/read-document.ts';
import { type GaugeChoice, gaugeChoice, gaugePlace } from '../reading/gauge-choice.ts';
import { gaugeSource, linesOnly } from '../reading/gauge-source.ts';
import { lastKnownMs } from '../reading/live-recorder.ts';
import { attachLog } from '../reading/measured-log.ts';
import { type SteadyClock, steadyClock } from '../reading/steady-clock.ts';
import { trainer } from '../reading/trainer.ts';
import { type Claimed, claimWalk } from '../screen/walk/claim.ts';
import type { WalkSession, WalkSessionOf } from '../screen/walk/session.ts';
import { type Theme, themeOf, themeWish } from '../theme.ts';
import type { Command, ExitCode, Given, Surroundings } from './command.ts';
import { signerOf, studyPath, whoOption } from './study-file.ts';
import { numberOption, textOption, UsageError } from './usage-error.ts';

export const walkCommand: Command = {
  name: 'walk',
  summary: 'the operator’s screen: cell by cell, set, hold, measure, count',
  usage: 'walk STUDY [--who NAME] [--gauge SOURCE] [--watch]',
  example: {
    line: 'strandwise walk px-31.strandwise --who "Robin" --gauge serial:/dev/ttyUSB0@9600',
    says: 'resumes exactly where the last walk stopped; every entry is on disk before the screen moves.',
  },
  options: {
    gauge: {
      type: 'string',
      value: 'SOURCE',
      says: 'live readings: file:PATH, tcp:HOST:PORT, serial:DEVICE@BAUD, or virtual to train',
    },
    speed: {
      type: 'string',
      value: 'N',
      says: 'with --gauge virtual: seconds of the line a second (default 60)',
    },
    watch: { type: 'boolean', says: 'look on while somebody else walks; nothing can be changed' },
    ascii: { type: 'boolean', says: 'plain letters only, no drawing characters' },
    ...whoOption,
  },
  async run(given, around): Promise<ExitCode> {
    const isWatching = given.options['watch'] === true;
    const text = textOption(given.options, 'gauge');
    const choice = text === undefined || isWatching ? null : gaugeChoice(text);
    const store = sqliteStudyStore(studyPath(given, around), {
      mode: isWatching ? 'read' : 'open',
    });
    try {
      const opening = openJournal(store, around.clock, signerOf(given, around));
      if (opening.state().plan === null)
        throw new UsageError(
          'there is no plan to walk. Make one with "strandwise plan … --adopt".',
        );
      if (!process.stdin.isTTY || !around.isTerminal)
        throw new UsageError('the walk needs a terminal to show and ask at.');
      const wish = themeWish(around.env, around.isTerminal);
      const theme = themeOf({ ...wish, unicode: wish.unicode && !given.options['ascii'] });
      if (isWatching) {
        const { watchSession } = await import('../screen/walk/watch.ts');
        return await shown(watchSession(opening), theme);
      }
      const claimed = claimWalk(store.drafts, { who: opening.signer() });
      if (claimed.kind === 'taken') throw takenBy(claimed);
      try {
        return await walked({ opening, claim: claimed.claim, choice, given, around, theme });
      } finally {
        claimed.claim.release();
      }
    } finally {
      store.close();
    }
  },
};

function takenBy({ by }: Extract<Claimed, { kind: 'taken' }>): UsageError {
  const since = duration(Math.max(0, (Date.now() - by.sinceMs) / 1000));
  return new UsageError(
    `${by.who} has been walking this study for ${since} (on ${by.host}). Add --watch to look on, or take over at that screen with w. Nothing was changed.`,
  );
}

interface Walk {
  readonly opening: Journal;
  readonly claim: NonNullable<WalkSessionOf['claim']>;
  readonly choice: GaugeChoice | null;
  readonly given: Given;
  readonly around: Surroundings;
  readonly theme: Theme;
}

async function walked({ opening, claim, choice, given, around, theme }: Walk): Promise<ExitCode> {
  const { walkSession } = await import('../screen/walk/session.ts');
  const { store } = opening;
  const state = opening.state();
  const lastMs = lastKnownMs(opening);
  const real = steadyClock(around.clock, () => performance.now(), lastMs);
  const learning =
    choice?.kind === 'virtual'
      ? trainer({
          study: state,
          seed: state.opened.seed,
          speed: numberOption(given.options, 'speed') ?? 60,
          startMs: lastMs,
        })
      : null;
  const clock: SteadyClock = learning
    ? steadyClock(learning.clock, learning.ticking, lastMs)
    : real;
  const journal = openJournal(store, clock, opening.signer());
  const gauge = learning ?? (await describedGauge(journal, choice, { around, theme }));
  if (gauge === 'left') return 0;
  if (learning) keepFormat(journal, 'virtual line', learning.format, []);
  const session = walkSession({
    journal,
    clock,
    claim,
    ...(gauge ? { gauge } : {}),
    ...(learning ? { trainer: learning } : {}),
    attachLog: (path, cell) => {
      const file = resolve(around.cwd, path);
      return attachLog(journal, basename(file), readBytes(file), cell);
    },
    bell: () => void process.stdout.write('\u0007'),
  });
  return shown(session, theme);
}

async function shown(session: WalkSession, theme: Theme): Promise<ExitCode> {
  const { fullScreen } = await import('../screen/full-screen.ts');
  const { WalkView } = await import('../screen/walk/view.tsx');
  try {
    await fullScreen(createElement(WalkView, { session, theme }));
    return 0;
  } finally {
    await session.close();
  }
}

/** The gauge with its format: as the study knows it, else as the person in front of it says. */
async function describedGauge(
  journal: Journal,
  choice: GaugeChoice | null,
  { around, theme }: Pick<Walk, 'around' | 'theme'>,
): Promise<WalkSessionOf['gauge'] | 'left' | null> {
  if (choice === null || choice.kind === 'virtual') return null;
  const { product } = journal.state().opened;
  const place = gaugePlace(choice, around.cwd);
  const known = LineFormat.safeParse(journal.state().gauges[place]?.format);
  const at = { product, cwd: around.cwd };
  if (known.success)
    return { source: gaugeSource(choice, { ...at, format: known.data }), format: known.data };
  const { askedFormat } = await import('../screen/gauge/ask.tsx');
  const asked = await askedFormat(gaugeSource(choice, { ...at, format: linesOnly }), theme);
  if (asked === null) return 'left';
  keepFormat(journal, place, asked.format, asked.sample);
  return { source: gaugeSource(choice, { ...at, format: asked.format }), format: asked.format };
}

function keepFormat(
  journal: Journal,
  place: string,
  format: LineFormat,
  sample: readonly string[],
): void {
  const known = journal.state().gauges[place];
  const plain = JSON.parse(JSON.stringify(format)) as Record<string, never>;
  if (JSON.stringify(known?.format) === JSON.stringify(plain)) return;
  journal.record({ kind: 'gauge described', place, format: plain, sample: [...sample] });
}
