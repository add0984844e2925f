import type { UsableRun } from './usable-run.ts';

/** Groupings of the runs that are neither one a run nor one for all the same runs. */
export interface PlotStrata {
  readonly strata: readonly Int32Array[];
  readonly names: readonly string[];
}

/**
 * Plots as labels, outermost first; strata in which every run stands alone, or that part the runs no
 * further than the one before, are dropped.
 *
 * @param names - what the labels of `plots` of a run are called
 */
export function strataOf(runs: readonly UsableRun[], names: readonly string[]): PlotStrata {
  const strata: Int32Array[] = [];
  const kept: string[] = [];
  let coarser = 0;
  for (const [s, name] of names.entries()) {
    const labels = new Map<string, number>();
    const stratum = Int32Array.from(runs, (run) => {
      const key = JSON.stringify(run.plots.slice(0, s + 1));
      if (!labels.has(key)) labels.set(key, labels.size);
      return labels.get(key)!;
    });
    if (labels.size === runs.length || labels.size === coarser) continue;
    coarser = labels.size;
    strata.push(stratum);
    kept.push(name);
  }
  return { strata, names: kept };
}
