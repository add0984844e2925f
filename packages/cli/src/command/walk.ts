import { basename, resolve } from 'node:path';
import { createElement } from 'react';
import { readBytes } from '../input/read-document.ts';
import { attachLog } from '../reading/measured-log.ts';
import { themeOf, themeWish } from '../theme.ts';
import type { Command, ExitCode } from './command.ts';
import { whoOption, withStudy } from './study-file.ts';
import { UsageError } from './usage-error.ts';

export const walkCommand: Command = {
  name: 'walk',
  summary: 'the operator’s screen: cell by cell, set, hold, measure, count',
  usage: 'walk STUDY [--who NAME]',
  example: {
    line: 'strandwise walk px-31.strandwise --who "Robin"',
    says: 'resumes exactly where the last walk stopped; every entry is on disk before the screen moves.',
  },
  options: {
    ascii: { type: 'boolean', says: 'plain letters only, no drawing characters' },
    ...whoOption,
  },
  run(given, around) {
    return withStudy<ExitCode>(given, around, async (journal): Promise<ExitCode> => {
      if (journal.state().plan === null)
        throw new UsageError(
          'there is no plan to walk. Make one with "strandwise plan … --adopt".',
        );
      if (!process.stdin.isTTY || !around.isTerminal)
        throw new UsageError('the walk needs a terminal to show and ask at.');
      const wish = themeWish(around.env, around.isTerminal);
      const theme = themeOf({ ...wish, unicode: wish.unicode && !given.options['ascii'] });
      const { fullScreen } = await import('../screen/full-screen.ts');
      const { WalkView } = await import('../screen/walk/view.tsx');
      await fullScreen(
        createElement(WalkView, {
          journal,
          clock: around.clock,
          theme,
          attachLog: (path: string, cell: number) => {
            const file = resolve(around.cwd, path);
            return attachLog(journal, basename(file), readBytes(file), cell);
          },
        }),
      );
      return 0;
    });
  },
};
