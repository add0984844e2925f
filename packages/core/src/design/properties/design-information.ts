import type { Factor } from '../../factor/factor.ts';
import { type Aliased, aliasedOutcome } from '../../fit/aliased.ts';
import { cholesky } from '../../linear/cholesky.ts';
import { type Dense, zeros } from '../../linear/dense.ts';
import { type QrFactor, qrFactor, upperFactor } from '../../linear/qr.ts';
import { upperInverse } from '../../linear/triangular.ts';
import { modelMatrix } from '../../term/model-matrix.ts';
import { type Powers, termName } from '../../term/term.ts';
import { blockContrasts } from '../block-contrasts.ts';
import { correlatedPlots, type Plot, type VarianceRatios } from '../correlated-plots.ts';
import type { DesignRun } from '../design.ts';

/** A design beside the model it is to be judged by. */
export interface AssessedDesign {
  readonly factors: readonly Factor[];
  /** Model terms, the intercept among them. */
  readonly terms: readonly Powers[];
  readonly runs: readonly Pick<DesignRun, 'coded' | 'block' | 'wholePlot' | 'subWholePlot'>[];
  /** σ² of whole plots and sub-whole plots over σ² of a cell; [0, 0] when left out. */
  readonly varianceRatios?: VarianceRatios;
}

/**
 * What the design can tell about the model: the model matrix, and the covariance of the generalised
 * least-squares coefficients, (XᵀV⁻¹X)⁻¹, in units of the cell variance σ².
 *
 * Columns are model terms, then block contrasts (zero on average over the runs). Where runs cannot tell columns apart
 * the later ones of each relation are left out and `aliased` says so; `kept` are the columns that
 * the covariance is about.
 */
export interface DesignInformation {
  readonly design: AssessedDesign;
  /** Model matrix with block contrasts, shape (n, columns). */
  readonly x: Dense;
  /** Rows of x combined so that their errors are uncorrelated with variance σ²; shape as x. */
  readonly whitened: Dense;
  /** One a column: term names, then "block 1", … */
  readonly names: readonly string[];
  /** How many columns are model terms. */
  readonly termCount: number;
  readonly kept: readonly number[];
  /** Covariance of the kept coefficients over σ², shape (kept, kept). */
  readonly covariance: Dense;
  /** ln det XᵀV⁻¹X of the kept columns. */
  readonly logDeterminant: number;
  readonly aliased: Aliased | null;
  readonly plots: readonly Plot[];
}

/**
 * @param design - runs in any order
 * @source Jones & Goos (2007), Applied Statistics 56:347–364, eq. for XᵀV⁻¹X; computed by QR of the
 *   whitened columns, so the condition is not squared
 */
export function designInformation(design: AssessedDesign): DesignInformation {
  const { factors, terms, runs, varianceRatios = [0, 0] } = design;
  const model = modelMatrix(
    terms,
    runs.map(({ coded }) => coded),
    factors,
  );
  const x = withBlocks(
    model,
    runs.map(({ block }) => block),
  );
  const plots = correlatedPlots(runs, varianceRatios);
  const whitened = whitenedRows(x, plots);
  const factor = qrFactor(whitened);
  const kept = [...factor.kept];
  const { covariance, logDeterminant } = covarianceOf(factor);
  return {
    design,
    x,
    whitened,
    names: [
      ...terms.map(termName),
      ...Array.from({ length: x.cols - terms.length }, (_, b) => `block ${b + 1}`),
    ],
    termCount: terms.length,
    kept,
    covariance,
    logDeterminant,
    aliased: factor.aliased.length > 0 ? aliasedOutcome(factor) : null,
    plots,
  };
}

/** The model matrix with block contrasts appended. */
function withBlocks(model: Dense, blocks: readonly number[]): Dense {
  const contrasts = blockContrasts(blocks);
  const out = zeros(model.rows, model.cols + contrasts.cols);
  for (let i = 0; i < model.rows; i++) {
    const row = model.data.subarray(i * model.cols, (i + 1) * model.cols);
    out.data.set(row, i * out.cols);
    const own = contrasts.data.subarray(i * contrasts.cols, (i + 1) * contrasts.cols);
    out.data.set(own, i * out.cols + model.cols);
  }
  return out;
}

/** LᵀX plot by plot, with V⁻¹ = LLᵀ. */
function whitenedRows({ rows, cols, data }: Dense, plots: readonly Plot[]): Dense {
  const out = zeros(rows, cols);
  for (const plot of plots) {
    const m = plot.rows.length;
    const factor = cholesky(plot.inverse, m);
    if (factor.kind !== 'factored') continue;
    for (const [a, rowA] of plot.rows.entries()) {
      for (let q = a; q < m; q++) {
        const weight = factor.lower[q * m + a]!;
        const from = plot.rows[q]! * cols;
        for (let j = 0; j < cols; j++) out.data[rowA * cols + j]! += weight * data[from + j]!;
      }
    }
  }
  return out;
}

/** (RᵀR)⁻¹ in the units of the columns given, and ln det RᵀR. */
function covarianceOf(factor: QrFactor): { covariance: Dense; logDeterminant: number } {
  const { rank: p, kept, scale } = factor;
  const upper = upperFactor(factor);
  const inverse = upperInverse(upper);
  const covariance = zeros(p, p);
  let logDeterminant = 0;
  for (let i = 0; i < p; i++) {
    const si = scale[kept[i]!]!;
    logDeterminant += 2 * Math.log(Math.abs(upper.data[i * p + i]!) * si);
    for (let j = 0; j <= i; j++) {
      let sum = 0;
      for (let k = i; k < p; k++) sum += inverse.data[i * p + k]! * inverse.data[j * p + k]!;
      const value = sum / (si * scale[kept[j]!]!);
      covariance.data[i * p + j] = value;
      covariance.data[j * p + i] = value;
    }
  }
  return { covariance, logDeterminant };
}

/** Variance over σ² of each column's coefficient; null where the runs cannot tell it. */
export function coefficientVariances(information: DesignInformation): (number | null)[] {
  const { kept, covariance, names, aliased } = information;
  const unclear = new Set(aliased?.involved ?? []);
  return names.map((_, column) => {
    const at = kept.indexOf(column);
    if (at < 0 || unclear.has(column)) return null;
    return covariance.data[at * covariance.cols + at]!;
  });
}
