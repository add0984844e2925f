import {
  brokenConstraints,
  codedPoint,
  type Line,
  type LinearConstraint,
  type NumericFactor,
  naturalPoint,
  normalUpper,
  type Point,
  type Product,
  type SetPoints,
  type SettingDefaults,
  setPointsOf,
  zonePositions,
} from '@strandwise/core';
import {
  fourZones,
  meltHistory,
  type SteadyState,
  type Surroundings,
  strandState,
  usualSurroundings,
} from './steady-state.ts';
import type { VirtualGrade } from './virtual-grade.ts';

export interface TrueOptimumOf {
  readonly factors: readonly NumericFactor[];
  readonly line: Line;
  readonly product: Product;
  readonly grade: VirtualGrade;
  readonly surroundings?: Surroundings;
  readonly defaults?: SettingDefaults;
  readonly constraints?: readonly LinearConstraint[];
  readonly mostFailureChance?: number;
  readonly mostUnmeltedPerMetre?: number;
}

/** The best setting of a virtual grade, known from its equations. */
export interface TrueOptimum {
  readonly natural: Point;
  readonly coded: Point;
  /** Rounded to what the controller takes. */
  readonly setPoints: SetPoints;
  /** At the unrounded setting. */
  readonly state: SteadyState;
  /** Share of length within tolerance when the mean is on target and readings are normal. */
  readonly conformingShare: number;
  readonly meetsLimits: boolean;
  /** Factors that end at an edge of their range: the optimum would lie beyond. */
  readonly onEdge: readonly string[];
}

/**
 * The steady state as a function of the natural factor settings, smooth: nothing is rounded.
 *
 * @throws {DomainError} `missing_setting` when a zone has neither factor nor default
 */
export function truth(options: TrueOptimumOf): (natural: Point) => SteadyState {
  const {
    factors,
    line,
    grade,
    product,
    defaults = {},
    surroundings = usualSurroundings,
  } = options;
  const fine = {
    ...line,
    setPointStepCelsius: 1e-6,
    screw: { ...line.screw, stepRpm: 1e-6 },
    fan: { stepPercent: 1e-6 },
  };
  // Zones are linear in the factors: read the map off once, at nought and one step along each.
  const nought = Object.fromEntries(factors.map((factor) => [factor.name, 0]));
  const base = setPointsOf(nought, factors, fine, defaults);
  const slopes = factors.map(({ name }) => {
    const along = setPointsOf({ ...nought, [name]: 100 }, factors, fine, defaults);
    return along.zonesCelsius.map((celsius, i) => (celsius - base.zonesCelsius[i]!) / 100);
  });
  const positions = zonePositions(line);
  return (natural) => {
    const zonesCelsius = [...base.zonesCelsius];
    let { screwRpm, fanPercent } = base;
    for (const [k, factor] of factors.entries()) {
      const value = Number(natural[factor.name]);
      if (factor.acts === 'screw') screwRpm = value;
      else if (factor.acts === 'fan') fanPercent = value;
      else for (let i = 0; i < zonesCelsius.length; i++) zonesCelsius[i]! += slopes[k]![i]! * value;
    }
    const settings = { zonesCelsius, screwRpm, fanPercent };
    const history = meltHistory(fourZones(zonesCelsius, positions), screwRpm, line, grade);
    return strandState(history, { settings, line, grade, product, surroundings });
  };
}

/**
 * The joint optimum by pattern search from a grid of starts: smallest SD of diameter among settings
 * that keep bubbles, unmelted grains, failures and output within their limits.
 *
 * Limits enter as an exact penalty on ln SD, steep enough that no setting gains by breaking one.
 */
