import type { StudyState, SurfacePrediction } from '@strandwise/core';
import { type Line, line, span } from '../terminal/line.ts';
import { decimalsFor, figures } from '../terminal/number.ts';
import { unitOf } from './response-unit.ts';
import { told } from './told.ts';

/** Fitted means and where one new set-up falls, a row a response. */
export function expectedLines(
  predictions: readonly SurfacePrediction[],
  study: StudyState,
  columns: number,
): Line[] {
  const rows = predictions.map(({ name, mean, next }) => {
    const width = mean.low === null || mean.high === null ? null : mean.high - mean.low;
    const text = (value: number): string =>
      width === null ? figures(value) : value.toFixed(decimalsFor(width));
    const unit = unitOf(name, study);
    return {
      name: unit === '' ? name : `${name}, ${unit}`,
      mean: text(mean.value),
      interval:
        mean.low === null || mean.high === null ? '' : `${text(mean.low)} … ${text(mean.high)}`,
      next: next.low === null || next.high === null ? '' : `${text(next.low)} … ${text(next.high)}`,
    };
  });
  const widest = (of: (row: (typeof rows)[number]) => string): number =>
    Math.max(4, ...rows.map((row) => [...of(row)].length));
  if (columns < 70)
    return rows.flatMap((row) => told(`${row.name} ${row.mean} (${row.interval})`, columns));
  const [name, mean, interval] = [
    widest((row) => row.name),
    widest((row) => row.mean),
    widest((row) => row.interval),
  ];
  return [
    line(
      `   ${'expect'.padEnd(name)}  ${'mean'.padStart(mean)}  ${'95 %'.padEnd(interval)}  one new set-up falls in`,
      'quiet',
    ),
    ...rows.map(
      (row): Line => [
        span(`   ${row.name.padEnd(name)}  `),
        span(row.mean.padStart(mean), 'strong'),
        span(`  ${row.interval.padEnd(interval)}  `, 'quiet'),
        span(row.next),
      ],
    ),
  ];
}
