import { refuseUnconverged } from './domain.ts';

const MAX_STEPS = 200;

/**
 * The root of an increasing function: steps outwards until the sign turns, then regula falsi with
 * the Illinois halving, which needs no derivative and never leaves the bracket.
 *
 * @param f - increasing; finite near the root
 * @param from - a guess, and a first step above zero
 * @accuracy 4e-15 relative in the argument, or as far as f can tell
 * @source Dowell & Jarratt (1971), A modified regula falsi method, BIT 11, 168-174
 * @throws {DomainError} `no_convergence` when no sign turns, or after 200 steps
 */
export function increasingRoot(
  f: (x: number) => number,
  from: { readonly start: number; readonly step: number },
): number {
  let low = from.start;
  let fLow = f(low);
  if (fLow === 0) return low;
  let high = low;
  let fHigh = fLow;
  let step = from.step;
  for (let i = 0; i < MAX_STEPS && (fLow > 0 || fHigh < 0); i++, step *= 2) {
    if (fHigh < 0) {
      low = high;
      fLow = fHigh;
      high += step;
      fHigh = f(high);
    } else {
      high = low;
      fHigh = fLow;
      low -= step;
      fLow = f(low);
    }
  }
  if (fLow > 0 || fHigh < 0) refuseUnconverged('increasingRoot', { low, high });
  return falsePosition(f, { low, fLow, high, fHigh });
}

interface Bracket {
  readonly low: number;
  readonly fLow: number;
  readonly high: number;
  readonly fHigh: number;
}

function falsePosition(f: (x: number) => number, bracket: Bracket): number {
  let { low, fLow, high, fHigh } = bracket;
  let side = 0;
  for (let i = 0; i < MAX_STEPS; i++) {
    if (fHigh === fLow) return low;
    const x = high - (fHigh * (high - low)) / (fHigh - fLow);
    const fx = f(x);
    if (fx === 0 || high - low <= 4e-15 * Math.abs(x)) return x;
    const moved = fx > 0 ? high - x : x - low;
    if (fx > 0) {
      high = x;
      fHigh = fx;
      if (side === 1) fLow *= 0.5;
      side = 1;
    } else {
      low = x;
      fLow = fx;
      if (side === -1) fHigh *= 0.5;
      side = -1;
    }
    if (moved <= 2e-15 * Math.abs(x)) return x;
  }
  return refuseUnconverged('increasingRoot', { low, high });
}
