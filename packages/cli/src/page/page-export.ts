import { type NextStep, type StudyState, varianceShares } from '@strandwise/core';
import {
  type CaptionedFigure,
  type Figure,
  predictionTable,
  runLogTable,
  type StudyPageInput,
  type Table,
  termTable,
  varianceTable,
} from '@strandwise/report';
import { cellTable } from './next-part.ts';
import { cellOfRow, type PagedResponse, type PagedStudy } from './paged-study.ts';
import { factorTable } from './plan-part.ts';
import { rawTable } from './provenance-part.ts';
import { windowTable } from './recipe-part.ts';
import { responseEffects } from './response-effects.ts';
import { setPointKeys } from './setting.ts';
import { tradeOffExport } from './trade-off-part.ts';

/** Something of the page as a file, by its name without an ending. */
export interface Named<T> {
  readonly name: string;
  readonly content: T;
}

/** Every figure of the page in its order; names count up and say what is drawn. */
export function pageFigures(input: StudyPageInput): Named<Figure>[] {
  const all: readonly CaptionedFigure[] = [
    ...input.surfaces,
    ...(input.moreSurfaces ?? []),
    ...(input.tradeOff ? [input.tradeOff.figure] : []),
    ...(input.overview ? [input.overview] : []),
    ...input.findings.flatMap(({ figures, closer = [] }) => [...figures, ...closer]),
    ...(input.runs.traces ? [input.runs.traces] : []),
    ...(input.runs.figures ?? []),
    ...(input.plan.figures ?? []),
    ...input.models.flatMap(({ checks }) => checks.flatMap(({ figure }) => figure ?? [])),
  ];
  return all.map(({ figure }, i) => ({
    name: `${String(i + 1).padStart(2, '0')}-${fileWord(figure.title)}`,
    content: figure,
  }));
}

/** Every table of the page, and those behind its figures, with all digits. */
export function pageTables(study: PagedStudy, input: StudyPageInput): Named<Table>[] {
  const { state, events, recipe } = study;
  const keys = setPointKeys(state.opened.line, state.opened.factors);
  const raw = rawTable(events);
  const { recipe: part } = input;
  return [
    { name: 'runs', content: runLogTable(input.runs) },
    { name: 'factors', content: factorTable(state.opened.factors) },
    ...(state.plan
      ? [
          {
            name: 'plan',
            content: cellTable(
              'Cells as planned',
              state.cells.map(({ cell, run }) => ({ cell, run })),
              keys,
            ),
          },
        ]
      : []),
    ...(part.kind === 'recommended'
      ? [
          { name: 'recipe', content: setPointTable(part) },
          { name: 'predictions', content: predictionTable(part) },
        ]
      : []),
    ...(recipe?.window ? [{ name: 'window', content: windowTable(recipe.window, state) }] : []),
    ...(study.traded ? [{ name: 'trade-off', content: tradeOffExport(study, study.traded) }] : []),
    ...(study.next.length > 0 ? [{ name: 'next-steps', content: nextTable(study.next) }] : []),
    ...study.responses.flatMap((response) => shareTable(study, response)),
    ...input.models.flatMap((model) => [
      { name: `terms-${fileWord(model.response)}`, content: termTable(model) },
      { name: `scatter-${fileWord(model.response)}`, content: varianceTable(model) },
    ]),
    ...study.responses.flatMap(({ name }) => effectTable(study, name)),
    ...study.responses.flatMap(({ name }) => fittedTable(study, name)),
    ...(raw ? [{ name: 'raw-logs', content: raw }] : []),
  ];
}

/** A name as part of a file's: letters and digits, the rest a dash. */
export const fileWord = (text: string): string =>
  text
    .normalize('NFKD')
    .replace(/[^A-Za-z0-9]+/g, '-')
    .replace(/^-+|-+$/g, '')
    .toLowerCase()
    .slice(0, 60) || 'unnamed';

const exact = (value: number | null): { shown: string; exported: number | null } => ({
  shown: value === null ? '' : String(value),
  exported: value,
});

function setPointTable({
  setPoints,
}: Extract<StudyPageInput['recipe'], { kind: 'recommended' }>): Table {
  return {
    caption: 'Recommended set points',
    columns: [
      { head: 'set point', holds: 'words' },
      { head: 'value', holds: 'numbers' },
      { head: 'unit', holds: 'words' },
      { head: 'alone from', holds: 'numbers' },
      { head: 'alone to', holds: 'numbers' },
    ],
    rows: setPoints.map(({ name, value, unit, window }) => [
      name,
      typeof value === 'number' ? exact(value) : value,
      unit ?? '',
      exact(window?.low ?? null),
      exact(window?.high ?? null),
    ]),
  };
}

