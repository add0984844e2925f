import type { NumericFactor } from '../factor/factor.ts';
import { type ProfileTerm, profileTermsFor, zoneTemperatures } from '../factor/zone-profile.ts';
import { setPointsOf } from '../trade/limits.ts';
import type { Line, SetPoints } from '../trade/line.ts';
import { refusals } from '../trade/refusal.ts';
import type { LevelBracket } from './level-search.ts';
import type { ScoutOf } from './scout-of.ts';

export interface Range {
  readonly low: number;
  readonly high: number;
}

/** What scouting settles, by what it moves: °C for the profile, rpm, per cent of the fan. */
export type ScoutTerm = Exclude<ProfileTerm, 'ripple'> | 'screw' | 'fan';
export type ScoutRanges = Readonly<Partial<Record<ScoutTerm, Range>>> & {
  readonly level: Range;
  readonly screw: Range;
  readonly fan: Range;
};

/** Half-widths proposed before the corners are tried; common practice, no source. */
const usualHalf = { level: 15, tilt: 10, hump: 8, screwShare: 0.35, fan: 25 };
/** Narrower ranges than this tell nothing: effects sink under the noise; common practice, no source. */
const leastLevelWidth = 8;

/** Where a scouted profile stands: what is not scouted keeps these. */
export interface ScoutProfile {
  readonly tilt: number;
  readonly hump: number;
  readonly screw: number;
  readonly fan: number;
}

/** Numeric factors of the ranges, as a study takes them. */
export function rangeFactors(ranges: ScoutRanges): NumericFactor[] {
  const kinds = {
    level: ['°C', 'hard'],
    tilt: ['°C', 'hard'],
    hump: ['°C', 'hard'],
    screw: ['rpm', 'semi-hard'],
    fan: ['%', 'easy'],
  } as const;
  return (Object.keys(kinds) as ScoutTerm[]).flatMap((name): NumericFactor[] => {
    const range = ranges[name];
    if (!range || !(range.low < range.high)) return [];
    const [unit, changes] = kinds[name];
    return [{ name, ...range, unit, changes, acts: name }];
  });
}

/** Set points at given values of the terms. */
export function scoutSetPoints(
  values: Readonly<Partial<Record<ScoutTerm, number>>>,
  { line }: Pick<ScoutOf, 'line'>,
): SetPoints {
  const usable = profileTermsFor(line.zones.length);
  const zonesCelsius = zoneTemperatures(
    {
      level: values.level ?? 0,
      ...(usable.includes('tilt') ? { tilt: values.tilt ?? 0 } : {}),
      ...(usable.includes('hump') ? { hump: values.hump ?? 0 } : {}),
    },
    line,
  );
  return setPointsOf({}, [], line, {
    zonesCelsius,
    ...(values.screw === undefined ? {} : { screwRpm: values.screw }),
    ...(values.fan === undefined ? {} : { fanPercent: values.fan }),
  });
}

/** Every corner of the ranges, as values of the terms. */
export function rangeCorners(ranges: ScoutRanges): Partial<Record<ScoutTerm, number>>[] {
  let corners: Partial<Record<ScoutTerm, number>>[] = [{}];
  for (const [term, range] of Object.entries(ranges) as [ScoutTerm, Range][]) {
    const ends = range.low < range.high ? [range.low, range.high] : [range.low];
    corners = corners.flatMap((corner) => ends.map((end) => ({ ...corner, [term]: end })));
  }
  return corners;
}

/**
 * Weights of the zones in the melt that leaves the die: rising towards the die, where the melt goes
 * last (common practice, no source).
 */
export function dieWeights({ zones }: Pick<Line, 'zones'>): number[] {
  const raw = zones.map((_, i) => i + 0.5);
  const sum = raw.reduce((a, b) => a + b, 0);
  return raw.map((weight) => weight / sum);
}

const dot = (a: readonly number[], b: readonly number[]): number =>
  a.reduce((sum, value, i) => sum + value * b[i]!, 0);

/** How hot the melt is at the die, and how warm the zones are that melt it. */
export function heatOf(
  zonesCelsius: readonly number[],
  line: Line,
): { die: number; melting: number } {
  const before = line.zones.length > 1 ? zonesCelsius.slice(0, -1) : zonesCelsius;
  return {
    die: dot(dieWeights(line), zonesCelsius),
    melting: before.reduce((a, b) => a + b, 0) / before.length,
  };
}

/**
 * First ranges from a bracket of levels: the widest levels whose corners are nowhere hotter at the
 * die than the hottest good level was, and nowhere colder where pellets melt than the coldest good
 * level was. Where tilt and hump leave too little of the level, they shrink.
 */
