import { type Factor, isNumeric } from '../factor/factor.ts';
import { zoneTemperatures } from '../factor/zone-profile.ts';
import type { Cell, RunTable } from '../fit/report/run-table.ts';
import type { Spec } from '../spec/spec.ts';
import type { SettingDefaults } from '../trade/limits.ts';
import { pointOf } from '../trade/limits.ts';
import { type LineResponse, lineResponses } from './line-response.ts';
import type { CellState, StudyState } from './state.ts';

/** Names of the columns that describe a run's place; fit specs refer to them. */
export const wholePlotColumn = 'zone setting';
export const subWholePlotColumn = 'screw setting';
export const cellColumn = 'cell';
export const blockColumn = 'block';
export const runOrderColumn = 'run order';
export const clockColumn = 'finished at';
/** There when every cell has it; a model may take it in as a covariate. */
export const dryingColumn = 'hours since drying';

/** Spread of ln SD from one set-up to the next that weights allow for; common practice, no source. */
const RESET_VARIANCE = 0.1 ** 2;

/** What is fixed in a study, as defaults for whatever is not a factor. */
export function studyDefaults({ opened }: Pick<StudyState, 'opened'>): SettingDefaults {
  const { fixed, line } = opened;
  const zones = line.zones.length;
  return {
    zonesCelsius: zoneTemperatures(
      {
        level: fixed['level'] ?? 0,
        ...(zones > 1 ? { tilt: fixed['tilt'] ?? 0 } : {}),
        ...(zones > 2 ? { hump: fixed['hump'] ?? 0 } : {}),
      },
      line,
    ),
    ...(fixed['screw'] === undefined ? {} : { screwRpm: fixed['screw'] }),
    ...(fixed['fan'] === undefined ? {} : { fanPercent: fixed['fan'] }),
  };
}

/** Cells that a fit looks at: started ones that ended, well or badly. Confirmation stands apart. */
export const fittedCells = (state: StudyState): CellState[] =>
  state.cells.filter(
    ({ status, purpose }) => purpose !== 'confirm' && (status === 'done' || status === 'failed'),
  );

/** The responses of a study with how to read them; an unknown name is read from entered values. */
export function studyResponses(state: StudyState): LineResponse[] {
  const known = lineResponses(state.opened.line, state.opened.product);
  return state.opened.responses.map((response) => {
    const found = known.find((candidate) => candidate.response.name === response.name);
    return found
      ? { ...found, response }
      : { response, value: ({ readings }) => readings.values[response.name] ?? null };
  });
}

/** What to fit: the study's factors and responses, the plan's model, and the strata that were walked. */
export function studySpec(state: StudyState): Spec {
  const cells = fittedCells(state);
  const hasPlots = cells.some(({ run }) => run.wholePlot !== null);
  const hasSubPlots = cells.some(({ run }) => run.subWholePlot !== null);
  const hasBlocks = new Set(cells.map(({ run }) => run.block)).size > 1;
  const covariates = chosenCovariates(state);
  return {
    factors: [...state.opened.factors],
    responses: studyResponses(state)
      .filter((reading) => cells.some((cell) => reading.value(cell) !== null))
      .map(({ response }) => response),
    model: state.plan?.model ?? 'quadratic',
    ...(hasPlots ? { wholePlot: wholePlotColumn } : {}),
    ...(hasSubPlots ? { subWholePlot: subWholePlotColumn } : {}),
    ...(hasBlocks ? { block: blockColumn } : {}),
    ...(covariates.length > 0 ? { covariates } : {}),
    runOrder: runOrderColumn,
    clock: clockColumn,
  };
}

/** Names in the chosen models that are no factors: what was noted beside the settings. */
function chosenCovariates({ models, opened }: StudyState): string[] {
  const factors = new Set(opened.factors.map(({ name }) => name));
  const named = Object.values(models).flatMap((model) =>
    typeof model === 'string' ? [] : model.terms.flatMap((powers) => Object.keys(powers)),
  );
  return [...new Set(named)].filter((name) => !factors.has(name));
}

/**
 * The cells as a run table in natural units: the settings as entered, after rounding. A failed cell
 * stands in the table with its settings and empty responses, so that a fit counts it.
 */
export function studyTable(state: StudyState): RunTable {
  const cells = fittedCells(state);
  const { factors, line } = state.opened;
  const columns: Record<string, Cell[]> = {
    [cellColumn]: cells.map(({ cell }) => cell),
    [wholePlotColumn]: cells.map(({ run }) => run.wholePlot),
    [subWholePlotColumn]: cells.map(({ run }) => run.subWholePlot),
    [blockColumn]: cells.map(({ run }) => run.block),
    [runOrderColumn]: finishOrder(cells),
    [clockColumn]: cells.map(({ finishedAt }) => finishedAt),
  };
  if (cells.every(({ hoursSinceDrying }) => hoursSinceDrying !== null))
    columns[dryingColumn] = cells.map(({ hoursSinceDrying }) => hoursSinceDrying);
  const points = cells.map((cell) =>
    cell.entered ? pointOf(cell.entered, factors, line) : cell.run.natural,
  );
  for (const factor of factors)
    columns[factor.name] = points.map((point) => point[factor.name] ?? null);
  for (const reading of studyResponses(state)) addResponse(columns, reading, cells);
  return columns;
}

/** Place of each cell in the order in which cells were set; a cell nobody set comes last. */
function finishOrder(cells: readonly CellState[]): number[] {
  const order = [...cells.keys()].sort((a, b) => {
    const [one, other] = [cells[a]!.enteredAt ?? '~', cells[b]!.enteredAt ?? '~'];
    return one === other ? a - b : one < other ? -1 : 1;
  });
  const places = new Array<number>(cells.length);
  for (const [place, i] of order.entries()) places[i] = place + 1;
  return places;
}

function addResponse(
  columns: Record<string, Cell[]>,
  reading: LineResponse,
  cells: readonly CellState[],
): void {
  const { response, value, weight, exposure } = reading;
  columns[response.name] = cells.map((cell) => (cell.status === 'done' ? value(cell) : null));
  if (response.exposure && exposure) columns[response.exposure] = cells.map(exposure);
  if (response.weight && weight) columns[response.weight] = relativeWeights(cells.map(weight));
}

/**
 * Precisions that allow for what sampling cannot see, scaled to a mean of 1 so that the residual SD
 * is that of a usual cell. A cell without a precision gets the mean.
 */
function relativeWeights(precisions: readonly (number | null)[]): number[] {
  const weights = precisions.map((precision) =>
    precision === null ? null : 1 / (1 / precision + RESET_VARIANCE),
  );
  const present = weights.filter((weight) => weight !== null);
  const mean = present.reduce((sum, weight) => sum + weight, 0) / Math.max(1, present.length);
  return weights.map((weight) => (weight === null || mean === 0 ? 1 : weight / mean));
}

/** Numeric factors only: what a surface can be drawn over. */
export const numericFactors = (factors: readonly Factor[]) => factors.filter(isNumeric);
