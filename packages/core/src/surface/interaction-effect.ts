import { naturalValue } from '../factor/coding.ts';
import type { Factor } from '../factor/factor.ts';
import { isNamed } from '../factor/factor-kind.ts';
import type { Powers } from '../term/term.ts';
import { changed, isClearOfZero, isLogScale, rowDifference } from './factor-effect.ts';
import {
  combinationEstimate,
  type Estimate,
  estimateBack,
  type ResponseSurface,
} from './response-surface.ts';

/** One line of a two-line plot: the response along the first factor, the second held. */
export interface InteractionLine {
  /** Where the second factor is held: its low or high end, or a level. */
  readonly held: number | string;
  readonly points: readonly { readonly at: number | string; readonly mean: Estimate }[];
  /** What the first factor does from its low to its high end (or last to first level) there. */
  readonly change: Estimate;
}

/**
 * How the effect of one factor depends on another: what the first does at each end of the second, and
 * how far the two differ. Changes are ratios less 1 on a log scale, else differences.
 */
export interface InteractionEffect {
  readonly factors: readonly [along: string, held: string];
  readonly isRatio: boolean;
  /** Change at the second's high end over (or less) that at its low end. */
  readonly change: Estimate;
  readonly isClear: boolean;
  readonly lines: readonly InteractionLine[];
  readonly says: string;
}

const STEPS = 20;

/** All two-factor interactions of the model, clear ones first, largest first among them. */
export function interactionEffects(
  surface: ResponseSurface,
  factors: readonly Factor[],
  confidence = 0.95,
): InteractionEffect[] {
  return pairsOf(surface.terms, factors)
    .map((pair) => interactionEffect(surface, factors, pair, confidence))
    .sort((a, b) => Number(b.isClear) - Number(a.isClear) || size(b) - size(a));
}

const size = ({ change, isRatio }: InteractionEffect): number =>
  Math.abs(isRatio ? Math.log1p(change.value) : change.value);

/** Factor pairs that meet in a term. The easier to change comes first: it is what one reaches for. */
function pairsOf(terms: readonly Powers[], factors: readonly Factor[]): [number, number][] {
  const keys = new Set<string>();
  const out: [number, number][] = [];
  for (const powers of terms) {
    const names = Object.keys(powers);
    if (names.length !== 2) continue;
    const at = names.map((name) => factors.findIndex((factor) => factor.name === name));
    const [a, b] = at.sort((x, y) => ease(factors[y]!) - ease(factors[x]!) || x - y);
    const key = `${a} ${b}`;
    if (a === undefined || b === undefined || a < 0 || b < 0 || keys.has(key)) continue;
    keys.add(key);
    out.push([a, b]);
  }
  return out;
}

const ease = ({ changes }: Factor): number => ['hard', 'semi-hard', 'easy'].indexOf(changes);

function interactionEffect(
  surface: ResponseSurface,
  factors: readonly Factor[],
  [a, b]: [number, number],
  confidence: number,
): InteractionEffect {
  const along = factors[a]!;
  const held = factors[b]!;
  const row = (settings: Record<number, number>): Float64Array => {
    const place = new Float64Array(factors.length);
    for (const [at, value] of Object.entries(settings)) place[Number(at)] = value;
    return othersAveraged(surface, place, [along.name, held.name]);
  };
  const [low, high] = endsOf(along);
  const lines = heldPlaces(held).map((at): InteractionLine => {
    const points = alongPlaces(along).map((x) => ({
      at: labelOf(along, x),
      mean: estimateBack(
        surface,
        combinationEstimate(surface, row({ [a]: x, [b]: at }), { confidence }),
      ),
    }));
    const change = rowDifference(
      surface,
      row({ [a]: high, [b]: at }),
      row({ [a]: low, [b]: at }),
      confidence,
    );
    return { held: labelOf(held, at), points, change: changed(surface, change) };
  });
  const [heldLow, heldHigh] = endsOf(held);
  const twice = [
    { place: { [a]: high, [b]: heldHigh }, sign: 1 },
    { place: { [a]: low, [b]: heldHigh }, sign: -1 },
    { place: { [a]: high, [b]: heldLow }, sign: -1 },
    { place: { [a]: low, [b]: heldLow }, sign: 1 },
  ];
  const weights = new Float64Array(surface.terms.length);
  for (const { place, sign } of twice) {
    const own = row(place);
    for (let j = 0; j < weights.length; j++) weights[j]! += sign * own[j]!;
  }
  const contrast = combinationEstimate(surface, weights, { confidence });
  const isClear = isClearOfZero(contrast);
  return {
    factors: [along.name, held.name],
    isRatio: isLogScale(surface),
    change: changed(surface, contrast),
    isClear,
    lines,
    says: isClear ? pairWords(along, held, lines) : 'cannot tell',
  };
}

/** Terms at a place; those that hold a level of any other named factor are averaged out. */
function othersAveraged(
  surface: ResponseSurface,
  place: Float64Array,
  own: readonly string[],
): Float64Array {
  const row = surface.row(place);
  for (const [j, powers] of surface.terms.entries())
    for (const [name, power] of Object.entries(powers))
      if (typeof power === 'string' && !own.includes(name)) row[j] = 0;
  return row;
}

const endsOf = (factor: Factor): [low: number, high: number] =>
  isNamed(factor) ? [factor.levels.length - 1, 0] : [-1, 1];

const heldPlaces = (factor: Factor): number[] =>
  isNamed(factor) ? factor.levels.map((_, level) => level) : [-1, 1];

const alongPlaces = (factor: Factor): number[] =>
  isNamed(factor)
    ? factor.levels.map((_, level) => level)
    : Array.from({ length: STEPS + 1 }, (_, s) => -1 + (2 * s) / STEPS);

const labelOf = (factor: Factor, place: number): number | string =>
  isNamed(factor) ? factor.levels[place]! : naturalValue(place, factor);

/** What the first factor does at the ends of the second, in a few plain words. */
function pairWords(along: Factor, held: Factor, lines: readonly InteractionLine[]): string {
  if (isNamed(held)) return `what ${along.name} does depends on ${held.name}`;
  const [low, high] = [lines[0]!.change, lines.at(-1)!.change];
  const does = ({ value }: Estimate): string => (value > 0 ? 'raises' : 'lowers');
  const clear = [isClearOfZero(low), isClearOfZero(high)];
  const opposite = low.value * high.value < 0;
  if (clear[0] && clear[1] && opposite)
    return `${along.name} ${does(low)} it at low ${held.name} and ${does(high)} it at high`;
  if (clear[1] && !clear[0]) return `${along.name} ${does(high)} it only at high ${held.name}`;
  if (clear[0] && !clear[1]) return `${along.name} ${does(low)} it only at low ${held.name}`;
  if (clear[0] && clear[1]) {
    const where = Math.abs(high.value) > Math.abs(low.value) ? 'high' : 'low';
    return `${along.name} ${does(high)} it, more so at ${where} ${held.name}`;
  }
  return `${along.name} matters differently at the two ends of ${held.name}`;
}
