import type { GaugeLog } from '../measurement/log.ts';
import type { SpecificationLimits } from './capability.ts';

/** A piece of strand outside its limits, by position from the start of the spool. */
export interface BadStretch {
  readonly fromMetre: number;
  readonly toMetre: number;
  /** The reading farthest outside, mm. */
  readonly worstMm: number;
}

export interface SpoolLength {
  readonly metres: number;
  /** Strand that passed while the gauge read nothing, m. */
  readonly unreadMetres: number;
  readonly bad: readonly BadStretch[];
  /** Position of each reading from the start of the spool, m; shape (n). */
  readonly positions: Float64Array;
}

/** A silence longer than this is strand that nobody measured, s. */
const longestHeldSeconds = 3;
/** A reading on the limit is inside; 1.80 − 1.75 exceeds 0.05 in binary by 4e-17. */
const limitSlackMm = 1e-9;

/**
 * Walks along a log by the puller's speed: how long the strand is, and where it is outside its limits.
 * A reading stands for the strand until the next one; readings outside without one inside between them
 * are one stretch.
 *
 * @param pullerMmPerSecond - used when the log has no puller column
 */
export function spoolLength(
  log: GaugeLog,
  { low, high }: SpecificationLimits,
  pullerMmPerSecond?: number,
): SpoolLength | null {
  const { seconds, diameterMm, pullerMmPerSecond: puller } = log;
  if (puller === undefined && pullerMmPerSecond === undefined) return null;
  const n = seconds.length;
  const positions = new Float64Array(n);
  const pieces: (BadStretch & { readonly off: number })[] = [];
  let isOpen = false;
  let unreadMetres = 0;
  let speed = pullerMmPerSecond ?? 0;
  let metre = 0;
  for (let i = 0; i < n; i++) {
    positions[i] = metre;
    const now = puller?.[i];
    if (now !== undefined && !Number.isNaN(now)) speed = now;
    const passing = i + 1 < n ? seconds[i + 1]! - seconds[i]! : 0;
    const next = metre + (speed * passing) / 1000;
    const value = diameterMm[i]!;
    const off = Math.max(low - value, value - high);
    if (Number.isNaN(value)) unreadMetres += next - metre;
    else if (passing > longestHeldSeconds)
      unreadMetres += (speed * (passing - longestHeldSeconds)) / 1000;
    const isBad = off > limitSlackMm;
    if (isBad) {
      const piece = { fromMetre: metre, toMetre: next, worstMm: value, off };
      const last = pieces.at(-1);
      if (isOpen && last) pieces[pieces.length - 1] = longer(last, piece);
      else pieces.push(piece);
    }
    isOpen = isBad;
    metre = next;
  }
  const bad = pieces.map(({ off: _, ...piece }) => piece);
  return { metres: metre, unreadMetres, bad, positions };
}

/** The piece with the next reading's strand added. */
const longer = <T extends BadStretch & { readonly off: number }>(piece: T, next: T): T => ({
  ...(next.off > piece.off ? next : piece),
  fromMetre: piece.fromMetre,
  toMetre: next.toMetre,
});

/** Metres of strand outside, and the longest piece in one. */
export function badMetres(bad: readonly BadStretch[]): { total: number; longest: number } {
  const lengths = bad.map(({ fromMetre, toMetre }) => toMetre - fromMetre);
  return { total: lengths.reduce((a, b) => a + b, 0), longest: Math.max(0, ...lengths) };
}
