import type { DesignInformation } from './design-information.ts';
import { pulledRow } from './leverage.ts';
import { type PredictionRegion, regionMoments } from './prediction-variance.ts';

/** What the loss of one run does; runs count from 1 in design order. */
export type LostCell =
  | {
      readonly kind: 'grows';
      readonly run: number;
      /** Average prediction variance without the run over that with it; at least 1. */
      readonly growth: number;
    }
  | {
      readonly kind: 'loses-terms';
      readonly run: number;
      /** Terms that could no longer be estimated. */
      readonly terms: readonly string[];
    };

const LOST = 1e-9; // share of a run's own information left by the others; below it is rounding

/**
 * The effect of losing each run in turn. Leaving out run i takes g gᵀ/vᵢᵢ from XᵀV⁻¹X, with
 * g = XᵀV⁻¹eᵢ, so the average variance grows by gᵀCWCg/(vᵢᵢ − gᵀCg); a denominator of 0 means that
 * the terms in Cg can be told by no other run.
 *
 * @returns one a run, in design order
 */
export function lostCells(
  information: DesignInformation,
  region: PredictionRegion = {},
): LostCell[] {
  const { plots, x, design } = information;
  const { matrix: w } = regionMoments(design, region);
  const before = quadraticTrace(information, w);
  const out = new Array<LostCell>(x.rows);
  for (const { rows, inverse } of plots) {
    const m = rows.length;
    for (let a = 0; a < m; a++) {
      const own = inverse[a * m + a]!;
      const g = pulledRow(information, rows, inverse.subarray(a * m, (a + 1) * m));
      out[rows[a]!] = lostRun(information, { g, own, w, before, run: rows[a]! + 1 });
    }
  }
  return out;
}

/** The run whose loss hurts most: one that takes terms with it, else the largest growth. */
export function worstLostCell(cells: readonly LostCell[]): LostCell | undefined {
  const size = (cell: LostCell): number =>
    cell.kind === 'grows' ? cell.growth : Number.POSITIVE_INFINITY;
  return cells.reduce<LostCell | undefined>(
    (worst, cell) => (!worst || size(cell) > size(worst) ? cell : worst),
    undefined,
  );
}

function lostRun(
  information: DesignInformation,
  at: { g: Float64Array; own: number; w: Float64Array; before: number; run: number },
): LostCell {
  const { covariance, kept, names, termCount } = information;
  const { g, own, w, before, run } = at;
  const p = kept.length;
  const cg = new Float64Array(p);
  for (let i = 0; i < p; i++) {
    for (let j = 0; j < p; j++) cg[i]! += covariance.data[i * p + j]! * g[j]!;
  }
  const left = own - cg.reduce((sum, value, i) => sum + value * g[i]!, 0);
  if (left <= LOST * own) {
    const largest = cg.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
    const lost = kept.filter((_, i) => Math.abs(cg[i]!) > 1e-6 * largest);
    return { kind: 'loses-terms', run, terms: lost.map((column) => names[column]!) };
  }
  let bent = 0;
  for (let i = 0; i < p; i++) {
    if (kept[i]! >= termCount) continue;
    for (let j = 0; j < p; j++) {
      if (kept[j]! < termCount) bent += cg[i]! * w[kept[i]! * termCount + kept[j]!]! * cg[j]!;
    }
  }
  return { kind: 'grows', run, growth: 1 + bent / left / before };
}

function quadraticTrace(
  { covariance, kept, termCount }: DesignInformation,
  w: Float64Array,
): number {
  const p = kept.length;
  let sum = 0;
  for (let i = 0; i < p; i++) {
    if (kept[i]! >= termCount) continue;
    for (let j = 0; j < p; j++) {
      if (kept[j]! < termCount)
        sum += covariance.data[i * p + j]! * w[kept[i]! * termCount + kept[j]!]!;
    }
  }
  return sum;
}
