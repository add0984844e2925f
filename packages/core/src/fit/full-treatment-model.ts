import { columnsOf, type Dense, zeros } from '../linear/dense.ts';
import { qrFactor } from '../linear/qr.ts';
import { indicatorColumns } from './plot-basis.ts';

/** A model widened to one mean for each setting. */
export interface FullTreatmentModel {
  /** The model's own columns, then those that the means of the settings add, shape (n, p + added). */
  readonly x: Dense;
  readonly added: number;
  /** Number of different settings. */
  readonly settings: number;
}

/**
 * The columns of a model beside one mean for each treatment, without what is there already. Columns
 * that are no function of the settings (blocks, covariates) stay, so that a setting repeated in
 * another block is a repeat.
 *
 * @param x - model matrix of full rank, shape (n, p)
 * @param treatments - equal settings of all factors share a label, shape (n)
 */
export function fullTreatmentModel(x: Dense, treatments: Int32Array): FullTreatmentModel {
  const means = indicatorColumns(treatments);
  const cols = x.cols + means.cols;
  const wide = zeros(x.rows, cols);
  for (let i = 0; i < x.rows; i++) {
    wide.data.set(x.data.subarray(i * x.cols, (i + 1) * x.cols), i * cols);
    wide.data.set(means.data.subarray(i * means.cols, (i + 1) * means.cols), i * cols + x.cols);
  }
  const own = Array.from({ length: x.cols }, (_, j) => j);
  const added = [...qrFactor(wide).kept].filter((j) => j >= x.cols);
  return {
    x: columnsOf(wide, [...own, ...added]),
    added: added.length,
    settings: means.cols,
  };
}
