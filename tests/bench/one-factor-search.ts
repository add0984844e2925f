import {
  confirmationHold,
  type Grade,
  holdFor,
  type Line,
  outputKgPerHour,
  type Product,
  productRequirements,
  refusals,
  type ScoutRanges,
  type SetPoints,
  sampleSd,
  scoutSetPoints,
  studyHold,
} from '@strandwise/core';
import type { VirtualLine, VirtualReading } from '@strandwise/virtual-line';

export interface SearchOf {
  readonly line: VirtualLine;
  readonly described: Line;
  readonly grade: Grade;
  readonly product: Product;
  readonly ranges: ScoutRanges;
  /** Hours on the line, confirmation included. */
  readonly hours: number;
  readonly driedPpm: number;
  readonly setUps: number;
}

export interface SearchEnd {
  readonly setPoints: SetPoints;
  /** True when every fresh set-up at the end kept the limits. */
  readonly released: boolean;
  readonly hours: number;
  readonly grams: number;
  readonly settings: number;
}

type Term = 'level' | 'tilt' | 'hump' | 'screw' | 'fan';
type Place = Record<Term, number>;
const terms: readonly Term[] = ['level', 'tilt', 'hump', 'screw', 'fan'];

interface Seen {
  readonly sd: number;
  readonly bubbles: number;
}

/**
 * One factor at a time, as a shop does it: from the middle of the scouted ranges, five settings of one
 * factor with the others held, keep the best, next factor; then finer rounds about the best until the
 * hours are used up. The same holds, the same measuring and the same fresh set-ups at the end as the
 * planned way.
 */
export function oneFactorSearch(search: SearchOf): SearchEnd {
  const { line, described, grade, product, ranges, driedPpm } = search;
  let seconds = 0;
  let grams = 0;
  let settings = 0;
  let filled = 0;
  const range = (term: Term): { low: number; high: number } => ranges[term] ?? { low: 0, high: 0 };
  const setPointsAt = (place: Place): SetPoints => scoutSetPoints(place, { line: described });
  const run = (to: SetPoints, hold: number, measured: number): VirtualReading[] => {
    line.set(to);
    if (seconds - filled >= 3600) {
      line.refill(driedPpm, 'same');
      filled = seconds;
    }
    for (let i = 0; i < hold; i++) line.step();
    const readings = Array.from({ length: measured }, () => line.step());
    seconds += hold + measured;
    grams += (1000 * (hold + measured) * outputKgPerHour(described, to.screwRpm, grade)) / 3600;
    return readings;
  };
  const look = (place: Place, rule = studyHold): Seen | null => {
    const to = setPointsAt(place);
    if (refusals(to, described, grade, product).length > 0) return null;
    const hold = Math.ceil(
      holdFor({ from: line.setPoints, to, line: described, grade, rule }).seconds,
    );
    settings++;
    return seenIn(
      run(to, hold, Math.max(60 * described.measureMinutes, Math.ceil(1800 / to.screwRpm))),
    );
  };
  const reserve = search.setUps * 2 * 1800;
  const left = (): number => search.hours * 3600 - seconds - reserve;

  let best = Object.fromEntries(
    terms.map((term) => [term, (range(term).low + range(term).high) / 2]),
  ) as Place;
  let bestSeen = look(best);
  for (let share = 1; left() > 0; share /= 2) {
    for (const term of terms) {
      const { low, high } = range(term);
      const half = ((high - low) / 2) * share;
      const from = best;
      for (const step of share === 1 ? [-1, -0.5, 0.5, 1] : [-0.5, 0.5]) {
        if (left() <= 0) break;
        const value = Math.min(high, Math.max(low, from[term] + step * half));
        if (Math.abs(value - from[term]) < 1e-9) continue;
        const place = { ...from, [term]: value };
        const seen = look(place);
        if (seen && isBetter(seen, bestSeen, product)) {
          best = place;
          bestSeen = seen;
        }
      }
    }
    if (share < 0.05) break;
  }
  line.refill(driedPpm, 'new');
  filled = seconds;
  const recipe = setPointsAt(best);
  let kept = 0;
  for (let i = 0; i < search.setUps; i++) {
    const aside = setPointsAt({
      ...best,
      level: best.level + (best.level > range('level').low + 5 ? -5 : 5),
    });
    run(aside, 1200, 1);
    const seen = look(best, confirmationHold);
    if (seen && isConforming(seen, product)) kept++;
  }
  return {
    setPoints: recipe,
    released: kept === search.setUps,
    hours: seconds / 3600,
    grams,
    settings,
  };
}

/** What a setting showed; null without a strand. Bubbles on the first eight metres. */
function seenIn(readings: readonly VirtualReading[]): Seen | null {
  if (readings.some(({ failure }) => failure !== null)) return null;
  let metres = 0;
  let count = 0;
  for (const reading of readings) {
    if (metres >= 8) break;
    metres += reading.metres;
    count += reading.bubbles;
  }
  return {
    sd: sampleSd(Float64Array.from(readings, ({ diameterMm }) => diameterMm)),
    bubbles: count / metres,
  };
}

function limitsOf(product: Product): { sd: number; bubbles: number } {
  const [spread, bubbles] = productRequirements(product);
  return { sd: spread!.atMost!, bubbles: bubbles!.atMost! };
}

const isConforming = ({ sd, bubbles }: Seen, product: Product): boolean =>
  sd <= limitsOf(product).sd && bubbles <= limitsOf(product).bubbles;

/** Fewer bubbles until they are within limits, then the smaller SD. */
function isBetter(seen: Seen, than: Seen | null, product: Product): boolean {
  if (than === null) return true;
  const most = limitsOf(product).bubbles;
  const over = (one: Seen): number => Math.max(0, one.bubbles - most);
  return over(seen) === over(than) ? seen.sd < than.sd : over(seen) < over(than);
}
