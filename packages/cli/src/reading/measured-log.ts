import {
  type CellState,
  type GaugeLog,
  type HappeningOf,
  type Journal,
  type LogStretch,
  type MeasuredResponses,
  type MeasuringContext,
  measuredResponses,
  type StudyState,
  settledStretch,
} from '@strandwise/core';
import { type ReadLog, readLog } from '@strandwise/gauge';
import { UsageError } from '../command/usage-error.ts';

/** A log read and measured, before it is recorded. */
export interface MeasuredLog {
  readonly stretch: LogStretch;
  readonly measured: MeasuredResponses;
  readonly rows: number;
  readonly unparsedRows: number;
  readonly says: readonly string[];
}

/**
 * Measures a cell's log: its settled stretch, then every response the stretch can give.
 *
 * A log that never settles, or is too short, is refused with what to do; `anyway` measures all of
 * it and says so, for an operator who has a reason.
 */
export function measuredLog(
  bytes: Uint8Array,
  {
    name,
    state,
    cell,
    anyway = false,
  }: { name: string; state: StudyState; cell: CellState; anyway?: boolean },
): MeasuredLog {
  const read = readLog(bytes, { fileName: name });
  const screwRpm = (cell.entered ?? cell.run.setPoints)?.screwRpm ?? 0;
  const settled = settledStretch(read.log, { screwRpm });
  const says = [...read.unsure, ...read.notes];
  if (settled.kind !== 'settled' && !anyway) throw new UsageError(`${name}: ${settled.says}`);
  const stretch: LogStretch =
    settled.kind === 'settled'
      ? { fromSeconds: settled.fromSeconds, toSeconds: settled.toSeconds }
      : wholeOf(read.log);
  says.push(settled.kind === 'settled' ? settled.why : `Measured as it is: ${settled.says}`);
  return {
    stretch,
    measured: measuredResponses(read.log, stretch, measuringContext(state, screwRpm)),
    rows: read.log.seconds.length,
    unparsedRows: unparsedCount(read),
    says,
  };
}

/** What a study knows that a log does not say. */
export function measuringContext(
  { opened }: Pick<StudyState, 'opened'>,
  screwRpm: number,
): MeasuringContext {
  const { line, product, grade } = opened;
  return {
    screwRpm,
    gauge: line.gauge,
    targetMm: product.diameterMm,
    toleranceMm: product.toleranceMm,
    densityGPerCm3: grade.solidDensityGPerCm3,
  };
}

const wholeOf = ({ seconds }: GaugeLog): LogStretch => ({
  fromSeconds: seconds[0]!,
  toSeconds: seconds.at(-1)!,
});

const unparsedCount = ({ unparsed }: ReadLog): number =>
  Object.values(unparsed.byReason).reduce((sum, count) => sum + count, 0);

/** Keeps the raw bytes and records what they say; returns a sentence for the operator. */
export function attachLog(
  journal: Journal,
  name: string,
  bytes: Uint8Array,
  number: number,
  anyway = false,
): string {
  const state = journal.state();
  const cell = state.cells[number - 1];
  if (!cell)
    throw new UsageError(`there is no cell ${number}; the plan has ${state.cells.length}.`);
  const { measured, rows, unparsedRows, says } = measuredLog(bytes, { name, state, cell, anyway });
  const raw = journal.store.putRaw(name, bytes);
  const what: HappeningOf<'log attached'> = {
    kind: 'log attached',
    cell: number,
    raw,
    rows,
    unparsedRows,
    measured,
    says: [...says],
  };
  journal.record(what);
  const minutes = (measured.toSeconds - measured.fromSeconds) / 60;
  const kept =
    unparsedRows === 0 ? '' : ` ${unparsedRows} lines could not be read and are kept aside.`;
  return `SD ${measured.diameterSdMm.toFixed(4)} mm over ${minutes.toFixed(1)} min of ${name}.${kept}`;
}
