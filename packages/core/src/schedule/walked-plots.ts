import type { Factor } from '../factor/factor.ts';
import type { PlannedRun } from './planned-run.ts';

/**
 * Runs with the whole plots that their order makes: in an order that does not set every run anew, a
 * stretch of runs at the same hard settings shares one reset, so it is one whole plot whatever the
 * design meant. A new block begins a new plot. Runs that carry plots already, and runs without hard
 * factors, come back as they are.
 *
 * @param runs - in run order
 */
export function walkedPlots(
  runs: readonly PlannedRun[],
  factors: readonly Factor[],
): readonly PlannedRun[] {
  const hard = factors.filter(({ changes }) => changes === 'hard').map(({ name }) => name);
  if (hard.length === 0 || runs.some(({ wholePlot }) => wholePlot !== null)) return runs;
  let plot = 0;
  let before: PlannedRun | undefined;
  return runs.map((run) => {
    const isSame =
      before !== undefined &&
      before.block === run.block &&
      hard.every((name) => before!.coded[name] === run.coded[name]);
    if (!isSame) plot++;
    before = run;
    return { ...run, wholePlot: plot };
  });
}
