/**
 * How far the settings of one set-up may stand from what was asked: each set point anywhere within
 * its tolerance, all places alike, independently of the others.
 */
export interface SetUpWander {
  readonly axes: readonly WanderAxis[];
}

/** One set point: what it does to the coded settings at the end of its tolerance. */
export interface WanderAxis {
  readonly name: string;
  /** Tolerance either way, in the set point's own unit. */
  readonly within: number;
  readonly unit: string;
  /** Change of each factor, coded, in the order of the factors, at `within` above the set point. */
  readonly shift: Float64Array;
}

/** Settings hit exactly. */
export const noWander: SetUpWander = { axes: [] };

/** Axes that move something. */
export const movingAxes = ({ axes }: SetUpWander): WanderAxis[] =>
  axes.filter(({ shift }) => shift.some((value) => value !== 0));
