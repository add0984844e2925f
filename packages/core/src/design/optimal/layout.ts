import { DomainError } from '../../error/domain-error.ts';
import type { Factor } from '../../factor/factor.ts';
import type { Dense } from '../../linear/dense.ts';
import { blockContrasts } from '../block-contrasts.ts';
import { correlatedPlots, type Plot, type RunLabels } from '../correlated-plots.ts';
import type { OptimalProblem } from './problem.ts';
import { factorSpdInto, inverseFromCholeskyInto } from './spd.ts';

/**
 * Rows that move together when one of `factors` changes. With V⁻¹ split into the unit's rows R and
 * the rest S of its plots, the unit's information is (X_R + H)ᵀ V_RR⁻¹ (X_R + H) plus what does not
 * depend on it, with H = (V⁻¹_RR)⁻¹ V⁻¹_RS X_S. `root` is Lᵀ of V⁻¹_RR = LLᵀ, `pull` the matrix
 * before X_S.
 */
export interface Unit {
  readonly rows: Int32Array;
  readonly factors: Int32Array;
  readonly root: Float64Array;
  readonly rest: Int32Array;
  readonly pull: Float64Array;
}

export interface Layout {
  readonly n: number;
  /** Rows before this one are included runs and stay as they are. */
  readonly fixed: number;
  readonly labels: readonly RunLabels[];
  /** Contrasts between blocks, shape (n, blocks − 1). */
  readonly blocks: Dense;
  readonly plots: readonly Plot[];
  readonly units: readonly Unit[];
}

/** Rows, plots and movable units of a problem, included runs first. */
export function layoutOf(problem: OptimalProblem): Layout {
  const labels = [...includedLabels(problem), ...newLabels(problem)];
  const fixed = problem.included?.length ?? 0;
  const plots = plotsOf(problem, labels);
  const units = unitRows(problem, labels, fixed).map(({ rows, factors }) =>
    unitOf(rows, factors, plots),
  );
  const blocks = blockContrasts(labels.map(({ block }) => block));
  return { n: labels.length, fixed, labels, blocks, plots, units };
}

function includedLabels({ included = [] }: OptimalProblem): RunLabels[] {
  return included.map(({ block = 1, wholePlot = null, subWholePlot = null }) => ({
    block,
    wholePlot,
    subWholePlot,
  }));
}

function newLabels(problem: OptimalProblem): RunLabels[] {
  const { structure, included = [] } = problem;
  const labels: RunLabels[] = [];
  if (structure.kind === 'runs') {
    const block = blockAt(structure.blocks, structure.runs, 'runs');
    for (let i = 0; i < structure.runs; i++) {
      labels.push({ block: block(i), wholePlot: null, subWholePlot: null });
    }
    return labels;
  }
  const block = blockAt(structure.blocks, structure.wholePlots, 'whole plots');
  let wholePlot = Math.max(0, ...included.map((run) => run.wholePlot ?? 0));
  let subWholePlot = Math.max(0, ...included.map((run) => run.subWholePlot ?? 0));
  for (let w = 0; w < structure.wholePlots; w++) {
    wholePlot++;
    for (let s = 0; s < (structure.subPlots ?? 1); s++) {
      subWholePlot++;
      for (let c = 0; c < structure.cells; c++) {
        labels.push({
          block: block(w),
          wholePlot,
          subWholePlot: structure.subPlots === undefined ? null : subWholePlot,
        });
      }
    }
  }
  return labels;
}

function blockAt(
  blocks: readonly number[] | undefined,
  total: number,
  what: string,
): (i: number) => number {
  if (!blocks) return () => 1;
  const sum = blocks.reduce((a, b) => a + b, 0);
  if (sum !== total) {
    throw new DomainError(
      'block_sizes',
      `optimalDesign: block sizes must add up to the ${total} new ${what}; got ${blocks.join(' + ')} = ${sum}. Change the sizes.`,
      { blocks, total },
    );
  }
  const blockOf = blocks.flatMap((size, b) => Array<number>(size).fill(b + 1));
  return (i) => blockOf[i]!;
}

