import type { Factor } from '../../factor/factor.ts';
import type { Dense } from '../../linear/dense.ts';
import type { Response, Spec } from '../../spec/spec.ts';
import type { CarriedPrior } from './carried-prior.ts';
import type { CannotSay, CellCount } from './fit-result.ts';
import type { ModelColumns } from './model-columns.ts';
import type { Units, UsableRun } from './usable-run.ts';

/** One response ready to be fitted: estimable columns, values, and where the cells went. */
export interface Prepared {
  readonly spec: Spec;
  readonly response: Response;
  readonly factors: readonly Factor[];
  readonly runs: readonly UsableRun[];
  /** What the labels of `plots` of a run are called, outermost first. */
  readonly plotNames: readonly string[];
  readonly model: ModelColumns;
  readonly y: Float64Array;
  readonly weights: Float64Array | undefined;
  readonly exposure: Float64Array | undefined;
  readonly units: Units;
  readonly rankTolerance: number;
  /** When each row of the table was run: its place, and hours (NaN where not noted) where a clock was kept; shape (rows). */
  readonly order: Float64Array;
  readonly isOrderKnown: boolean;
  readonly hours: Float64Array | null;
  /** How a run is called, by its row from 1. */
  readonly runName: (row: number) => string;
  /** Smallest value of a spread that the gauge could show. */
  readonly floor: number | null;
  /** What was known of the variances before, from an earlier study. */
  readonly carried: CarriedPrior | undefined;
  /** The only column that is to be tested, where a test costs; all when left out. */
  readonly tested?: number;
  readonly cells: CellCount;
  readonly cannotSay: readonly CannotSay[];
}

/** A covariance as rows, for JSON. */
export function covarianceRows({ rows, cols, data }: Dense, times = 1): number[][] {
  return Array.from({ length: rows }, (_, i) =>
    Array.from(data.subarray(i * cols, (i + 1) * cols), (value) => value * times),
  );
}

/** Infinity means "as normal", which JSON has no number for. */
export const finiteOrNull = (value: number): number | null =>
  Number.isFinite(value) ? value : null;