export function rangesFrom(
  { goodLow, goodHigh }: { readonly goodLow: number; readonly goodHigh: number },
  profile: ScoutProfile,
  scout: ScoutOf,
): ScoutRanges {
  let widest: ScoutRanges | null = null;
  for (const share of [1, 0.7, 0.5, 0.3, 0.15]) {
    const ranges = withLevels({ goodLow, goodHigh }, profile, scout, share);
    const isWider =
      widest === null ||
      ranges.level.high - ranges.level.low > widest.level.high - widest.level.low;
    if (isWider) widest = ranges;
    if (ranges.level.high - ranges.level.low >= leastLevelWidth) return ranges;
  }
  return widest!;
}

function withLevels(
  { goodLow, goodHigh }: { readonly goodLow: number; readonly goodHigh: number },
  profile: ScoutProfile,
  scout: ScoutOf,
  share: number,
): ScoutRanges {
  const { line } = scout;
  const usable = profileTermsFor(line.zones.length);
  const around = (centre: number, half: number): Range => ({
    low: Math.round(centre - share * half),
    high: Math.round(centre + share * half),
  });
  const shape = {
    ...(usable.includes('tilt') ? { tilt: around(profile.tilt, usualHalf.tilt) } : {}),
    ...(usable.includes('hump') ? { hump: around(profile.hump, usualHalf.hump) } : {}),
  };
  const shapes = rangeCorners({ level: { low: 0, high: 0 }, ...shape } as ScoutRanges).map(
    (corner) => heatOf(scoutZones(corner, line), line),
  );
  const scouted = heatOf(scoutZones({ ...profile, level: 0 }, line), line);
  // Level adds one to one to both, so offsets at level 0 are all that is needed.
  const low = goodLow + scouted.melting - Math.min(...shapes.map(({ melting }) => melting));
  const high = goodHigh + scouted.die - Math.max(...shapes.map(({ die }) => die));
  const middle = (low + high) / 2;
  const half = Math.max(2, Math.min(usualHalf.level, (high - low) / 2));
  const level = { low: Math.ceil(middle - half), high: Math.floor(middle + half) };
  return insideLimits({ level, ...shape, ...easyRanges(profile, line) }, scout);
}

const scoutZones = (
  values: Readonly<Partial<Record<ScoutTerm, number>>>,
  line: Line,
): readonly number[] =>
  zoneTemperatures(
    {
      level: values.level ?? 0,
      ...(line.zones.length > 1 ? { tilt: values.tilt ?? 0 } : {}),
      ...(line.zones.length > 2 ? { hump: values.hump ?? 0 } : {}),
    },
    line,
  );

function easyRanges({ screw, fan }: ScoutProfile, line: Line): { screw: Range; fan: Range } {
  const round = (rpm: number): number =>
    Number((Math.round(rpm / line.screw.stepRpm) * line.screw.stepRpm).toFixed(6));
  return {
    screw: {
      low: round(Math.max(line.screw.lowRpm, screw * (1 - usualHalf.screwShare))),
      high: round(Math.min(line.screw.highRpm, screw * (1 + usualHalf.screwShare))),
    },
    fan: { low: Math.max(0, fan - usualHalf.fan), high: Math.min(100, fan + usualHalf.fan) },
  };
}

/** Draws the ranges in until no corner breaks a limit of grade or line. */
export function insideLimits(ranges: ScoutRanges, scout: ScoutOf): ScoutRanges {
  let now = ranges;
  for (let i = 0; i < 60; i++) {
    const codes = new Set(
      rangeCorners(now).flatMap((corner) =>
        refusals(scoutSetPoints(corner, scout), scout.line, scout.grade, scout.product).map(
          ({ code }) => code,
        ),
      ),
    );
    if (codes.size === 0) return now;
    const { level, tilt, hump, screw } = now;
    const next: ScoutRanges = {
      ...now,
      level: {
        low: codes.has('below_floor') ? Math.min(level.low + 1, level.high - 2) : level.low,
        high:
          codes.has('above_ceiling') || codes.has('above_heater_limit')
            ? Math.max(level.high - 1, level.low + 2)
            : level.high,
      },
      ...(codes.has('neighbour_step') && tilt ? { tilt: drawnIn(tilt) } : {}),
      ...(codes.has('neighbour_step') && hump ? { hump: drawnIn(hump) } : {}),
      ...(codes.has('puller_range') || codes.has('screw_range') ? { screw: shrunk(screw) } : {}),
    };
    now = next;
  }
  return now;
}

const drawnIn = ({ low, high }: Range): Range =>
  high - low > 2 ? { low, high: high - 1 } : { low: low - 1, high: high - 1 };
const shrunk = ({ low, high }: Range): Range => ({
  low: Number((low + 0.1).toFixed(6)),
  high: Number((high - 0.1).toFixed(6)),
});

/** True when the bracket has both good ends. */
export const isBracketed = (
  bracket: LevelBracket,
): bracket is LevelBracket & { goodLow: number; goodHigh: number } =>
  bracket.goodLow !== null && bracket.goodHigh !== null;
