import type { LinearConstraint } from '../design/design.ts';
import { DomainError } from '../error/domain-error.ts';
import type { Point } from '../factor/coding.ts';
import type { Factor, NumericFactor } from '../factor/factor.ts';
import { isNamed, isNumeric } from '../factor/factor-kind.ts';
import {
  type ProfileTerm,
  profileBasis,
  profileOf,
  profileTerms,
  profileTermsFor,
  roundedTo,
  zoneTemperatures,
} from '../factor/zone-profile.ts';
import type { Grade, Product } from './grade.ts';
import type { Line, SetPoints } from './line.ts';
import { lineSpeedMmPerSecond } from './output.ts';

/** Distance to keep from the heater's own limit, °C; common practice, no source. */
export const heaterMarginCelsius = 10;

/** Settings of everything that is not a factor. */
export interface SettingDefaults {
  readonly zonesCelsius?: readonly number[];
  readonly screwRpm?: number;
  readonly fanPercent?: number;
}

/** What each melting zone, and the feed zone, may be set to; °C. */
export interface ZoneLimits {
  readonly low: number;
  readonly lowSays: string;
  readonly high: number;
  readonly highSays: string;
}

/**
 * Set-point limits of one zone for a grade.
 *
 * With three zones or more the first is a feed zone: it may be colder than the melting floor, down
 * to 30 °C below melting (semicrystalline) or 30 °C above the glass transition (amorphous), or
 * 30 °C under the floor when neither is known (common practice, no source).
 *
 * @param zone - index from the feed end, 0 first
 */
export function zoneLimits(zone: number, line: Line, grade: Grade): ZoneLimits {
  const heater = line.zones[zone]!.heaterLimitCelsius - heaterMarginCelsius;
  const isFeed = zone === 0 && line.zones.length >= 3;
  const feedLow =
    grade.meltingCelsius !== undefined
      ? grade.meltingCelsius - 30
      : grade.glassTransitionCelsius !== undefined
        ? grade.glassTransitionCelsius + 30
        : grade.floorCelsius - 30;
  const low = isFeed ? Math.min(feedLow, grade.floorCelsius) : grade.floorCelsius;
  const high = Math.min(heater, grade.ceilingCelsius);
  return {
    low,
    lowSays: isFeed
      ? `the coldest feed zone for this grade, ${degrees(low)}`
      : `the melting floor ${degrees(low)}`,
    high,
    highSays:
      heater < grade.ceilingCelsius
        ? `the heater limit less ${heaterMarginCelsius} °C, ${degrees(high)}`
        : `the ceiling ${degrees(high)}`,
  };
}

/** Zone temperatures as an affine function of the natural factor settings. */
export interface AffineZones {
  readonly constant: readonly number[];
  /** By factor name, one weight a zone. */
  readonly weights: ReadonlyMap<string, readonly number[]>;
}

/**
 * The affine map from natural settings to unrounded zone temperatures.
 *
 * @throws {DomainError} `missing_setting` when a zone has neither factor nor default
 */
export function affineZones(
  factors: readonly Factor[],
  line: Line,
  defaults: SettingDefaults,
  operation: string,
): AffineZones {
  const n = line.zones.length;
  const basis = profileBasis(line);
  const usable = profileTermsFor(n);
  const acting = factors.filter(isNumeric).filter((factor) => factor.acts !== undefined);
  const profiled = acting.filter((factor) => isProfileTerm(factor.acts));
  const raw = acting.filter((factor) => factor.acts!.startsWith('zone '));
  const weights = new Map<string, number[]>();
  const constant = new Array<number>(n).fill(0);
  const base = defaults.zonesCelsius;
  if (base && base.length !== n) throw zoneCountError(operation, base.length, n);
  const rest: Record<ProfileTerm, number> = base
    ? { ...profileOf(base, line) }
    : { level: 0, tilt: 0, hump: 0, ripple: 0 };
  const leftover = base
    ? zoneTemperatures(rest, line).map((temperature, i) => base[i]! - temperature)
    : constant;
  for (const factor of profiled) {
    const term = factor.acts as ProfileTerm;
    const row = basis[usable.indexOf(term)];
    if (!row) {
      throw new DomainError(
        'profile_term',
        `${operation}: factor "${factor.name}" must act on a term the line can carry; got ${term} on ${n} zones. Use only ${usable.join(', ')}.`,
        { factor: factor.name, zones: n },
      );
    }
    weights.set(factor.name, [...row]);
    rest[term] = 0;
  }
  const fixed = zoneTemperatures(rest, line);
  for (let i = 0; i < n; i++) constant[i] = fixed[i]! + leftover[i]!;
  for (const factor of raw) {
    const zone = Number(factor.acts!.slice(5)) - 1;
    if (zone >= n) throw zoneCountError(operation, zone + 1, n);
    for (const row of weights.values()) row[zone] = 0;
    constant[zone] = 0;
    weights.set(
      factor.name,
      constant.map((_, i) => (i === zone ? 1 : 0)),
    );
  }
  requireEveryZone(operation, weights, base, n);
  return { constant, weights };
}

