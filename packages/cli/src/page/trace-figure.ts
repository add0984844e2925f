import type { CellState } from '@strandwise/core';
import { readLog } from '@strandwise/gauge';
import type { CaptionedFigure, CellTrace } from '@strandwise/report';
import { fixed } from '@strandwise/report';
import type { PagedStudy, RawBytes } from './paged-study.ts';
import { counted } from './sentence.ts';
import { stripPieces } from './strip-chart.ts';

/** Pieces of time a log is thinned to: enough for its shape at the size it is drawn, and a small file. */
const piecesShown = 44;

/** The log of every cell in small on the same axes; null when none is at hand. */
export function traceFigure({ state, raw }: PagedStudy): CaptionedFigure | null {
  const cells = state.cells.flatMap((cell) => cellTrace(cell, raw) ?? []);
  if (cells.length === 0) return null;
  const { diameterMm, toleranceMm } = state.opened.product;
  const tolerance = { low: diameterMm - toleranceMm, high: diameterMm + toleranceMm };
  const leaving = state.cells.filter(
    ({ readings }) => (readings.measured?.shareOutsideTolerance ?? 0) > 0,
  );
  return {
    caption: leavingWords(leaving.length, cells.length),
    note: `The diameter as the gauge logged it, least to most of each piece of time. Above each: the cell, and the SD of its measured stretch in mm.`,
    figure: {
      kind: 'trace-grid',
      title: 'The log of every cell',
      description: `${counted(cells.length, 'log')} of the diameter over time, with the limits ${fixed(tolerance.low, 3)} and ${fixed(tolerance.high, 3)} mm; the table of cells gives the numbers.`,
      target: diameterMm,
      tolerance,
      unit: 'mm',
      cells,
    },
  };
}

/** The answer of the picture: which strands left the tolerance while they were measured. */
const leavingWords = (leaving: number, all: number): string =>
  leaving === 0
    ? 'No measured strand left the tolerance'
    : `In ${leaving} of ${counted(all, 'cell')} the measured strand left the tolerance at times`;

function cellTrace(
  { cell, readings, status, failures }: CellState,
  raw: RawBytes,
): CellTrace | null {
  const { log, measured } = readings;
  const bytes = log && raw(log.raw.sha256);
  if (!log || !bytes) return null;
  const read = readLog(bytes, { fileName: log.raw.name }).log;
  if (read.seconds.length < 2) return null;
  const start = read.seconds[0]!;
  const minutes = read.seconds.map((seconds) => (seconds - start) / 60);
  const isFailed = status === 'failed';
  return {
    cell,
    says: isFailed
      ? `failed ${failures.at(-1)?.direction ?? ''}`.trim()
      : measured
        ? `SD ${fixed(measured.diameterSdMm, 4)}`
        : '',
    ...(isFailed ? { isFailed } : {}),
    pieces: stripPieces(read, minutes, piecesShown).map(({ at, low, high }) => ({ at, low, high })),
    ...(measured
      ? {
          measured: {
            from: (measured.fromSeconds - start) / 60,
            to: (measured.toSeconds - start) / 60,
          },
        }
      : {}),
  };
}
