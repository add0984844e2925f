import { isNumeric } from '../factor/factor-kind.ts';
import {
  type AcceptableWindow,
  type AxisRange,
  acceptableWindow,
  type Probability,
} from '../surface/acceptable-window.ts';
import { linearLimits } from '../surface/linear-limits.ts';
import { movingAxes } from '../surface/set-up-wander.ts';
import type { SetPoints } from '../trade/line.ts';
import type { Predictor } from './predictor.ts';

/** One factor's part of a window, in its own unit. */
export interface WindowRange {
  readonly factor: string;
  readonly unit: string;
  readonly at: number;
  /** This factor alone may wander from low to high. */
  readonly alone: readonly [low: number, high: number];
  /** All factors may wander together within these. */
  readonly together: readonly [low: number, high: number];
  /** The studied range, beyond which nothing is known. */
  readonly studied: readonly [low: number, high: number];
}

/** One set point's part of a window: what the operator may let it drift to. */
export interface SetPointRange {
  readonly setPoint: string;
  readonly unit: string;
  readonly at: number;
  readonly alone: readonly [low: number, high: number];
  readonly together: readonly [low: number, high: number];
  /** At least one controller step either way, others held. */
  readonly hasMargin: boolean;
}

/** How far a recipe may wander, in factors and in set points. */
export interface RecipeWindow {
  readonly factors: readonly WindowRange[];
  readonly setPoints: readonly SetPointRange[];
  /** Smallest probability over the joint box of the factors. */
  readonly worst: number;
}

/** The window round a place; null when the place itself does not conform as asked. */
export function recipeWindow(
  predictor: Predictor,
  place: { readonly settings: Float64Array; readonly setPoints: SetPoints },
  { asked, probability }: { readonly asked: number; readonly probability: Probability },
): RecipeWindow | null {
  const { state, constraints, wander } = predictor;
  const { factors } = state.opened;
  const { settings: centre, setPoints } = place;
  const numeric = factors.flatMap((factor, i) => (isNumeric(factor) ? [i] : []));
  // The centre may stand a rounding step outside ±1.
  const reach = Math.max(1, ...numeric.map((i) => Math.abs(centre[i]!)));
  const limits = linearLimits(factors, constraints, reach);
  const shared = { centre, asked, probability, limits };
  const axes = numeric.map((i) => {
    const axis = new Float64Array(factors.length);
    axis[i] = 1;
    return axis;
  });
  const found = acceptableWindow({ ...shared, axes });
  if (!found) return null;
  const moving = movingAxes(wander);
  const drift = acceptableWindow({
    ...shared,
    axes: moving.map(({ shift, within }) => shift.map((value) => value / within)),
  })!;
  return {
    factors: numeric.map((i, f) => factorRange(predictor, { i, f, at: centre[i]! }, found)),
    setPoints: moving.map(({ name, unit, within }, a) => {
      const at = setPointAt(setPoints, name, predictor);
      const alone = shifted(at, drift.alone[a]!);
      return {
        setPoint: name,
        unit,
        at,
        alone,
        together: shifted(at, drift.together[a]!),
        hasMargin: alone[1] - at >= within - 1e-9 && at - alone[0] >= within - 1e-9,
      };
    }),
    worst: found.worst,
  };
}

const shifted = (at: number, { low, high }: AxisRange): readonly [number, number] => [
  at + low,
  at + high,
];

function factorRange(
  { state }: Predictor,
  { i, f, at }: { readonly i: number; readonly f: number; readonly at: number },
  { alone, together }: AcceptableWindow,
): WindowRange {
  const factor = state.opened.factors[i]!;
  if (!isNumeric(factor)) throw new TypeError('only numeric factors have ranges');
  const { low, high } = factor;
  const natural = (coded: number): number => (low + high) / 2 + (coded * (high - low)) / 2;
  const range = (change: AxisRange): readonly [number, number] => [
    natural(at + change.low),
    natural(at + change.high),
  ];
  return {
    factor: factor.name,
    unit: factor.unit ?? '',
    at: natural(at),
    alone: range(alone[f]!),
    together: range(together[f]!),
    studied: [low, high],
  };
}

function setPointAt(setPoints: SetPoints, name: string, { state }: Predictor): number {
  const zone = state.opened.line.zones.findIndex((each) => each.name === name);
  if (zone >= 0) return setPoints.zonesCelsius[zone]!;
  const other = setPoints.other[name];
  if (other !== undefined) return Number(other);
  return name === 'screw' ? setPoints.screwRpm : setPoints.fanPercent;
}
