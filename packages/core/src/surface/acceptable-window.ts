/** Probability of conforming at coded settings. */
export type Probability = (settings: Float64Array) => number;

/** Lowest and highest coded setting of one factor. */
export interface CodedRange {
  readonly low: number;
  readonly high: number;
}

/** How far each free factor may wander from the centre, coded; both ends inside the studied range. */
export interface AcceptableWindow {
  /** One factor at a time, the others held: lowest and highest setting that keep the probability. */
  readonly alone: readonly CodedRange[];
  /** All at once: the largest box of the same proportions whose corners and faces all keep it. */
  readonly together: readonly CodedRange[];
  /** Smallest probability over the corners and faces of `together`. */
  readonly worst: number;
}

export interface WindowOf {
  readonly centre: Float64Array;
  readonly probability: Probability;
  readonly isAllowed: (settings: Float64Array) => boolean;
  /** Probability to keep. */
  readonly asked: number;
  /** Positions that may wander; named factors stay at their level. */
  readonly free: readonly number[];
  /** Half-width of the studied range, coded; 1 for a box design. */
  readonly reach?: number;
}

const STEPS = 60;
const SHRINK_STEPS = 40;

/**
 * The window round a centre: how far settings may wander and still conform with the probability
 * asked. Null when the centre itself does not.
 */
export function acceptableWindow(request: WindowOf): AcceptableWindow | null {
  const { centre, asked, free, reach = 1 } = request;
  const keeps = (settings: Float64Array): boolean =>
    request.isAllowed(settings) && request.probability(settings) >= asked;
  if (!keeps(centre)) return null;
  const alone = free.map((i) => ({
    low: farthest(centre, i, -reach, keeps),
    high: farthest(centre, i, reach, keeps),
  }));
  for (let step = SHRINK_STEPS; step >= 0; step--) {
    const share = step / SHRINK_STEPS;
    const together = alone.map(({ low, high }, f) => {
      const middle = centre[free[f]!]!;
      return { low: middle + share * (low - middle), high: middle + share * (high - middle) };
    });
    const places = boxPlaces(centre, free, together);
    if (!places.every(keeps)) continue;
    return { alone, together, worst: Math.min(...places.map(request.probability)) };
  }
  return null;
}

/** The last setting of one factor, going from the centre towards `end`, that keeps the probability. */
function farthest(
  centre: Float64Array,
  i: number,
  end: number,
  keeps: (settings: Float64Array) => boolean,
): number {
  const from = centre[i]!;
  let last = from;
  for (let step = 1; step <= STEPS; step++) {
    const value = from + ((end - from) * step) / STEPS;
    const settings = centre.slice();
    settings[i] = value;
    if (!keeps(settings)) break;
    last = value;
  }
  return last;
}

/** Corners and face centres of a box; corners alone would miss a dent in a face. */
function boxPlaces(
  centre: Float64Array,
  free: readonly number[],
  box: readonly CodedRange[],
): Float64Array[] {
  const places: Float64Array[] = [centre.slice()];
  for (let mask = 0; mask < 2 ** free.length; mask++) {
    const corner = centre.slice();
    for (const [f, { low, high }] of box.entries()) corner[free[f]!] = (mask >> f) & 1 ? high : low;
    places.push(corner);
  }
  for (const [f, { low, high }] of box.entries()) {
    for (const end of [low, high]) {
      const face = centre.slice();
      face[free[f]!] = end;
      places.push(face);
    }
  }
  return places;
}
