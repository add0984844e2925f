import { resolve } from 'node:path';
import {
  type FitResult,
  fitTable,
  predictorOf,
  recommendation,
  reducedModels,
  Spec,
  studyFits,
  usualProbability,
} from '@strandwise/core';
import { readDocument } from '../input/read-document.ts';
import { readTable } from '../reading/read-table.ts';
import { themeOf, themeWish } from '../theme.ts';
import { fitText } from '../wording/fit-text.ts';
import { recommendationText } from '../wording/recommendation-text.ts';
import type { Command, ExitCode, Given, Surroundings } from './command.ts';
import { whoOption, withStudy } from './study-file.ts';
import { numberOption, textOption, UsageError } from './usage-error.ts';

export const fitCommand: Command = {
  name: 'fit',
  summary: 'read what matters, where the window is and how sure that is',
  usage: 'fit STUDY [--asked P] [--propose]   |   fit --spec S.json --runs R.csv [--units coded]',
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
    whole: {
      type: 'boolean',
      says: 'keep every term of the model, also those the data do not support',
    },
    propose: { type: 'boolean', says: 'record the recommended set points as the proposed recipe' },
    json: { type: 'boolean', says: 'the fit as JSON' },
    ...whoOption,
  },
  run(given, around) {
    const specFile = textOption(given.options, 'spec');
    return specFile === undefined ? fitStudy(given, around) : fitFiles(specFile, given, around);
  },
};

function fitFiles(specFile: string, given: Given, around: Surroundings): ExitCode {
  const runsFile = textOption(given.options, 'runs');
  if (runsFile === undefined) throw new UsageError('give the runs with --runs FILE beside --spec.');
  const units = textOption(given.options, 'units') ?? 'natural';
  if (units !== 'natural' && units !== 'coded')
    throw new UsageError(`--units must be natural or coded; got "${units}".`);
  const spec = readDocument(resolve(around.cwd, specFile), Spec);
  if (spec.responses.length === 0) throw new UsageError(`${specFile} names no response to fit.`);
  const result = fitTable({ spec, table: readTable(resolve(around.cwd, runsFile)), units });
  if (given.options['json']) around.out(JSON.stringify(result, null, 2));
  else around.out(fitText(result, spec.factors, themeOf(themeWish(around.env, around.isTerminal))));
  return exitOf(result);
}

/** The data say no when not one response could be fitted. */
const exitOf = ({ responses }: FitResult): ExitCode =>
  responses.some(({ terms }) => terms.length > 0) ? 0 : 1;

function fitStudy(given: Given, around: Surroundings): Promise<ExitCode> {
  const theme = themeOf(themeWish(around.env, around.isTerminal));
  const asked = numberOption(given.options, 'asked') ?? usualProbability;
  if (!(asked > 0 && asked < 1))
    throw new UsageError(`--asked must lie between 0 and 1; got ${asked}.`);
  return withStudy<ExitCode>(given, around, (journal) => {
    const state = journal.state();
    if (!state.cells.some(({ status }) => status === 'done')) {
      around.out(
        'No cell has been measured yet, so there is nothing to fit. Next: strandwise walk',
      );
      return 1;
    }
    const result = given.options['whole']
      ? studyFits(state)
      : studyFits(state, reducedModels(state));
    const found = recommendation(predictorOf(state, result), asked);
    if (given.options['json'])
      around.out(JSON.stringify({ ...result, recommendation: found }, null, 2));
    else {
      around.out(fitText(result, state.opened.factors, theme));
      around.out(`\n${theme.paint('strong', 'RECOMMENDED')}\n`);
      around.out(recommendationText(found, state, theme));
    }
    if (given.options['propose'] && found.kind === 'found') {
      journal.record({
        kind: 'recipe proposed',
        setPoints: found.setPoints,
        natural: { ...found.natural },
        says: [`chance of conforming ${found.probability?.toFixed(2) ?? 'not known'}`],
      });
      around.tell('Recorded as the proposed recipe.');
    }
    return found.kind === 'found' ? exitOf(result) : 1;
  });
}
