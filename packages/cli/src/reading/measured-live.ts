import {
  evenlySpaced,
  type GaugeLog,
  type HappeningOf,
  type LogStretch,
  measuredResponses,
  periodicParts,
  presentCount,
  type RawReference,
  type StudyState,
  settledStretch,
  usualStepSeconds,
} from '@strandwise/core';
import type { LineFormat } from '@strandwise/gauge';
import { growingLog } from './growing-log.ts';
import { replayed } from './live-log.ts';
import { measuringContext } from './measured-log.ts';

export interface MeasuredLiveOf {
  readonly state: StudyState;
  readonly cell: number;
  readonly format: LineFormat;
  readonly place: string;
  readonly raw: RawReference;
  /** When the hold ended, in seconds since the settings were entered. */
  readonly fromSeconds: number;
  /** Measure what there is, settled or not. */
  readonly anyway: boolean;
}

export type MeasuredLive =
  | { readonly kind: 'measured'; readonly what: HappeningOf<'log attached'> }
  | { readonly kind: 'unsettled'; readonly says: string };

/**
 * Measures the kept lines of a cell: the settled part after the hold, or with a reason all of it. The
 * figures come from the bytes as they are stored, so they can be worked out again to the last digit.
 */
export function measuredLive(bytes: Uint8Array, of: MeasuredLiveOf): MeasuredLive {
  const { state, cell, place, raw, fromSeconds, anyway } = of;
  const grown = growingLog();
  const { lines, unparsed } = replayed(bytes, of.format, (reading) => grown.push(reading));
  const log = grown.since(Number.NEGATIVE_INFINITY);
  const after = grown.since(fromSeconds);
  if (after.seconds.length < 2)
    return { kind: 'unsettled', says: 'Nothing was heard from the gauge after the hold.' };
  const { entered, run } = state.cells[cell - 1]!;
  const screwRpm = (entered ?? run.setPoints)?.screwRpm ?? 0;
  const settled = settledStretch(log, { screwRpm, notBeforeSeconds: fromSeconds });
  if (settled.kind !== 'settled' && !anyway) return { kind: 'unsettled', says: settled.says };
  const stretch: LogStretch =
    settled.kind === 'settled'
      ? settled
      : { fromSeconds: after.seconds[0]!, toSeconds: after.seconds.at(-1)! };
  const measured = measuredResponses(log, stretch, measuringContext(state, screwRpm));
  const says = [
    settled.kind === 'settled' ? settled.why : `Measured as it is: ${settled.says}`,
    ...waves(after, screwRpm, state),
  ];
  return {
    kind: 'measured',
    what: {
      kind: 'log attached',
      cell,
      raw,
      rows: lines,
      unparsedRows: unparsed,
      measured,
      says,
      gauge: place,
    },
  };
}

function waves(log: GaugeLog, screwRpm: number, { opened }: StudyState): string[] {
  const step = usualStepSeconds(log.seconds);
  if (!(step > 0) || log.seconds.length < 90) return [];
  const speed = log.pullerMmPerSecond?.at(-1) ?? Number.NaN;
  const grid = evenlySpaced(log.seconds, log.diameterMm, step).values;
  if (presentCount(grid) < 90) return [];
  const { parts } = periodicParts(grid, step, {
    turning: {
      screwRpm,
      stepSeconds: step,
      ...(speed > 0 ? { deadTimeSeconds: opened.line.dieToGaugeMm / speed } : {}),
    },
  });
  return parts
    .slice(0, 2)
    .map(({ amplitude, hint }) => `Ripple of ${(1000 * amplitude).toFixed(1)} µm. ${hint}`);
}
