import type { Theme } from '../theme.ts';

/** A bar of `width` letters filled to `share` (0 to 1). */
export function bar(share: number, width: number, { glyphs }: Theme): string {
  const done = Math.round(Math.min(1, Math.max(0, share)) * width);
  return glyphs.barDone.repeat(done) + glyphs.barLeft.repeat(width - done);
}

/** The latest values as a row of small bars between the smallest and largest. */
export function spark(values: ArrayLike<number>, width: number, { glyphs }: Theme): string {
  const shown = Array.from(values).slice(-width).filter(Number.isFinite);
  if (shown.length === 0) return '';
  const low = Math.min(...shown);
  const high = Math.max(...shown);
  const steps = glyphs.spark.length - 1;
  return shown
    .map(
      (value) => glyphs.spark[high > low ? Math.round(((value - low) / (high - low)) * steps) : 0],
    )
    .join('');
}
