import { DomainError } from '../../error/domain-error.ts';
import { codedValue, type Point } from '../../factor/coding.ts';
import { type Factor, isNamed, isNumeric } from '../../factor/factor.ts';
import type { Spec } from '../../spec/spec.ts';
import { type Cell, columnNamed, isBlank, numberIn, type RunTable } from './run-table.ts';

/** In which units a run table gives the settings. */
export type Units = 'natural' | 'coded';

/** A run whose settings and plots are known. `row` counts from 0. */
export interface UsableRun {
  readonly row: number;
  readonly coded: Point;
  readonly block: string;
  /**
   * Labels of the groups that share an error, outermost first: the block when blocks are drawn, the
   * whole plot and the plot within it, as far as the spec names columns.
   */
  readonly plots: readonly string[];
  /** What was noted rather than set, in the order of the spec's covariates; its own units. */
  readonly covariates: readonly number[];
}

export interface UnusableRun {
  readonly row: number;
  readonly why: string;
}

/** The runs of a table, parted by whether their settings are known. */
export interface ReadRuns {
  /** Blocks are drawn from a population; their labels then lead `plots`. */
  readonly areBlocksDrawn: boolean;
  /** Place of every row in the run order; the place in the table when nothing else is said. */
  readonly order: Float64Array;
  /** A column said so. */
  readonly isOrderKnown: boolean;
  /** Hours since the first run, NaN where not noted; null where no clock was kept. */
  readonly hours: Float64Array | null;
  readonly usable: readonly UsableRun[];
  readonly unusable: readonly UnusableRun[];
}

/**
 * Reads the settings, blocks and plots of every run.
 *
 * A run that lacks one of them cannot be used and says why; a setting that is not a number or not
 * a level of its factor is a mistake of the table and thrown.
 *
 * @throws {DomainError} `unknown_column`, `not_a_number`, `unknown_level`
 */
export function readRuns(spec: Spec, table: RunTable, count: number, units: Units): ReadRuns {
  const columns = runColumns(spec, table);
  const { settings, plots, block, covariates } = columns;
  const areBlocksDrawn = drawsBlocks(spec, block);
  const usable: UsableRun[] = [];
  const unusable: UnusableRun[] = [];
  for (let row = 0; row < count; row++) {
    const missing = [
      ...settings.map(({ factor, cells }) => ({ name: factor.name, cells })),
      ...plots,
      ...(block ? [block] : []),
      ...covariates,
    ].filter(({ cells }) => isBlank(cells[row]));
    if (missing.length > 0) {
      unusable.push({ row, why: `no ${missing.map(({ name }) => name).join(', ')} noted` });
      continue;
    }
    const coded = Object.fromEntries(
      settings.map(({ factor, cells }) => [factor.name, setting(factor, cells[row]!, row, units)]),
    );
    const own = block ? label(block.cells[row]) : '';
    // Plots are numbered anew in every block by some, so that a label counts within its block only.
    const labels = plots.map(({ cells }) => (block ? `${own}/` : '') + label(cells[row]));
    usable.push({
      row,
      coded,
      block: own,
      plots: areBlocksDrawn ? [own, ...labels] : labels,
      covariates: covariates.map(({ name, cells }) => numberIn(cells[row], name, row)!),
    });
  }
  return { areBlocksDrawn, ...runTimes(spec, table, count), usable, unusable };
}

/** Heads that say a place in the run order when the spec names no column for it. */
const ORDER_HEADS = ['runOrder', 'run order'];

function runTimes(spec: Spec, table: RunTable, count: number) {
  const isCount = (cell: Cell): boolean => isBlank(cell) || Number.isFinite(Number(cell));
  const head =
    spec.runOrder ??
    ORDER_HEADS.find((name) => Object.hasOwn(table, name) && table[name]!.every(isCount));
  const order = Float64Array.from({ length: count }, (_, row) => row + 1);
  if (head !== undefined) {
    const cells = columnNamed(table, head, 'run order');
    for (let row = 0; row < count; row++) order[row] = numberIn(cells[row], head, row) ?? row + 1;
  }
  const isOrderKnown = head !== undefined;
  if (spec.clock === undefined) return { order, isOrderKnown, hours: null };
  const cells = columnNamed(table, spec.clock, 'clock');
  const known = Array.from({ length: count }, (_, row) => clockHours(cells[row], spec.clock!, row));
  const first = Math.min(...known.filter((hour) => hour !== null));
  return {
    order,
    isOrderKnown,
    hours: Float64Array.from(known, (hour) => (hour ?? Number.NaN) - first),
  };
}

const MS_PER_HOUR = 3_600_000;

/** A clock cell in hours: a number as it is, a date with time by its instant. */
function clockHours(cell: Cell | undefined, name: string, row: number): number | null {
  const isDate = typeof cell === 'string' && /^\d{4}-\d{2}-\d{2}/.test(cell.trim());
  const instant = isDate ? Date.parse(cell.trim()) : Number.NaN;
  return Number.isNaN(instant) ? numberIn(cell, name, row) : instant / MS_PER_HOUR;
}

interface NamedColumn {
  readonly name: string;
  readonly cells: readonly Cell[];
}

function runColumns(spec: Spec, table: RunTable) {
  const named = (name: string, role: string): NamedColumn => ({
    name,
    cells: columnNamed(table, name, role),
  });
  return {
    settings: spec.factors.map((factor) => ({
      factor,
      cells: columnNamed(table, factor.name, 'factor'),
    })),
    plots: [spec.wholePlot, spec.subWholePlot].flatMap((name) =>
      name === undefined ? [] : [named(name, 'plot')],
    ),
    block: spec.block === undefined ? undefined : named(spec.block, 'block'),
    covariates: (spec.covariates ?? []).map((name) => named(name, 'covariate')),
  };
}

const label = (cell: Cell | undefined): string => String(cell).trim();

/** Fewer blocks than this say next to nothing about the population they would be drawn from. */
const LEAST_DRAWN_BLOCKS = 3;

/** See `Spec`: as asked, else drawn when they hold whole plots and are not too few. */
function drawsBlocks(spec: Spec, block: NamedColumn | undefined): boolean {
  if (!block) return false;
  if (spec.blocks !== undefined) return spec.blocks === 'random';
  const isOuter = spec.wholePlot !== undefined && spec.subWholePlot === undefined;
  const known = new Set(block.cells.filter((cell) => !isBlank(cell)).map(label));
  return isOuter && known.size >= LEAST_DRAWN_BLOCKS;
}

function setting(factor: Factor, cell: Cell, row: number, units: Units): number | string {
  if (isNamed(factor)) {
    const level = String(cell).trim();
    if (factor.levels.includes(level)) return level;
    throw new DomainError(
      'unknown_level',
      `fitTable: factor "${factor.name}" must be one of ${factor.levels.join(', ')}; got ${JSON.stringify(cell)} (row ${row + 1}). Use one of these levels.`,
      { factor: factor.name, row: row + 1, levels: factor.levels },
    );
  }
  const value = numberIn(cell, factor.name, row)!;
  return units === 'coded' ? value : codedValue(value, factor);
}

/**
 * Share of a coded column that may be rounding: coding a factor that sits far from zero for its
 * range loses the digits of the offset.
 */
export function codingTolerance(factors: readonly Factor[], units: Units, floor: number): number {
  if (units === 'coded') return floor;
  return factors.filter(isNumeric).reduce((worst, { low, high }) => {
    const offset = Math.max(Math.abs(low), Math.abs(high)) / (high - low);
    return Math.max(worst, 64 * Number.EPSILON * offset);
  }, floor);
}