/** Variance ratios (whole plot, sub-whole plot) of a structure. */
export function varianceRatios({ structure }: OptimalProblem): readonly [number, number] {
  if (structure.kind === 'runs') return [0, 0];
  const sub = structure.subPlots === undefined ? 0 : (structure.subVarianceRatio ?? 0);
  return [structure.varianceRatio, sub];
}

function plotsOf(problem: OptimalProblem, labels: readonly RunLabels[]): Plot[] {
  return correlatedPlots(labels, varianceRatios(problem));
}

function unitRows(
  problem: OptimalProblem,
  labels: readonly RunLabels[],
  fixed: number,
): { rows: number[]; factors: number[] }[] {
  const { factors, structure } = problem;
  const tiers = factors.map((factor) => tierOf(factor, structure));
  const pick = (tier: number): number[] => [...factors.keys()].filter((j) => tiers[j] === tier);
  const cells = labels.slice(fixed).map((_, i) => ({ rows: [fixed + i], factors: pick(0) }));
  if (structure.kind === 'runs') return cells;
  const { wholePlots, subPlots = 1, cells: size, replicates = 0 } = structure;
  const perPlot = subPlots * size;
  const stretch = (from: number, length: number): number[] =>
    Array.from({ length }, (_, i) => fixed + from + i);
  const distinct = wholePlots - replicates;
  const hard = Array.from({ length: Math.max(0, distinct) }, (_, w) => {
    const tied: number[] = [];
    for (let other = w; other < wholePlots; other++) {
      const isTied = other === w || (other >= distinct && (other - distinct) % distinct === w);
      if (isTied) tied.push(...stretch(other * perPlot, perPlot));
    }
    return { rows: tied, factors: pick(2) };
  });
  const semiHard = Array.from({ length: wholePlots * subPlots }, (_, s) => ({
    rows: stretch(s * size, size),
    factors: pick(1),
  }));
  return [...hard, ...semiHard, ...cells].filter((unit) => unit.factors.length > 0);
}

/** 2: whole plot, 1: sub-whole plot, 0: cell. */
export function tierOf({ changes }: Factor, structure: OptimalProblem['structure']): 0 | 1 | 2 {
  if (structure.kind === 'runs') return 0;
  if (changes === 'hard') return 2;
  return changes === 'semi-hard' && structure.subPlots !== undefined ? 1 : 0;
}

function unitOf(rows: readonly number[], factors: readonly number[], plots: readonly Plot[]): Unit {
  const mine = new Set(rows);
  const touched = plots.filter((plot) => plot.rows.some((row) => mine.has(row)));
  const rest = touched.flatMap((plot) => [...plot.rows].filter((row) => !mine.has(row)));
  const r = rows.length;
  const entry = precisionEntry(touched);
  const own = new Float64Array(r * r);
  for (let a = 0; a < r; a++) {
    for (let b = 0; b < r; b++) own[a * r + b] = entry(rows[a]!, rows[b]!);
  }
  const factor = Float64Array.from(own);
  factorSpdInto(factor, r);
  const root = new Float64Array(r * r);
  for (let a = 0; a < r; a++) for (let b = 0; b <= a; b++) root[b * r + a] = factor[a * r + b]!;
  const ownInverse = new Float64Array(r * r);
  inverseFromCholeskyInto(ownInverse, factor, r);
  const pull = new Float64Array(r * rest.length);
  for (let a = 0; a < r; a++) {
    for (const [s, row] of rest.entries()) {
      let sum = 0;
      for (let b = 0; b < r; b++) sum += ownInverse[a * r + b]! * entry(rows[b]!, row);
      pull[a * rest.length + s] = sum;
    }
  }
  return {
    rows: Int32Array.from(rows),
    factors: Int32Array.from(factors),
    root,
    rest: Int32Array.from(rest),
    pull,
  };
}

/** Look-up of V⁻¹ between two rows of the given plots. */
function precisionEntry(plots: readonly Plot[]): (a: number, b: number) => number {
  const place = new Map<number, { plot: Plot; at: number }>();
  for (const plot of plots) {
    for (const [at, row] of plot.rows.entries()) place.set(row, { plot, at });
  }
  return (a, b) => {
    const first = place.get(a)!;
    const second = place.get(b)!;
    if (first.plot !== second.plot) return 0;
    return first.plot.inverse[first.at * first.plot.rows.length + second.at]!;
  };
}
