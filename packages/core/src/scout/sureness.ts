import { feasibilityAt, fitFeasibility } from '../fit/feasibility.ts';
import type { SetPoints } from '../trade/line.ts';
import { outcomeOf, type ScoutStep } from './look.ts';
import { heatOf, rangeCorners, type ScoutRanges, scoutSetPoints } from './ranges.ts';
import type { ScoutOf } from './scout-of.ts';

/** How sure it is that every corner of proposed ranges gives a strand. */
export interface Sureness {
  readonly corners: number;
  /** Chance that the worst corner gives a strand, from the feasibility model of the steps. */
  readonly worstChance: number;
  readonly worstLow: number;
  /** Mean chance over the corners: the share of corner cells to expect a strand from. */
  readonly meanChance: number;
  readonly says: string;
}

/** Scales that bring the three covariates to about one; °C, °C, and per cent of speed. */
const unit = { celsius: 10, lnRpm: 0.3 };

/** What decides whether a strand forms: heat where pellets melt, heat at the die, screw speed. */
function covariates({ zonesCelsius, screwRpm }: SetPoints, { line, grade }: ScoutOf): number[] {
  const { melting, die } = heatOf(zonesCelsius, line);
  return [
    1,
    (melting - grade.floorCelsius) / unit.celsius,
    (die - grade.floorCelsius) / unit.celsius,
    Math.log(screwRpm) / unit.lnRpm,
  ];
}
const names = ['intercept', 'heat where pellets melt', 'heat at the die', 'screw'];

/**
 * The same model of cold, runs, hot and no feed as the analyst's, on the steps of scouting, asked at
 * every corner. Its terms are few, as a dozen steps carry no more: the lower limit is wide, and is
 * meant to be.
 */
export function sureness(
  ranges: ScoutRanges,
  steps: readonly ScoutStep[],
  scout: ScoutOf,
): Sureness {
  const rows = steps.map(({ setPoints }) => covariates(setPoints, scout));
  const result = fitFeasibility({
    x: { rows: rows.length, cols: names.length, data: Float64Array.from(rows.flat()) },
    outcomes: steps.map(({ seen }) => outcomeOf(seen)),
    names,
  });
  const corners = rangeCorners(ranges).map((corner) =>
    covariates(scoutSetPoints(corner, scout), scout),
  );
  if (result.kind === 'none-run')
    return {
      corners: corners.length,
      worstChance: 0,
      worstLow: 0,
      meanChance: 0,
      says: result.words,
    };
  if (result.kind === 'all-run') {
    const worstLow = 1 - result.upperFail;
    return { corners: corners.length, worstChance: 1, worstLow, meanChance: 1, says: result.words };
  }
  const chances = corners.map((corner) => feasibilityAt(result, corner));
  const worstChance = Math.min(...chances.map(({ runs }) => runs));
  const worstLow = Math.min(...chances.map(({ low }) => low));
  const meanChance = chances.reduce((sum, { runs }) => sum + runs, 0) / chances.length;
  return {
    corners: corners.length,
    worstChance,
    worstLow,
    meanChance,
    says: `By the model of ${steps.length} steps ${Math.round(100 * meanChance)} % of the corner cells should give a strand, the worst of ${corners.length} corners gives a strand with chance ${worstChance.toFixed(2)} (not below ${worstLow.toFixed(2)}).`,
  };
}