const isProfileTerm = (acts: string | undefined): acts is ProfileTerm =>
  (profileTerms as readonly (string | undefined)[]).includes(acts);

function requireEveryZone(
  operation: string,
  weights: ReadonlyMap<string, readonly number[]>,
  base: readonly number[] | undefined,
  n: number,
): void {
  if (base) return;
  for (let i = 0; i < n; i++) {
    const isSet = [...weights.values()].some((row) => row[i] !== 0);
    if (isSet) continue;
    throw new DomainError(
      'missing_setting',
      `${operation}: zone ${i + 1} must have a set point; got no factor and no default for it. Add a level factor or give default zone temperatures.`,
      { zone: i + 1 },
    );
  }
}

const zoneCountError = (operation: string, got: number, zones: number): DomainError =>
  new DomainError(
    'zone_count',
    `${operation}: zones must number those of the line; got ${got} for ${zones}. Match the zones of the line, feed end first.`,
    { got, zones },
  );

/** What `limits` needs to know besides the factors. */
export interface LimitsOf {
  readonly factors: readonly Factor[];
  readonly line: Line;
  readonly grade: Grade;
  /** With a product the puller's range also limits the screw. */
  readonly product?: Pick<Product, 'diameterMm'>;
  readonly defaults?: SettingDefaults;
}

/**
 * Limits of a line and a grade as linear constraints in coded units of the factors: melting floor,
 * ceiling, heater limit less its margin, largest step between neighbouring zones, screw speed, fan,
 * and the puller's range. Limits that no factor moves are left out.
 *
 * Each limit is drawn in to the last set point that the controller takes. Rounding is monotone and
 * leaves such a set point where it is, so a point inside the limits is inside them after rounding too.
 *
 * @throws {DomainError} `missing_setting` when a zone has neither factor nor default
 */
export function limits({
  factors,
  line,
  grade,
  product,
  defaults = {},
}: LimitsOf): LinearConstraint[] {
  const numeric = factors.filter(isNumeric);
  const { constant, weights } = affineZones(factors, line, defaults, 'limits');
  const out: LinearConstraint[] = [];
  const add = (weight: (name: string) => number, offset: number, atMost: number, says: string) => {
    const constraint = inCodedUnits(numeric, weight, offset, atMost, says);
    if (constraint) out.push(constraint);
  };
  const at = (name: string, zone: number): number => weights.get(name)?.[zone] ?? 0;
  const zoneStep = line.setPointStepCelsius;
  for (const [i, zone] of line.zones.entries()) {
    const { low, lowSays, high, highSays } = zoneLimits(i, line, grade);
    const [coldest, hottest] = [lastAbove(low, zoneStep), lastBelow(high, zoneStep)];
    add((name) => at(name, i), constant[i]!, hottest, `${zone.name} not above ${highSays}`);
    add((name) => -at(name, i), -constant[i]!, -coldest, `${zone.name} not below ${lowSays}`);
  }
  const step = line.largestNeighbourStepCelsius;
  const widest = lastBelow(step, zoneStep);
  for (let i = 0; i + 1 < line.zones.length; i++) {
    const rise = constant[i + 1]! - constant[i]!;
    const says = `${line.zones[i]!.name} to ${line.zones[i + 1]!.name} not more than ${degrees(step)} apart`;
    add((name) => at(name, i + 1) - at(name, i), rise, widest, says);
    add((name) => at(name, i) - at(name, i + 1), -rise, widest, says);
  }
  for (const factor of numeric) {
    const own = (name: string): number => (name === factor.name ? 1 : 0);
    const below = (name: string): number => -own(name);
    if (factor.acts === 'fan') {
      add(own, 0, lastBelow(100, line.fan.stepPercent), 'fan not above 100 %');
      add(below, 0, 0, 'fan not below 0 %');
    }
    if (factor.acts !== 'screw') continue;
    const { lowRpm, highRpm } = screwRange(line, grade, product);
    const [slowest, fastest] = [
      lastAbove(lowRpm.rpm, line.screw.stepRpm),
      lastBelow(highRpm.rpm, line.screw.stepRpm),
    ];
    add(own, 0, fastest, `screw not above ${figure(highRpm.rpm)} rpm (${highRpm.says})`);
    add(below, 0, -slowest, `screw not below ${figure(lowRpm.rpm)} rpm (${lowRpm.says})`);
  }
  return out;
}

/** The largest multiple of `step` that is not above `value`, and the smallest not below it. */
const lastBelow = (value: number, step: number): number => Math.floor(value / step + 1e-9) * step;
const lastAbove = (value: number, step: number): number => Math.ceil(value / step - 1e-9) * step;

interface ScrewEnd {
  readonly rpm: number;
  readonly says: string;
}

