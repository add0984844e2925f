import { choleskyInto, choleskyInverse } from '../linear/cholesky.ts';
import type { ResponseSurface } from './response-surface.ts';
import {
  type BeliefNode,
  rowScale,
  type SurfaceBelief,
  semiDefiniteFactor,
} from './surface-belief.ts';

/** A run that might be added: its settings, and the plot it shares with others (null: set anew). */
export interface AddedRun {
  readonly settings: Float64Array;
  readonly plot: number | null;
}

/** How a reading of a response scatters, for runs not yet made. */
export interface AddedScatter {
  /** Share of a set-up's variance that runs of one plot have in common. */
  readonly plotShare: number;
  /** Length looked at in each run, of a rate of counts; its own Poisson scatter is added. */
  readonly exposure?: number;
}

/**
 * A surface as it is expected to be known after more runs, its estimates unchanged: the information
 * of the runs, XᵀV⁻¹X over the variance of a set-up, is added to each part of the belief, and a
 * degree of freedom a run.
 */
export function surfaceAfter(
  surface: ResponseSurface,
  runs: readonly AddedRun[],
  scatter: AddedScatter,
): ResponseSurface {
  const { belief } = surface;
  if (!belief || runs.length === 0) return surface;
  const nodes = belief.nodes.map((node) => nodeAfter(surface, node, { runs, scatter }));
  const df = belief.df + runs.length;
  const after: SurfaceBelief = { df, nodes };
  return {
    ...surface,
    belief: after,
    df: Math.min(surface.df + runs.length, df),
    termDf: surface.termDf.map((value) => value + runs.length),
    covariance: averageScale(after, surface.coefficients.length),
  };
}

/** Mean of the parts' squared scales: what the expected variance at a place is judged by. */
function averageScale({ nodes }: SurfaceBelief, p: number): Float64Array {
  const out = new Float64Array(p * p);
  for (const { weight, lower } of nodes)
    for (let i = 0; i < p; i++)
      for (let j = 0; j < p; j++)
        for (let k = 0; k <= Math.min(i, j); k++)
          out[i * p + j]! += weight * lower[i * p + k]! * lower[j * p + k]!;
  return out;
}

function nodeAfter(
  surface: ResponseSurface,
  node: BeliefNode,
  { runs, scatter }: { readonly runs: readonly AddedRun[]; readonly scatter: AddedScatter },
): BeliefNode {
  const p = node.coefficients.length;
  for (let j = 0; j < p; j++) if (!(node.lower[j * p + j]! > 0)) return node;
  const precision = choleskyInverse(node.lower, p);
  for (const plot of byPlot(runs)) addInformation(precision, surface, node, { plot, scatter });
  if (choleskyInto(precision, p) >= 0) return node;
  return { ...node, lower: semiDefiniteFactor(choleskyInverse(precision, p), p) };
}

function byPlot(runs: readonly AddedRun[]): AddedRun[][] {
  const plots = new Map<number | string, AddedRun[]>();
  for (const [i, run] of runs.entries()) {
    const key = run.plot ?? `run ${i}`;
    plots.set(key, [...(plots.get(key) ?? []), run]);
  }
  return [...plots.values()];
}

/** Adds Σxxᵀ/s − (Σx/s)(Σx/s)ᵀ·τ/(1 + τΣ1/s) of one plot: s single variances, τ the plot's. */
function addInformation(
  precision: Float64Array,
  surface: ResponseSurface,
  node: BeliefNode,
  { plot, scatter }: { readonly plot: readonly AddedRun[]; readonly scatter: AddedScatter },
): void {
  const p = node.coefficients.length;
  const shared = scatter.plotShare * node.noise;
  const sum = new Float64Array(p);
  let weights = 0;
  for (const { settings } of plot) {
    const x = surface.row(settings);
    let single = (1 - scatter.plotShare) * node.noise;
    if (scatter.exposure !== undefined) {
      const mean = x.reduce((total, value, j) => total + value * surface.coefficients[j]!, 0);
      single += 1 / (scatter.exposure * Math.exp(mean));
    }
    if (!(single > 0)) continue;
    weights += 1 / single;
    for (let i = 0; i < p; i++) {
      sum[i]! += x[i]! / single;
      for (let j = 0; j < p; j++) precision[i * p + j]! += (x[i]! * x[j]!) / single;
    }
  }
  const shrink = shared / (1 + shared * weights);
  for (let i = 0; i < p; i++)
    for (let j = 0; j < p; j++) precision[i * p + j]! -= shrink * sum[i]! * sum[j]!;
}

/** Mean squared scale of the surface's mean at settings, over the parts of its belief. */
export function meanScale(surface: ResponseSurface, settings: Float64Array): number {
  const row = surface.row(settings);
  return (surface.belief?.nodes ?? []).reduce(
    (sum, node) => sum + node.weight * rowScale(node, row),
    0,
  );
}
