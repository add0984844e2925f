/** One point of the quadrature over ln(SD ratio), with its posterior weight; weights add to 1. */
export interface RatioNode {
  readonly logRatios: readonly number[];
  readonly weight: number;
}

interface Axis {
  readonly from: number;
  readonly step: number;
  readonly count: number;
  /** Whether the ends stand for all that lies beyond. */
  readonly isOpenBelow: boolean;
  readonly isOpenAbove: boolean;
}

const WIDEST: Record<1 | 2, Axis> = {
  1: { from: -12, step: 0.25, count: 97, isOpenBelow: true, isOpenAbove: true },
  2: { from: -8, step: 0.5, count: 33, isOpenBelow: true, isOpenAbove: true },
};
/** Points e^−32 below the top are left out. */
const DEPTH = 32;

/**
 * Quadrature of a density over one or two log ratios by the trapezoidal rule, which converges
 * geometrically for smooth densities: its error is near 2·exp(−2π²σ²/h²), so the step h is brought
 * down to the posterior's own standard deviation σ. The flat ends (ratio 0 and infinity) get the
 * mass beyond them, where the density falls as e^−|u|.
 *
 * @param logDensity - ln of the unnormalised density of the log ratios
 */
export function ratioNodes(
  dimensions: 1 | 2,
  logDensity: (logRatios: readonly number[]) => number,
): RatioNode[] {
  let axes = Array.from({ length: dimensions }, () => WIDEST[dimensions]);
  for (let round = 0; ; round++) {
    const nodes = gridNodes(axes, logDensity);
    const next = axes.map((axis, k) => narrowed(axis, nodes, k));
    if (round === 6 || next.every((axis, k) => axis.step === axes[k]!.step)) return nodes;
    axes = next;
  }
}

function gridNodes(
  axes: readonly Axis[],
  logDensity: (logRatios: readonly number[]) => number,
): RatioNode[] {
  const [first, second] = axes;
  const points: { logRatios: number[]; log: number }[] = [];
  let top = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < first!.count; i++) {
    for (let j = 0; j < (second?.count ?? 1); j++) {
      const logRatios = [first!.from + i * first!.step];
      if (second) logRatios.push(second.from + j * second.step);
      let log = logDensity(logRatios) + Math.log(endWeight(first!, i));
      if (second) log += Math.log(endWeight(second, j));
      points.push({ logRatios, log });
      if (log > top) top = log;
    }
  }
  const kept = points.filter(({ log }) => log > top - DEPTH);
  const total = kept.reduce((sum, { log }) => sum + Math.exp(log - top), 0);
  return kept.map(({ logRatios, log }) => ({ logRatios, weight: Math.exp(log - top) / total }));
}

function endWeight({ count, step, isOpenBelow, isOpenAbove }: Axis, i: number): number {
  const isEnd = (i === 0 && isOpenBelow) || (i === count - 1 && isOpenAbove);
  return isEnd ? 0.5 + 1 / step : 1;
}

/** The axis cut to where the mass is, its step at most the standard deviation of the mass. */
function narrowed(axis: Axis, nodes: readonly RatioNode[], k: number): Axis {
  let mean = 0;
  let square = 0;
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (const { logRatios, weight } of nodes) {
    const u = logRatios[k]!;
    mean += weight * u;
    square += weight * u * u;
    low = Math.min(low, u);
    high = Math.max(high, u);
  }
  const sd = Math.sqrt(Math.max(0, square - mean * mean));
  if (sd >= axis.step) return axis;
  const step = Math.max(sd, axis.step / 4);
  const last = axis.from + (axis.count - 1) * axis.step;
  const isOpenBelow = axis.isOpenBelow && low <= axis.from;
  const isOpenAbove = axis.isOpenAbove && high >= last;
  const from = isOpenBelow ? axis.from : low - axis.step;
  const to = isOpenAbove ? last : high + axis.step;
  return { from, step, count: Math.ceil((to - from) / step) + 1, isOpenBelow, isOpenAbove };
}
