import { DomainError } from '../error/domain-error.ts';

/**
 * A barrel temperature profile in words a scientist uses, all in °C. `level`: mean of the zones.
 * `tilt`: straight end-to-end rise, die end minus feed end. `hump`: middle minus ends of the bowed
 * part, positive when the middle is hottest. `ripple`: the cubic part, half its own end-to-end rise.
 */
export interface ZoneProfile {
  readonly level: number;
  readonly tilt: number;
  readonly hump: number;
  readonly ripple: number;
}

export const profileTerms = ['level', 'tilt', 'hump', 'ripple'] as const;
export type ProfileTerm = (typeof profileTerms)[number];

/** What the profile needs to know of a barrel: its zones from the feed end. */
export interface ProfileBarrel {
  readonly zones: readonly { readonly positionMm?: number | undefined }[];
}

/** A barrel with the step its controller takes. */
export interface ProfileLine extends ProfileBarrel {
  readonly setPointStepCelsius: number;
}

/** The profile terms that n zones can carry: level only for 1, up to ripple for 4 and more. */
export const profileTermsFor = (zoneCount: number): ProfileTerm[] =>
  profileTerms.slice(0, Math.min(zoneCount, profileTerms.length));

/**
 * Zone positions from feed to die, scaled to [0, 1]; equal spacing unless every zone has a position.
 *
 * @throws {DomainError} `zone_positions` when positions do not increase
 */
export function zonePositions({ zones }: ProfileBarrel): number[] {
  const n = zones.length;
  if (n === 1) return [0.5];
  const given = zones.map((zone) => zone.positionMm);
  if (given.some((position) => position === undefined)) return zones.map((_, i) => i / (n - 1));
  const first = given[0]!;
  const span = given[n - 1]! - first;
  for (let i = 1; i < n; i++) {
    if (given[i]! > given[i - 1]!) continue;
    throw new DomainError(
      'zone_positions',
      `zonePositions: zone positions must increase from feed to die; got ${given.join(', ')} mm (zone ${i + 1}). Count zones from the feed end.`,
      { positions: given },
    );
  }
  return given.map((position) => (position! - first) / span);
}

/**
 * Contrast vectors of the profile, one a term, one entry a zone: orthogonal polynomials in the zone
 * positions (Gram–Schmidt, equal weights), scaled so that a coefficient reads in °C.
 *
 * Equal spacing, four zones: tilt (−½, −⅙, ⅙, ½), hump (−½, ½, ½, −½), ripple (−1, 3, −3, 1).
 * The hump compares the middle zone (or the mean of the middle two) with the mean of both ends.
 *
 * @returns shape (terms, zones); terms as in `profileTermsFor`
 * @source orthogonal polynomial contrasts, NIST/SEMATECH e-Handbook 5.5 and any text on regression;
 *   scaling derived in the docstring of `ZoneProfile`
 */
export function profileBasis(line: ProfileBarrel): number[][] {
  const n = line.zones.length;
  const u = zonePositions(line).map((position) => 2 * position - 1);
  const basis: number[][] = [];
  for (let degree = 0; degree < Math.min(n, 4); degree++) {
    const column = u.map((x) => x ** degree);
    // Two passes keep the columns orthogonal to rounding for crowded zones as well.
    for (let pass = 0; pass < 2; pass++) {
      for (const earlier of basis) {
        const weight = dot(column, earlier) / dot(earlier, earlier);
        for (let i = 0; i < n; i++) column[i]! -= weight * earlier[i]!;
      }
    }
    basis.push(column);
  }
  return basis.map((column, degree) => {
    const scale = naturalScale(column, degree);
    return column.map((value) => value / scale);
  });
}

/** What one unit of a raw contrast column is worth in the term's own °C. */
function naturalScale(column: readonly number[], degree: number): number {
  const n = column.length;
  const first = column[0]!;
  const last = column[n - 1]!;
  if (degree === 0) return first;
  if (degree === 1) return last - first;
  if (degree === 3) return (last - first) / 2;
  const middle = (column[Math.floor((n - 1) / 2)]! + column[Math.ceil((n - 1) / 2)]!) / 2;
  return middle - (first + last) / 2;
}

/**
 * Zone temperatures of a profile, unrounded, feed end first; °C.
 *
 * @param profile - missing terms count as 0
 * @throws {DomainError} `profile_term` when a non-zero term asks for more zones than the line has
 * @example zoneTemperatures({ level: 195, tilt: 20, hump: 10 }, fourZoneLine) // 180, 196.67, 203.33, 200
 */
export function zoneTemperatures(
  profile: Partial<ZoneProfile> & Pick<ZoneProfile, 'level'>,
  line: ProfileBarrel,
): number[] {
  const n = line.zones.length;
  const usable = profileTermsFor(n);
  for (const term of profileTerms) {
    if (usable.includes(term) || !profile[term]) continue;
    throw new DomainError(
      'profile_term',
      `zoneTemperatures: ${term} must be 0 on a line of ${n} zone${n === 1 ? '' : 's'}; got ${profile[term]} °C. Use only ${usable.join(', ')}.`,
      { term, zones: n },
    );
  }
  const basis = profileBasis(line);
  return line.zones.map((_, i) =>
    usable.reduce((sum, term, k) => sum + (profile[term] ?? 0) * basis[k]![i]!, 0),
  );
}

/**
 * The profile of given zone temperatures: the inverse of `zoneTemperatures`, and the least-squares
 * profile when the temperatures hold more than four terms can say (five zones and more).
 *
 * @throws {DomainError} `zone_count` when there is not one temperature a zone
 */
export function profileOf(temperatures: readonly number[], line: ProfileBarrel): ZoneProfile {
  const n = line.zones.length;
  if (temperatures.length !== n) {
    throw new DomainError(
      'zone_count',
      `profileOf: temperatures must number one a zone; got ${temperatures.length} for ${n} zones. Give ${n} temperatures, feed end first.`,
      { got: temperatures.length, zones: n },
    );
  }
  const coefficients = profileBasis(line).map((row) => dot(row, temperatures) / dot(row, row));
  return {
    level: coefficients[0]!,
    tilt: coefficients[1] ?? 0,
    hump: coefficients[2] ?? 0,
    ripple: coefficients[3] ?? 0,
  };
}

/** A profile as the controller takes it: rounded zone set points, and the profile they really make. */
export interface RoundedProfile {
  readonly zonesCelsius: number[];
  /** The contrasts of the rounded set points: these are what is analysed. */
  readonly profile: ZoneProfile;
}

/** Rounds every zone to the controller's step and reads the profile back from the rounded zones. */
export function roundedProfile(
  profile: Partial<ZoneProfile> & Pick<ZoneProfile, 'level'>,
  line: ProfileLine,
): RoundedProfile {
  const zonesCelsius = zoneTemperatures(profile, line).map((temperature) =>
    roundedTo(temperature, line.setPointStepCelsius),
  );
  return { zonesCelsius, profile: profileOf(zonesCelsius, line) };
}

/**
 * The multiple of `step` nearest to `value`, free of binary dust (0.1 + 0.2 gives 0.3).
 * A value half-way, as near as double precision tells, goes up.
 */
export function roundedTo(value: number, step: number): number {
  const multiple = Math.round(value / step + 1e-9);
  return Number((multiple * step).toFixed(9)) + 0;
}

function dot(a: readonly number[], b: readonly number[]): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!;
  return sum;
}
