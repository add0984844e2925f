import {
  type Recommendation,
  recommendation,
  studySpec,
  surfaceReports,
  usualProbability,
} from '@strandwise/core';
import { inLetters } from '../terminal/ascii.ts';
import { painted } from '../terminal/line.ts';
import { themeOf, themeWish } from '../theme.ts';
import { fitText } from '../wording/fit-text.ts';
import { cellLines, nextLines } from '../wording/next-lines.ts';
import { recommendationText } from '../wording/recommendation-text.ts';
import type { Command, ExitCode, Given, Surroundings } from './command.ts';
import { exitOf } from './fit/exit-code.ts';
import { fitFiles } from './fit/fit-files.ts';
import { editStudyModels } from './fit/model-option.ts';
import { type Outlook, outlookOf } from './fit/outlook.ts';
import { type Analysis, analyst, priorsOf } from './fit/study-analysis.ts';
import { whoOption, withStudy } from './study-file.ts';
import { numberOption, textOption, UsageError } from './usage-error.ts';

export const fitCommand: Command = {
  name: 'fit',
  summary: 'read what matters, where the window is and how sure that is',
  usage:
    'fit STUDY [--asked P] [--response NAME --add TERM --drop TERM --model NAME] [--prior STUDY] [--propose] [--plain]   |   fit --spec S.json --runs R.csv [--units coded]',
  example: {
    line: 'strandwise fit px-31.strandwise --propose',
    says: 'fits every response, recommends set points, and records them as the proposed recipe.',
  },
  options: {
    spec: { type: 'string', value: 'FILE', says: 'fit data from elsewhere: the spec file' },
    runs: { type: 'string', value: 'FILE', says: 'with --spec: the runs as delimited text' },
    units: {
      type: 'string',
      value: 'NAME',
      says: 'of the factor columns: natural (default) or coded',
    },
    asked: {
      type: 'string',
      value: 'P',
      says: `chance of conforming the window must keep (default ${usualProbability})`,
    },
    ask: {
      type: 'string',
      multiple: true,
      value: 'QUESTION',
      says: 'with --spec: a difference of your own, "level=210, fan=50 less level=190"',
    },
    response: { type: 'string', value: 'NAME', says: 'the response whose model changes' },
    add: {
      type: 'string',
      multiple: true,
      value: 'TERM',
      says: 'take a term in, written as it is shown: "screw × fan", "screw x fan", "level²"',
    },
    drop: { type: 'string', multiple: true, value: 'TERM', says: 'leave a term out' },
    model: {
      type: 'string',
      value: 'NAME',
      says: 'start from main, interactions or quadratic, or from the best by AICc: best',
    },
    whole: {
      type: 'boolean',
      says: 'keep every term of the model, also those the data do not support',
    },
    prior: {
      type: 'string',
      value: 'STUDY',
      says: 'carry what an earlier study on the same line says of how much resets differ',
    },
    propose: { type: 'boolean', says: 'record the recommended set points as the proposed recipe' },
    plain: { type: 'boolean', says: 'text instead of screens, also on a terminal' },
    ascii: { type: 'boolean', says: 'plain letters only, no drawing characters' },
    json: { type: 'boolean', says: 'the fit as JSON' },
    ...whoOption,
  },
  run(given, around) {
    const specFile = textOption(given.options, 'spec');
    return specFile === undefined ? fitStudy(given, around) : fitFiles(specFile, given, around);
  },
};

function fitStudy(given: Given, around: Surroundings): Promise<ExitCode> {
  if (given.options['ask'] !== undefined)
    throw new UsageError(
      '--ask goes with --spec and --runs: questions are put to a table of runs.',
    );
  const wish = themeWish(around.env, around.isTerminal);
  const theme = themeOf({ ...wish, unicode: wish.unicode && !given.options['ascii'] });
  const asked = numberOption(given.options, 'asked') ?? usualProbability;
  if (!(asked > 0 && asked < 1))
    throw new UsageError(`--asked must lie between 0 and 1; got ${asked}.`);
  const priors = priorsOf(given, around);
  return withStudy<ExitCode>(given, around, async (journal) => {
    if (!journal.state().cells.some(({ status }) => status === 'done')) {
      around.out(
        'No cell has been measured yet, so there is nothing to fit. Next: strandwise walk',
      );
      return 1;
    }
    editStudyModels(journal, given, around, theme);
    const isMeasured = studySpec(journal.state()).responses.length > 0;
    if (isMeasured && hasScreens(given, around)) {
      const { showAnalysis } = await import('../screen/analyse/show.ts');
      await showAnalysis(journal, { asked, priors, theme });
      return 0;
    }
    const isWhole = given.options['whole'] === true;
    const plain = analyst(journal.state(), { priors, isWhole }).analysis(journal.state(), {});
    const surfaces = surfaceReports(plain.predictor);
    const analysis = { ...plain, result: { ...plain.result, surfaces } };
    const found = recommendation(analysis.predictor, asked);
    const outlook = outlookOf(analysis.predictor, found, asked);
    if (given.options['json'])
      around.out(
        JSON.stringify({ ...analysis.result, recommendation: found, ...outlook }, null, 2),
      );
    else tell(analysis, found, outlook, around, theme);
    if (given.options['propose'] && found.kind === 'found') {
      journal.record({
        kind: 'recipe proposed',
        setPoints: found.setPoints,
        natural: { ...found.natural },
        says: [`chance of conforming ${found.probability?.toFixed(2) ?? 'not known'}`],
      });
      around.tell('Recorded as the proposed recipe.');
    }
    return found.kind === 'found' ? exitOf(analysis.result) : 1;
  });
}

/** Screens ask at a terminal; everything that wants data or a record goes without. */
const hasScreens = ({ options }: Given, { isTerminal }: Surroundings): boolean =>
  isTerminal &&
  process.stdin.isTTY === true &&
  !options['json'] &&
  !options['plain'] &&
  !options['propose'] &&
  !options['whole'];

function tell(
  { result, state, predictor }: Analysis,
  found: Recommendation,
  { influences, next }: Outlook,
  around: Surroundings,
  theme: ReturnType<typeof themeOf>,
): void {
  const { factors, responses } = state.opened;
  const columns = Math.max(60, Math.min(110, around.columns));
  around.out(fitText(result, factors, theme, { surfaces: predictor.surfaces, responses, columns }));
  around.out(`\n${theme.paint('strong', 'RECOMMENDED')}\n`);
  around.out(recommendationText(found, state, theme, columns));
  const outlook = [...nextLines(next, columns), ...cellLines(influences, columns)];
  if (outlook.length === 0) return;
  around.out(`\n${theme.paint('strong', 'NEXT')}\n`);
  around.out(painted(inLetters(outlook, theme), theme));
}
