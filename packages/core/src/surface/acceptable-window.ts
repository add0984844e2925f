import { type LinearLimit, lineInside } from './linear-limits.ts';

/** Probability of conforming at coded settings. */
export type Probability = (settings: Float64Array) => number;

/** Lowest and highest change along one axis, in the axis's own unit, ≤ 0 ≤. */
export interface AxisRange {
  readonly low: number;
  readonly high: number;
}

/** How far each axis may wander from the centre; both ends inside the limits. */
export interface AcceptableWindow {
  /** One axis at a time, the others held: lowest and highest change that keep the probability. */
  readonly alone: readonly AxisRange[];
  /** All at once: a box whose corners and faces all keep it. */
  readonly together: readonly AxisRange[];
  /** Smallest probability over the corners and faces of `together`. */
  readonly worst: number;
}

export interface WindowOf {
  readonly centre: Float64Array;
  readonly probability: Probability;
  readonly limits: readonly LinearLimit[];
  /** Probability to keep. */
  readonly asked: number;
  /** What one unit along each axis adds to the coded settings. */
  readonly axes: readonly Float64Array[];
  /** Largest changes to try along each axis, its own unit; none when left out. */
  readonly farthest?: readonly number[];
}

const STEPS = 16;
const HALVINGS = 7;
/** Past this many axes not every corner is looked at. */
const MOST_CORNERS = 256;

/**
 * The window round a centre: how far it may wander and still conform with the probability asked.
 * Null when the centre itself does not.
 *
 * The joint box starts in the proportions of the single ranges, is brought down until all its
 * corners and face centres keep the probability, and then grows side by side as far as they do.
 */
export function acceptableWindow(request: WindowOf): AcceptableWindow | null {
  const { centre, asked, axes, probability } = request;
  if (probability(centre) < asked) return null;
  const alone = axes.map((axis, a) => ({
    low: -farthestKept(request, axis, -1, request.farthest?.[a]),
    high: farthestKept(request, axis, 1, request.farthest?.[a]),
  }));
  const together = grown(request, shrunk(request, alone), alone);
  return { alone, together, worst: worstInBox(request, together, Number.NEGATIVE_INFINITY) };
}

/** How far one may go along an axis and keep the probability; coarse steps, then halvings. */
export function farthestKept(
  { centre, asked, probability, limits }: WindowOf,
  axis: Float64Array,
  sign: 1 | -1,
  farthest = Number.POSITIVE_INFINITY,
): number {
  const direction = axis.map((value) => sign * value);
  const end = Math.min(farthest, Math.max(0, lineInside(centre, direction, limits).to));
  if (!Number.isFinite(end) || end === 0) return 0;
  const keeps = (t: number): boolean =>
    probability(centre.map((value, i) => value + t * direction[i]!)) >= asked;
  let kept = 0;
  for (let step = 1; step <= STEPS; step++) {
    const t = (end * step) / STEPS;
    if (keeps(t)) {
      kept = t;
      continue;
    }
    let [low, high] = [kept, t];
    for (let n = 0; n < HALVINGS; n++) {
      const middle = (low + high) / 2;
      if (keeps(middle)) low = middle;
      else high = middle;
    }
    return low;
  }
  return kept;
}

/** The largest box of the given proportions that keeps the probability. */
function shrunk(request: WindowOf, alone: readonly AxisRange[]): AxisRange[] {
  const box = (share: number): AxisRange[] =>
    alone.map(({ low, high }) => ({ low: share * low, high: share * high }));
  const keeps = (share: number): boolean =>
    worstInBox(request, box(share), request.asked) >= request.asked;
  if (keeps(1)) return box(1);
  let [low, high] = [0, 1];
  for (let n = 0; n < HALVINGS; n++) {
    const middle = (low + high) / 2;
    if (keeps(middle)) low = middle;
    else high = middle;
  }
  return box(low);
}

/** Widens one side at a time by quarters of what is left to its single range, while all is kept. */
function grown(
  request: WindowOf,
  start: readonly AxisRange[],
  alone: readonly AxisRange[],
): AxisRange[] {
  let box = [...start];
  for (let round = 0; round < 2; round++) {
    for (const [a, range] of alone.entries()) {
      for (const side of ['low', 'high'] as const) {
        const own = box[a]!;
        const wider = { ...own, [side]: own[side] + (range[side] - own[side]) / 4 };
        if (wider[side] === own[side]) continue;
        const trial = box.map((each, i) => (i === a ? wider : each));
        if (worstInBox(request, trial, request.asked) >= request.asked) box = trial;
      }
    }
  }
  return box;
}

/**
 * Smallest probability over centre, faces and corners of a box; −∞ where a limit is broken. It stops
 * at the first place below `enough`.
 */
export function worstInBox(
  { centre, axes, probability, limits }: WindowOf,
  box: readonly AxisRange[],
  enough: number,
): number {
  let worst = Number.POSITIVE_INFINITY;
  for (const place of boxPlaces(centre, axes, box)) {
    const isInside = limits.every(({ weights, atMost }) => {
      let sum = 0;
      for (let i = 0; i < place.length; i++) sum += weights[i]! * place[i]!;
      return sum <= atMost + 1e-9;
    });
    worst = Math.min(worst, isInside ? probability(place) : Number.NEGATIVE_INFINITY);
    if (worst < enough) return worst;
  }
  return worst;
}

/** Corners first, then face centres, then the centre; corners alone would miss a dent in a face. */
function* boxPlaces(
  centre: Float64Array,
  axes: readonly Float64Array[],
  box: readonly AxisRange[],
): Generator<Float64Array> {
  const place = centre.slice();
  const moved = (changes: readonly number[]): Float64Array => {
    for (let i = 0; i < place.length; i++) {
      let value = centre[i]!;
      for (let a = 0; a < axes.length; a++) value += changes[a]! * axes[a]![i]!;
      place[i] = value;
    }
    return place;
  };
  const corners = 2 ** axes.length;
  // With many axes every so many corners stand for all; a stride prime to a power of two mixes them.
  const looked = Math.min(corners, MOST_CORNERS);
  for (let n = 0; n < looked; n++) {
    const mask = looked === corners ? n : (n * 40503) % corners;
    yield moved(box.map(({ low, high }, a) => ((mask >> a) & 1 ? high : low)));
  }
  for (const [a, { low, high }] of box.entries())
    for (const end of [low, high]) yield moved(box.map((_, b) => (b === a ? end : 0)));
  yield centre;
}