/** What could be run next with what it costs and brings. */
function nextTable(next: readonly NextStep[]): Table {
  const numbers = (head: string) => ({ head, holds: 'numbers' as const });
  return {
    caption: 'What to run next, best first',
    columns: [
      numbers('place'),
      { head: 'step', holds: 'words' },
      numbers('cells'),
      numbers('hours'),
      numbers('grams'),
      numbers('rise of the promised chance per hour'),
      numbers('rise of the promised chance per kg'),
      { head: 'in words', holds: 'words' },
    ],
    rows: next.map(({ kind, cells, hours, grams, perHour, perKilogram, says }, i) => [
      exact(i + 1),
      kind,
      exact(cells),
      exact(hours),
      exact(grams),
      exact(perHour),
      exact(perKilogram),
      says,
    ]),
  };
}

/** Shares of explained variance of one response. */
function shareTable(
  { state, predictor }: PagedStudy,
  { name, surface, decides }: PagedResponse,
): Named<Table>[] {
  if (!surface || !decides) return [];
  const { factors, seed } = state.opened;
  const { constraints } = predictor;
  const { shares } = varianceShares({ surface, factors, constraints, seed });
  const numbers = (head: string) => ({ head, holds: 'numbers' as const });
  const content: Table = {
    caption: `Shares of what ${name} does over the region`,
    columns: [
      { head: 'factor', holds: 'words' },
      numbers('alone'),
      numbers('with others as well'),
      numbers('from'),
      numbers('to'),
      { head: 'reading', holds: 'words' },
    ],
    rows: shares.map(({ factor, alone, total, low, high, reading }) => [
      factor,
      exact(alone),
      exact(total),
      exact(low),
      exact(high),
      reading,
    ]),
  };
  return [{ name: `shares-${fileWord(name)}`, content }];
}

function effectTable(study: PagedStudy, name: string): Named<Table>[] {
  const response = study.responses.find((candidate) => candidate.name === name)!;
  const effects = responseEffects(study, response);
  if (!effects) return [];
  const unit = effects.surface.scale.startsWith('ln') ? 'share' : (response.unit ?? '');
  const rows = [
    ...effects.alone.map(({ factor, low, high, change, says }) => ({
      what: factor,
      low,
      high,
      change,
      says,
    })),
    ...effects.pairs.map(({ factors, change, says }) => ({
      what: factors.join(' × '),
      low: null,
      high: null,
      change,
      says,
    })),
  ];
  return [
    {
      name: `effects-${fileWord(name)}`,
      content: {
        caption: `Effects on ${name}`,
        columns: [
          { head: 'factor or pair', holds: 'words' },
          { head: 'from', holds: 'numbers' },
          { head: 'to', holds: 'numbers' },
          { head: unit === '' ? 'change' : `change, ${unit}`, holds: 'numbers' },
          { head: 'change from', holds: 'numbers' },
          { head: 'change to', holds: 'numbers' },
          { head: 'reading', holds: 'words' },
        ],
        rows: rows.map(({ what, low, high, change, says }) => [
          what,
          exact(low),
          exact(high),
          exact(change.value),
          exact(change.low),
          exact(change.high),
          says,
        ]),
      },
    },
  ];
}

/** Observed and fitted values with what tells how each run sits in the fit. */
function fittedTable({ responses, state }: PagedStudy, name: string): Named<Table>[] {
  const { fit } = responses.find((candidate) => candidate.name === name)!;
  if (fit.runs.length === 0) return [];
  return [
    {
      name: `residuals-${fileWord(name)}`,
      content: {
        caption: `Residuals of ${name}, on the scale of its model`,
        columns: [
          'cell',
          'observed',
          'fitted',
          'residual',
          'studentised',
          'leverage',
          'Cook’s distance',
        ].map((head) => ({ head, holds: 'numbers' as const })),
        rows: fit.runs.map((run) => [
          exact(cellNumber(state, run.row)),
          exact(run.observed),
          exact(run.fitted),
          exact(run.residual),
          exact(run.studentised),
          exact(run.leverage),
          exact(run.cooksDistance),
        ]),
      },
    },
  ];
}

const cellNumber = (state: StudyState, row: number): number => cellOfRow(state, row)?.cell ?? row;