export function trueOptimum(options: TrueOptimumOf): TrueOptimum {
  const { factors, line, product, defaults = {} } = options;
  const stateOf = truth(options);
  const value = (coded: readonly number[]): number => badness(coded, stateOf, options);
  const starts = startingPoints(factors.length)
    .map((coded) => ({ coded, at: value(coded) }))
    .sort((a, b) => a.at - b.at)
    .slice(0, 4);
  const found = starts.map(({ coded }) => patternSearch(coded, value));
  const best = found.reduce((a, b) => (b.at < a.at ? b : a));
  const natural = naturalPoint(asPoint(best.coded, factors), factors);
  const state = stateOf(natural);
  return {
    natural,
    coded: codedPoint(natural, factors),
    setPoints: setPointsOf(natural, factors, line, defaults),
    state,
    conformingShare: 1 - 2 * normalUpper(product.toleranceMm / state.sdMm),
    meetsLimits: excess(state, options) < 1e-3,
    onEdge: factors.filter((_, i) => Math.abs(best.coded[i]!) > 0.999).map((f) => f.name),
  };
}

function badness(
  coded: readonly number[],
  stateOf: (natural: Point) => SteadyState,
  options: TrueOptimumOf,
): number {
  const point = asPoint(coded, options.factors);
  const state = stateOf(naturalPoint(point, options.factors));
  const broken = options.constraints ? brokenConstraints(point, options.constraints).length : 0;
  return Math.log(state.sdMm) + 20 * excess(state, options) + 10 * broken;
}

/** How far the limits are broken, each against its own size; 0 when all are kept. */
function excess(state: SteadyState, options: TrueOptimumOf): number {
  const { product, mostFailureChance = 0.02, mostUnmeltedPerMetre = 0.5 } = options;
  const over = (got: number, most: number): number => Math.max(0, got / Math.max(most, 1e-6) - 1);
  return (
    over(state.bubblesPerMetre, product.mostBubblesPerMetre) +
    over(state.unmeltedPerMetre, mostUnmeltedPerMetre) +
    over(state.failureChance, mostFailureChance) +
    Math.max(0, 1 - state.outputKgPerHour / Math.max(product.leastOutputKgPerHour, 1e-6))
  );
}

const asPoint = (coded: readonly number[], factors: readonly NumericFactor[]): Point =>
  Object.fromEntries(factors.map((factor, i) => [factor.name, coded[i]!]));

/** Centre, and every corner of a half-size box: enough to reach every basin of a smooth surface. */
function startingPoints(k: number): number[][] {
  const corners = Array.from({ length: 2 ** Math.min(k, 6) }, (_, mask) =>
    Array.from({ length: k }, (_, i) => (i < 6 && (mask >> i) & 1 ? 0.5 : -0.5)),
  );
  return [new Array<number>(k).fill(0), ...corners];
}

/** Steps along axes and pairs of axes, halved when none helps, inside [−1, 1]. */
function patternSearch(
  start: readonly number[],
  value: (coded: readonly number[]) => number,
): { coded: number[]; at: number } {
  let coded = [...start];
  let at = value(coded);
  for (let step = 0.25; step > 0.002; ) {
    let isBetter = false;
    for (const move of moves(coded.length)) {
      const next = coded.map((x, i) => Math.max(-1, Math.min(1, x + step * move[i]!)));
      const valueThere = value(next);
      if (valueThere >= at - 1e-10) continue;
      coded = next;
      at = valueThere;
      isBetter = true;
    }
    if (!isBetter) step /= 2;
  }
  return { coded, at };
}

const moveTables = new Map<number, readonly (readonly number[])[]>();

function moves(k: number): readonly (readonly number[])[] {
  const known = moveTables.get(k);
  if (known) return known;
  const table: number[][] = [];
  for (let i = 0; i < k; i++) {
    for (const a of [-1, 1]) {
      table.push(Array.from({ length: k }, (_, m) => (m === i ? a : 0)));
      for (let j = i + 1; j < k; j++) {
        for (const b of [-1, 1])
          table.push(Array.from({ length: k }, (_, m) => (m === i ? a : m === j ? b : 0)));
      }
    }
  }
  moveTables.set(k, table);
  return table;
}
