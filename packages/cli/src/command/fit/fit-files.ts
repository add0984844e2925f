import { resolve } from 'node:path';
import {
  betterEnd,
  type FitResult,
  fitTable,
  fittedRows,
  hasIntercept,
  modelChange,
  plotBelief,
  type ResponseSurface,
  type RunTable,
  responseSurface,
  Spec,
  type SurfaceReport,
  surfaceReport,
  withAlternatives,
} from '@strandwise/core';
import { readDocument } from '../../input/read-document.ts';
import { readDelimited } from '../../reading/delimited-text.ts';
import { runTable } from '../../reading/run-table.ts';
import { assertNatural, codedDoubt } from '../../reading/stated-units.ts';
import { painted } from '../../terminal/line.ts';
import { themeOf, themeWish } from '../../theme.ts';
import { changeLines } from '../../wording/change-lines.ts';
import { fitText } from '../../wording/fit-text.ts';
import type { ExitCode, Given, Surroundings } from '../command.ts';
import { textOption, UsageError } from '../usage-error.ts';
import { contrastOption } from './contrast-option.ts';
import { exitOf } from './exit-code.ts';
import { editedSpec, modelOption, responseAsked } from './model-option.ts';

type Units = 'natural' | 'coded';

/** Fits a table of runs under a spec file: data from elsewhere, no study. */
export function fitFiles(specFile: string, given: Given, around: Surroundings): ExitCode {
  const runsFile = textOption(given.options, 'runs');
  if (runsFile === undefined) throw new UsageError('give the runs with --runs FILE beside --spec.');
  const units = unitsOf(given);
  if (given.rest.length > 0)
    throw new UsageError(`a study and --spec cannot be fitted together; got "${given.rest[0]}".`);
  const read = readDocument(resolve(around.cwd, specFile), Spec);
  const contrasts = [...(read.contrasts ?? []), ...contrastOption(given)];
  const spec = contrasts.length > 0 ? { ...read, contrasts } : read;
  if (spec.responses.length === 0) throw new UsageError(`${specFile} names no response to fit.`);
  const text = readDelimited(resolve(around.cwd, runsFile));
  const { table, told, placed } = runTable(text, spec);
  for (const says of told) around.tell(`${runsFile}: ${says}.`);
  if (units === 'natural') assertNatural(text.file, spec, table);
  const doubt = units === 'coded' ? codedDoubt(spec, table) : null;
  if (doubt) around.tell(`${runsFile}: ${doubt}.`);
  const theme = themeOf(themeWish(around.env, around.isTerminal));
  const fitted = atItsPlace(placed, () =>
    editedFit(spec, table, units, given, (says) => around.tell(says), theme),
  );
  const surfaces = surfacesOf(fitted, spec, table, units);
  const result = { ...fitted, surfaces: surfaces.map((surface) => reportOf(surface, spec)) };
  if (given.options['json']) around.out(JSON.stringify(result, null, 2));
  else {
    const columns = Math.max(60, Math.min(110, around.columns));
    around.out(
      fitText(result, spec.factors, theme, { surfaces, responses: spec.responses, columns }),
    );
  }
  return exitOf(result);
}

/** Lets an error about a row say where it stands in the file. */
function atItsPlace<T>(placed: (error: unknown) => unknown, act: () => T): T {
  try {
    return act();
  } catch (error) {
    throw placed(error);
  }
}

/** Draws of a table from elsewhere: nothing in it asks for other ones. */
const SEED = 1;

function reportOf(surface: ResponseSurface, { factors, responses }: Spec): SurfaceReport {
  const aim = betterEnd(responses.find(({ name }) => name === surface.name));
  return surfaceReport({ surface, factors, aim, seed: SEED });
}

function unitsOf({ options }: Given): Units {
  const units = textOption(options, 'units') ?? 'natural';
  if (units === 'natural' || units === 'coded') return units;
  throw new UsageError(`--units must be natural or coded; got "${units}".`);
}

/** The fit, with one response's model changed when the options ask; what changed is told. */
function editedFit(
  spec: Spec,
  table: RunTable,
  units: Units,
  given: Given,
  tell: (text: string) => void,
  theme: ReturnType<typeof themeOf>,
): FitResult {
  const plain = fitTable({ spec, table, units });
  const asked = modelOption(given);
  if (!asked) return withAlternatives(plain, spec, table, units);
  const name = responseAsked(asked.response, spec);
  const edit = editedSpec(spec, asked);
  const own = spec.responses.filter((response) => response.name === name);
  const changed = fitTable({ spec: { ...edit.spec, responses: own }, table, units }).responses[0]!;
  const before = plain.responses.find((fit) => fit.name === name)!;
  tell(painted(changeLines(name, modelChange(before, changed), edit.says, 100), theme));
  const responses = plain.responses.map((fit) => (fit.name === name ? changed : fit));
  return withAlternatives({ responses }, spec, table, units);
}

/** Surfaces to read effects from: by the exact posterior where the plots say too little. */
function surfacesOf(
  { responses }: FitResult,
  spec: Spec,
  table: RunTable,
  units: Units,
): ResponseSurface[] {
  const { factors } = spec;
  // Without an intercept the terms may be in natural units, which a surface does not take.
  if (!hasIntercept(spec.model)) return [];
  return responses.flatMap((fit) => {
    const isBayesian = fit.sensitivity?.judgedBy === 'Bayesian' && fit.terms.length > 0;
    const belief = isBayesian
      ? plotBelief(fit, fittedRows(fit, { spec, table, units }), factors)
      : null;
    return responseSurface(fit, factors, belief) ?? [];
  });
}
