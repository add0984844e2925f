import { type RatioScale, ratioScale } from './ratio-scale.ts';
import type { RemlCriterion, RemlState } from './reml.ts';
import type { StrataSums } from './strata-sums.ts';
import { criterionSlope, remlMoments } from './variance-information.ts';

/** Ratios tried before the search, so that a second hill is not missed. */
const GRID = [0, 0.02, 0.1, 0.4, 1, 3, 10, 50, 500];
const MAX_STEPS = 60;
/** Slope of a criterion of size n at the top; its rounding is near 1e-13. */
const SLOPE_TOLERANCE = 1e-10;

/**
 * Ratios of highest restricted likelihood, each zero or more.
 *
 * A coarse grid picks the start; then Newton steps on the scale of `ratioScale`, with the Hessian
 * made definite, steps halved until the criterion falls, and components held at zero while the
 * criterion rises away from it.
 *
 * @returns the state at the top
 * @accuracy ratios to about 1e-9 relative (the slope is driven to 1e-10); tested against lme4 to 1e-6
 */
export function remlMaximum(criterion: RemlCriterion, data: StrataSums): RemlState {
  const scale = ratioScale(data);
  let u = startOf(criterion, scale);
  let state = criterion.state(scale.ratios(u));
  for (let step = 0; step < MAX_STEPS; step++) {
    const { gradient, hessian } = scaledSlope(state, scale);
    const isHeld = u.map((value, k) => value <= scale.floor[k]! && gradient[k]! >= 0);
    const free = gradient.map((g, k) => (isHeld[k] ? 0 : Math.abs(g)));
    if (Math.max(...free) < SLOPE_TOLERANCE) break;
    const next = descend(criterion, state, scale, u, newtonMove(gradient, hessian, isHeld));
    if (next === undefined) break;
    u = next;
    state = criterion.state(scale.ratios(u));
  }
  return state;
}

function startOf(criterion: RemlCriterion, scale: RatioScale): number[] {
  const strata = scale.floor.length;
  let best = Number.POSITIVE_INFINITY;
  let at: number[] = Array.from({ length: strata }, () => 1);
  for (const outer of GRID) {
    for (const inner of strata === 2 ? GRID : [0]) {
      const value = criterion.value([outer, inner]);
      if (value < best) {
        best = value;
        at = [outer, inner].slice(0, strata);
      }
    }
  }
  return scale.values(at);
}

function scaledSlope(state: RemlState, scale: RatioScale) {
  const q = state.plots.length;
  const { gradient, hessian } = criterionSlope(state, remlMoments(state));
  const size = Array.from(state.ratios, (ratio, k) => ratio + Math.exp(scale.floor[k]!));
  const scaled = Array.from({ length: q * q }, (_, at) => {
    const k = Math.floor(at / q);
    const l = at % q;
    return hessian[at]! * size[k]! * size[l]! + (k === l ? gradient[k]! * size[k]! : 0);
  });
  return { gradient: Array.from(gradient, (g, k) => g * size[k]!), hessian: scaled };
}

/** −|H|⁻¹g over the components that are free, |H| with the signs of its curvatures made positive. */
function newtonMove(gradient: number[], hessian: number[], isHeld: boolean[]): number[] {
  const q = gradient.length;
  const isPair = q === 2 && !isHeld[0] && !isHeld[1];
  if (!isPair) {
    return gradient.map((g, k) =>
      isHeld[k] ? 0 : -g / Math.max(Math.abs(hessian[k * q + k]!), 1e-9),
    );
  }
  const [a, b, d] = [hessian[0]!, hessian[1]!, hessian[3]!];
  const angle = Math.atan2(2 * b, a - d) / 2;
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  const reach = Math.hypot((a - d) / 2, b);
  const curvature = [(a + d) / 2 + reach, (a + d) / 2 - reach].map((value) =>
    Math.max(Math.abs(value), 1e-9),
  );
  const along = -(c * gradient[0]! + s * gradient[1]!) / curvature[0]!;
  const across = -(-s * gradient[0]! + c * gradient[1]!) / curvature[1]!;
  return [c * along - s * across, s * along + c * across];
}

/** First of the step, its half, its quarter … that does not raise the criterion. */
function descend(
  criterion: RemlCriterion,
  state: RemlState,
  scale: RatioScale,
  u: readonly number[],
  move: readonly number[],
): number[] | undefined {
  const longest = Math.max(...move.map(Math.abs));
  let share = longest > 4 ? 4 / longest : 1;
  // Near the top the criterion is flat to rounding: a step there must not be refused for it.
  const slack = 1e-13 * (1 + Math.abs(state.criterion));
  for (let halving = 0; halving < 40; halving++, share /= 2) {
    const next = scale.bounded(u.map((value, k) => value + share * move[k]!));
    if (next.every((value, k) => Math.abs(value - u[k]!) < 1e-14)) return undefined;
    if (criterion.value(scale.ratios(next)) <= state.criterion + slack) return next;
  }
  return undefined;
}
