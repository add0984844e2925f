import type { StrandLook } from '../study/event.ts';
import { makesStrand, warmthOf } from './look.ts';
import type { Range, ScoutRanges, ScoutTerm } from './ranges.ts';

/** A corner that is tried, because it is the worst in its own way. */
export interface WorstCorner {
  readonly name: string;
  readonly purpose: 'screw' | 'fan' | 'corner';
  readonly at: (ranges: ScoutRanges) => Partial<Record<ScoutTerm, number>>;
  readonly says: string;
}

const ends = (
  ranges: ScoutRanges,
  wanted: Partial<Record<ScoutTerm, 'low' | 'high' | 'middle'>>,
): Partial<Record<ScoutTerm, number>> =>
  Object.fromEntries(
    (Object.entries(ranges) as [ScoutTerm, Range][]).map(([term, { low, high }]) => {
      const end = wanted[term] ?? 'middle';
      return [term, end === 'low' ? low : end === 'high' ? high : (low + high) / 2];
    }),
  );

/** The corners that fail first, in the order they are tried. */
export const worstCorners: readonly WorstCorner[] = [
  {
    name: 'cold and fast',
    purpose: 'screw',
    // A steep tilt and a flat hump leave least heat where pellets melt.
    at: (ranges) =>
      ends(ranges, { level: 'low', tilt: 'high', hump: 'low', screw: 'high', fan: 'middle' }),
    says: 'The coldest zones with the fastest screw: does it still melt through?',
  },
  {
    name: 'hot and fast',
    purpose: 'screw',
    at: (ranges) =>
      ends(ranges, { level: 'high', tilt: 'high', hump: 'high', screw: 'high', fan: 'middle' }),
    says: 'The hottest die with the fastest screw: does the strand still hold?',
  },
  {
    name: 'little air',
    purpose: 'fan',
    at: (ranges) => ends(ranges, { screw: 'high', fan: 'low' }),
    says: 'The middle with the fastest screw and least air: is the strand firm at the puller?',
  },
  {
    name: 'hot and slow',
    purpose: 'corner',
    at: (ranges) =>
      ends(ranges, { level: 'high', tilt: 'high', hump: 'high', screw: 'low', fan: 'low' }),
    says: 'The hottest die with the slowest screw, the longest time in the barrel.',
  },
  {
    name: 'hot feed',
    purpose: 'corner',
    at: (ranges) =>
      ends(ranges, { level: 'high', tilt: 'low', hump: 'low', screw: 'low', fan: 'middle' }),
    says: 'The hottest feed zone: do pellets still feed?',
  },
];

/** Attempts at a corner before it is drawn in unseen. */
const mostAttempts = 3;

export interface CornerRecord {
  readonly corner: WorstCorner;
  readonly held: boolean;
  readonly attempts: number;
}

export interface CornerWalk {
  readonly ranges: ScoutRanges;
  readonly records: readonly CornerRecord[];
  /** The corner to try next; null when all have been. */
  readonly next: WorstCorner | null;
}

/**
 * Tries the worst corners one after the other. One that gives no strand is drawn in and tried again,
 * up to three times; the last time it is drawn in without another look.
 *
 * @param looks - what was seen, in the order of the steps
 */
export function cornerWalk(first: ScoutRanges, looks: readonly StrandLook[]): CornerWalk {
  let ranges = first;
  const records: CornerRecord[] = [];
  let attempts = 0;
  for (const look of looks) {
    const corner = worstCorners[records.length];
    if (!corner) break;
    attempts++;
    const held = makesStrand(look) && !(corner.purpose === 'fan' && warmthOf(look) > 0);
    if (!held) ranges = drawnInFor(ranges, look, corner);
    if (!held && attempts < mostAttempts) continue;
    records.push({ corner, held, attempts });
    attempts = 0;
  }
  return { ranges, records, next: worstCorners[records.length] ?? null };
}

/** The ranges with the end drawn in that the look speaks against. */
function drawnInFor(ranges: ScoutRanges, look: StrandLook, { purpose }: WorstCorner): ScoutRanges {
  const { level, tilt, screw, fan } = ranges;
  const width = level.high - level.low;
  if (purpose === 'fan') return { ...ranges, fan: { ...fan, low: Math.min(fan.low + 15, 45) } };
  if (look === 'no feed') {
    return {
      ...ranges,
      level: { ...level, high: level.high - Math.max(1, Math.round(0.2 * width)) },
      ...(tilt && tilt.high - tilt.low > 2
        ? { tilt: { ...tilt, low: tilt.low + Math.round(0.4 * (tilt.high - tilt.low)) } }
        : {}),
    };
  }
  if (warmthOf(look) > 0) {
    return {
      ...ranges,
      level: { ...level, high: level.high - Math.max(1, Math.round(0.3 * width)) },
    };
  }
  return {
    ...ranges,
    level: { ...level, low: level.low + Math.max(1, Math.round(0.25 * width)) },
    screw: {
      ...screw,
      high: Number((screw.high - 0.15 * (screw.high - screw.low)).toFixed(1)),
    },
  };
}

/**
 * Kept between a corner that was seen to hold and the ranges that are proposed, °C: a corner that held
 * once may fail the next time. Hot failures come on over more degrees than cold ones (common
 * practice, no source).
 */
const standBackCelsius = { cold: 2, hot: 6 };
/** Levels are not drawn in below this width for the sake of standing back, °C. */
const leastWidthCelsius = 8;

/** The ranges a little inside the corners that were tried. */
export function stoodBack(ranges: ScoutRanges): ScoutRanges {
  const { level } = ranges;
  const spare = Math.max(0, level.high - level.low - leastWidthCelsius);
  const share = Math.min(1, spare / (standBackCelsius.cold + standBackCelsius.hot));
  return {
    ...ranges,
    level: {
      low: level.low + Math.round(share * standBackCelsius.cold),
      high: level.high - Math.round(share * standBackCelsius.hot),
    },
  };
}
