import type { GaugeLog, SpoolCertificate, SpoolLength } from '@strandwise/core';
import type { Figure } from '@strandwise/report';

/** Columns of a strip chart: each shows the least and the most diameter of its piece of strand. */
const chartColumns = 500;

/** Least and most reading of each piece of strand, by position. */
export function stripPieces(
  { diameterMm }: Pick<GaugeLog, 'diameterMm'>,
  positions: ArrayLike<number>,
  columns = chartColumns,
): { readonly at: number; readonly low: number; readonly high: number; readonly mean: number }[] {
  const n = diameterMm.length;
  const end = positions[n - 1]! || 1;
  const pieces = Array.from({ length: columns }, (_, i) => ({
    at: ((i + 0.5) * end) / columns,
    low: Number.POSITIVE_INFINITY,
    high: Number.NEGATIVE_INFINITY,
    sum: 0,
    count: 0,
  }));
  for (let i = 0; i < n; i++) {
    const value = diameterMm[i]!;
    if (Number.isNaN(value)) continue;
    const piece = pieces[Math.min(columns - 1, Math.floor((positions[i]! / end) * columns))]!;
    piece.low = Math.min(piece.low, value);
    piece.high = Math.max(piece.high, value);
    piece.sum += value;
    piece.count++;
  }
  return pieces
    .filter(({ count }) => count > 0)
    .map(({ at, low, high, sum, count }) => ({ at, low, high, mean: sum / count }));
}

/** The whole spool by position, its tolerance, and what lies outside marked. */
export function stripFigure(
  log: GaugeLog,
  length: SpoolLength | null,
  { limits, spool, outside }: SpoolCertificate,
): Extract<Figure, { kind: 'trace' }> {
  const positions = length?.positions ?? log.seconds;
  const tolerance = {
    low: limits.diameterMm - limits.toleranceMm,
    high: limits.diameterMm + limits.toleranceMm,
  };
  const bad =
    outside.pieces === 0
      ? 'Nothing lies outside.'
      : `${outside.pieces} pieces lie outside, marked with dots.`;
  return {
    kind: 'trace',
    title: `Strip chart of spool ${spool}`,
    description: `Least and most diameter along the spool between ${tolerance.low.toFixed(3)} and ${tolerance.high.toFixed(3)} mm. ${bad}`,
    x: length ? { label: 'position on the spool', unit: 'm' } : { label: 'time', unit: 's' },
    y: { label: 'diameter', unit: 'mm' },
    points: stripPieces(log, positions).flatMap(({ at, low, high }) => [
      [at, low] as const,
      [at, high] as const,
    ]),
    target: limits.diameterMm,
    tolerance,
  };
}
