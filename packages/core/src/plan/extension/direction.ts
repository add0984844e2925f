import { brokenConstraints, type LinearConstraint } from '../../design/design.ts';
import { DomainError, nearestName } from '../../error/domain-error.ts';
import type { Point } from '../../factor/coding.ts';
import { type Factor, isNumeric, type NumericFactor } from '../../factor/factor.ts';
import type { StudyState } from '../../study/state.ts';
import { studyFits } from '../../study/study-fit.ts';

/** The way a response improves fastest from the centre, in coded units; the largest part is ±1. */
export interface SteepestDirection {
  readonly response: string;
  readonly coded: Readonly<Record<string, number>>;
  /** "screw +1.00, level −0.42". */
  readonly words: string;
}

/**
 * Gradient of the fitted surface at the centre, taken uphill when the response is to be largest and
 * downhill otherwise: the main effects in coded units, which no square or interaction touches there.
 *
 * @throws {DomainError} `unknown_response`, `not_fitted`, `no_slope`
 * @source Box & Wilson (1951), J. Royal Stat. Soc. B 13:1–45 (path of steepest ascent);
 *   NIST/SEMATECH e-Handbook 5.5.3.1.1
 */
export function steepestDirection(state: StudyState, response: string): SteepestDirection {
  const known = state.opened.responses.map(({ name }) => name);
  const wanted = state.opened.responses.find(({ name }) => name === response);
  if (!wanted) {
    const near = nearestName(response, known);
    throw new DomainError(
      'unknown_response',
      `steepestDirection: the response must be one of the study; got "${response}". ${near ? `Did you mean "${near}"?` : `Known: ${known.join(', ')}.`}`,
      { response },
    );
  }
  const fit = studyFits(state).responses.find(({ name }) => name === response);
  if (!fit || fit.terms.length === 0) {
    throw new DomainError(
      'not_fitted',
      `steepestDirection: "${response}" must have a fit; got none. Measure more cells first.`,
      { response },
    );
  }
  const sign = wanted.goal?.aim === 'largest' ? 1 : -1;
  const slopes = state.opened.factors.filter(isNumeric).map(({ name }) => {
    const term = fit.terms.find(({ powers }) => {
      const entries = Object.entries(powers);
      return entries.length === 1 && entries[0]![0] === name && entries[0]![1] === 1;
    });
    return [name, sign * (term?.estimate ?? 0)] as const;
  });
  const steepest = Math.max(...slopes.map(([, slope]) => Math.abs(slope)));
  if (!(steepest > 0)) {
    throw new DomainError(
      'no_slope',
      `steepestDirection: "${response}" must slope at the centre; got no main effect. Its best lies inside: see the fit.`,
      { response },
    );
  }
  const coded = Object.fromEntries(slopes.map(([name, slope]) => [name, slope / steepest]));
  return { response, coded, words: directionWords(coded) };
}

const directionWords = (coded: Readonly<Record<string, number>>): string =>
  Object.entries(coded)
    .filter(([, part]) => Math.abs(part) >= 0.005)
    .sort((a, b) => Math.abs(b[1]) - Math.abs(a[1]))
    .map(([name, part]) => `${name} ${part < 0 ? '−' : '+'}${Math.abs(part).toFixed(2)}`)
    .join(', ');

/** The point a way along the direction from the centre; named factors at their first level. */
export const pointAlong = (
  { coded }: SteepestDirection,
  distance: number,
  factors: readonly Factor[],
): Point =>
  Object.fromEntries(
    factors.map((factor) => [
      factor.name,
      isNumeric(factor) ? distance * (coded[factor.name] ?? 0) : factor.levels[0]!,
    ]),
  );

/** How far along the direction the limits let one go, at most `wanted`. */
export function farthest(
  direction: SteepestDirection,
  wanted: number,
  limits: {
    readonly factors: readonly Factor[];
    readonly constraints: readonly LinearConstraint[];
  },
): number {
  const isInside = (distance: number): boolean =>
    brokenConstraints(pointAlong(direction, distance, limits.factors), limits.constraints)
      .length === 0;
  if (isInside(wanted)) return wanted;
  let [inside, outside] = [0, wanted];
  for (let i = 0; i < 50; i++) {
    const middle = (inside + outside) / 2;
    if (isInside(middle)) inside = middle;
    else outside = middle;
  }
  return inside;
}

/** Ranges shifted along the direction, their widths kept, rounded to three figures of a half-range. */
export function shiftedFactors(
  factors: readonly Factor[],
  { coded }: SteepestDirection,
  by: number,
): Factor[] {
  return factors.map((factor) => {
    if (!isNumeric(factor)) return factor;
    const half = (factor.high - factor.low) / 2;
    const shift = neat(by * (coded[factor.name] ?? 0) * half, half);
    return moved(factor, factor.low + shift, factor.high + shift);
  });
}

export const moved = (factor: NumericFactor, low: number, high: number): NumericFactor => ({
  ...factor,
  low: Number(low.toPrecision(12)),
  high: Number(high.toPrecision(12)),
});

function neat(value: number, half: number): number {
  const digits = Math.max(0, 2 - Math.floor(Math.log10(half)));
  return Number(value.toFixed(Math.min(9, digits)));
}
