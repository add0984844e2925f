import type { NumericFactor } from '../factor/factor.ts';
import { profileTermsFor } from '../factor/zone-profile.ts';
import type { SetPoints } from '../trade/line.ts';
import { refusals } from '../trade/refusal.ts';
import { type CornerRecord, cornerWalk, stoodBack } from './corner-check.ts';
import { bracketOf, type LevelBracket, levelSearch } from './level-search.ts';
import { makesStrand, type ScoutStep } from './look.ts';
import {
  insideLimits,
  isBracketed,
  rangeFactors,
  rangesFrom,
  type ScoutProfile,
  type ScoutRanges,
  scoutSetPoints,
} from './ranges.ts';
import type { ScoutOf } from './scout-of.ts';
import { type Sureness, sureness } from './sureness.ts';

/** Ranges for the plan, with what they rest on. */
export interface ScoutProposal {
  readonly ranges: ScoutRanges;
  readonly factors: readonly NumericFactor[];
  readonly bracket: LevelBracket;
  readonly centreCelsius: number;
  readonly corners: readonly CornerRecord[];
  readonly sureness: Sureness;
  readonly says: string;
}

export type ScoutAdvice =
  | {
      readonly kind: 'step';
      readonly purpose: ScoutStep['purpose'];
      readonly setPoints: SetPoints;
      readonly levelCelsius: number;
      readonly bracket: LevelBracket;
      readonly says: string;
    }
  | { readonly kind: 'done'; readonly proposal: ScoutProposal }
  | { readonly kind: 'nothing holds'; readonly bracket: LevelBracket; readonly says: string };

/**
 * The next step of scouting, or what it found: a pure function of the steps taken.
 *
 * First the level by halving, hot to cold, at the starting screw speed and air; then the corners of
 * the ranges it allows that would fail first, with the fastest screw, with least air, with the
 * slowest screw. A corner without a strand draws its range in and is tried again.
 */
export function scoutAdvice(scout: ScoutOf): ScoutAdvice {
  const profile = startProfile(scout);
  const at = (level: number): SetPoints => scoutSetPoints({ ...profile, level }, scout);
  const levelSteps = scout.steps.filter(({ purpose }) => purpose === 'level');
  const search = levelSearch(allowedLevels(profile, scout), levelSteps);
  if (search.kind === 'try') {
    return {
      kind: 'step',
      purpose: 'level',
      setPoints: at(search.celsius),
      levelCelsius: search.celsius,
      bracket: bracketOf(levelSteps),
      says: search.says,
    };
  }
  if (search.kind === 'nothing holds') return search;
  const { bracket } = search;
  if (!isBracketed(bracket)) return { kind: 'nothing holds', bracket, says: 'Nothing held.' };
  return corners(bracket, profile, scout);
}

function corners(
  bracket: LevelBracket & { goodLow: number; goodHigh: number },
  profile: ScoutProfile,
  scout: ScoutOf,
): ScoutAdvice {
  const looks = scout.steps.filter(({ purpose }) => purpose !== 'level').map(({ seen }) => seen);
  const walk = cornerWalk(rangesFrom(strandEdges(bracket, scout.steps), profile, scout), looks);
  const ranges = insideLimits(walk.ranges, scout);
  if (walk.next) {
    const values = walk.next.at(ranges);
    return {
      kind: 'step',
      purpose: walk.next.purpose,
      setPoints: scoutSetPoints(values, scout),
      levelCelsius: values.level!,
      bracket,
      says: walk.next.says,
    };
  }
  const proposed = stoodBack(ranges);
  const factors = rangeFactors(proposed);
  const sure = sureness(proposed, scout.steps, scout);
  const centreCelsius = (proposed.level.low + proposed.level.high) / 2;
  const proposal = {
    ranges: proposed,
    factors,
    bracket,
    centreCelsius,
    corners: walk.records,
    sureness: sure,
    says: proposalWords(bracket, walk.records, sure),
  };
  return { kind: 'done', proposal };
}

/**
 * Levels a plan may reach for: those that held, and half-way to a neighbour that was stiff or soft but
 * gave a strand. A narrow range would tell nothing of the grade.
 */
function strandEdges(
  { cold, goodLow, goodHigh, hot }: LevelBracket & { goodLow: number; goodHigh: number },
  steps: readonly ScoutStep[],
): { goodLow: number; goodHigh: number } {
  const gaveStrand = (celsius: number | null): celsius is number =>
    celsius !== null &&
    steps.every(
      ({ purpose, levelCelsius, seen }) =>
        purpose !== 'level' || levelCelsius !== celsius || makesStrand(seen),
    );
  return {
    goodLow: gaveStrand(cold) ? Math.ceil((cold + goodLow) / 2) : goodLow,
    goodHigh: gaveStrand(hot) ? Math.floor((hot + goodHigh) / 2) : goodHigh,
  };
}

function proposalWords(
  { goodLow, goodHigh, cold, hot }: LevelBracket,
  records: readonly CornerRecord[],
  sure: Sureness,
): string {
  const edge = (celsius: number | null, side: string): string =>
    celsius === null ? `no ${side} edge was met` : `too ${side} at ${celsius} °C`;
  const held = records.filter((record) => record.held).length;
  const pulled = records.filter((record) => record.attempts > 1).map(({ corner }) => corner.name);
  return [
    `Held its shape from ${goodLow} to ${goodHigh} °C; ${edge(cold, 'cold')}, ${edge(hot, 'hot')}.`,
    `${held} of the ${records.length} corners that fail first were tried and gave a strand${pulled.length > 0 ? `, after drawing in ${pulled.join(', ')}` : ''}.`,
    sure.says,
  ].join(' ');
}

/** Levels whose set points break no limit, one controller step apart. */
function allowedLevels(profile: ScoutProfile, scout: ScoutOf): number[] {
  const { grade, line, product } = scout;
  const out: number[] = [];
  for (
    let level = Math.ceil(grade.floorCelsius - 30);
    level <= grade.ceilingCelsius + 30;
    level += line.setPointStepCelsius
  ) {
    const broken = refusals(scoutSetPoints({ ...profile, level }, scout), line, grade, product);
    if (broken.length === 0) out.push(level);
  }
  return out;
}

/** Tilt and hump of the start; flattened where they would leave less than half of the window. */
function startProfile(scout: ScoutOf): ScoutProfile {
  const { fixed, grade, line } = scout;
  const usable = profileTermsFor(line.zones.length);
  const full = {
    tilt: usable.includes('tilt') ? (fixed['tilt'] ?? 20) : 0,
    hump: usable.includes('hump') ? (fixed['hump'] ?? 10) : 0,
    screw: fixed['screw'] ?? Math.min(Math.max(5, line.screw.lowRpm), line.screw.highRpm),
    fan: fixed['fan'] ?? 50,
  };
  const enough = (grade.ceilingCelsius - grade.floorCelsius) / 2;
  for (const share of [1, 0.5]) {
    const profile = { ...full, tilt: share * full.tilt, hump: share * full.hump };
    const levels = allowedLevels(profile, scout);
    if (levels.length > 0 && levels.at(-1)! - levels[0]! >= enough) return profile;
  }
  return { ...full, tilt: 0, hump: 0 };
}