function screwRange(
  line: Line,
  grade: Grade,
  product: Pick<Product, 'diameterMm'> | undefined,
): { lowRpm: ScrewEnd; highRpm: ScrewEnd } {
  const screw = {
    lowRpm: { rpm: line.screw.lowRpm, says: 'the slowest screw speed' },
    highRpm: { rpm: line.screw.highRpm, says: 'the fastest screw speed' },
  };
  if (!product) return screw;
  const speedPerRpm = lineSpeedMmPerSecond(line, 1, product.diameterMm, grade);
  const slow = line.puller.lowMmPerSecond / speedPerRpm;
  const fast = line.puller.highMmPerSecond / speedPerRpm;
  return {
    lowRpm: slow > screw.lowRpm.rpm ? { rpm: slow, says: 'the slowest puller' } : screw.lowRpm,
    highRpm: fast < screw.highRpm.rpm ? { rpm: fast, says: 'the fastest puller' } : screw.highRpm,
  };
}

/** Σ weight·natural + offset ≤ atMost, rewritten for coded values; null when no factor moves it. */
function inCodedUnits(
  factors: readonly NumericFactor[],
  weight: (name: string) => number,
  offset: number,
  atMost: number,
  says: string,
): LinearConstraint | null {
  const coefficients: Record<string, number> = {};
  let constant = offset;
  for (const { name, low, high } of factors) {
    const w = weight(name);
    if (Math.abs(w) < 1e-12) continue;
    coefficients[name] = (w * (high - low)) / 2;
    constant += (w * (low + high)) / 2;
  }
  if (Object.keys(coefficients).length === 0) return null;
  return { coefficients, atMost: atMost - constant, says };
}

/**
 * What the operator keys in for a natural point: zones, screw and fan rounded to what the controller
 * takes, everything else by name (numbers to the factor's own step, when it has one).
 *
 * Without a factor or a default the screw turns at 5 rpm and the fan at 50 %, inside the line's range.
 *
 * @throws {DomainError} `missing_setting` when a factor or a zone has no setting
 */
export function setPointsOf(
  natural: Point,
  factors: readonly Factor[],
  line: Line,
  defaults: SettingDefaults = {},
): SetPoints {
  const { constant, weights } = affineZones(factors, line, defaults, 'setPointsOf');
  const zonesCelsius = constant.map((start, i) => {
    let temperature = start;
    for (const [name, row] of weights) temperature += row[i]! * numberAt(natural, name);
    return roundedTo(temperature, line.setPointStepCelsius);
  });
  let screwRpm = defaults.screwRpm ?? Math.min(Math.max(5, line.screw.lowRpm), line.screw.highRpm);
  let fanPercent = defaults.fanPercent ?? 50;
  const other: Record<string, number | string> = {};
  for (const factor of factors) {
    if (isNamed(factor)) {
      other[factor.name] = String(natural[factor.name]);
    } else if (factor.acts === 'screw') {
      screwRpm = numberAt(natural, factor.name);
    } else if (factor.acts === 'fan') {
      fanPercent = numberAt(natural, factor.name);
    } else if (!weights.has(factor.name)) {
      const value = numberAt(natural, factor.name);
      other[factor.name] = factor.step ? roundedTo(value, factor.step) : value;
    }
  }
  return {
    zonesCelsius,
    screwRpm: roundedTo(screwRpm, line.screw.stepRpm),
    fanPercent: roundedTo(fanPercent, line.fan.stepPercent),
    other,
  };
}

/**
 * The natural point that set points really make, after rounding: this is what is analysed.
 *
 * @throws {DomainError} `missing_setting` when `setPoints.other` lacks a factor
 */
export function pointOf(setPoints: SetPoints, factors: readonly Factor[], line: Line): Point {
  const profile = profileOf(setPoints.zonesCelsius, line);
  const out: Record<string, number | string> = {};
  for (const factor of factors) {
    const acts = isNumeric(factor) ? factor.acts : undefined;
    if (isProfileTerm(acts)) out[factor.name] = roundedTo(profile[acts], 1e-9);
    else if (acts === 'screw') out[factor.name] = setPoints.screwRpm;
    else if (acts === 'fan') out[factor.name] = setPoints.fanPercent;
    else if (acts?.startsWith('zone '))
      out[factor.name] = setPoints.zonesCelsius[Number(acts.slice(5)) - 1]!;
    else {
      const value = setPoints.other[factor.name];
      if (value === undefined) throw missingSetting('pointOf', factor.name, value);
      out[factor.name] = value;
    }
  }
  return out;
}

function numberAt(point: Point, name: string): number {
  const value = point[name];
  if (typeof value === 'number') return value;
  throw missingSetting('setPointsOf', name, value);
}

const missingSetting = (operation: string, factor: string, got: unknown): DomainError =>
  new DomainError(
    'missing_setting',
    `${operation}: factor "${factor}" must have a setting; got ${JSON.stringify(got) ?? 'nothing'}. Give every factor a setting.`,
    { factor },
  );

const degrees = (celsius: number): string => `${figure(celsius)} °C`;
const figure = (value: number): string => String(Number(value.toFixed(1)));
