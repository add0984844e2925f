import {
  briefing,
  currentCell,
  outputCm3PerMinute,
  type SetPoints,
  type StudyState,
} from '@strandwise/core';
import { type LiveCell, liveCell } from '../../reading/live-cell.ts';
import type { LiveRecorder } from '../../reading/live-recorder.ts';

/** The cell whose settings are in and that is not done. */
export function inWork(study: StudyState) {
  const cell = currentCell(study);
  return cell && (cell.status === 'holding' || cell.status === 'measuring') ? cell : null;
}

/** Seconds from one moment of the record to a later one; 0 when they are the other way round. */
export const secondsBetween = (from: string, to: string): number =>
  Math.max(0, (Date.parse(to) - Date.parse(from)) / 1000);

/** Brings the recorder in step with the cell that is held or measured. */
export function followCell(
  recorder: LiveRecorder,
  study: StudyState,
  cell: ReturnType<typeof inWork>,
  isOpening: boolean,
): void {
  if (!cell?.enteredAt || !cell.entered) {
    recorder.end();
    return;
  }
  const enteredMs = Date.parse(cell.enteredAt);
  const hand = recorder.inHand();
  if (hand?.cell !== cell.cell || hand.enteredMs !== enteredMs) {
    const live = liveCellOf(study, cell.entered);
    if (isOpening) recorder.resume(cell.cell, enteredMs, live);
    else recorder.begin(cell.cell, enteredMs, live);
  }
  recorder
    .inHand()
    ?.live.measureFrom(
      cell.holdEndedAt === null ? null : secondsBetween(cell.enteredAt, cell.holdEndedAt),
    );
}

/** What to watch for while a study's current cell is held and measured. */
export function liveCellOf(study: StudyState, entered: SetPoints): LiveCell {
  const { line, grade, product } = study.opened;
  const brief = briefing(study, entered);
  const parts = brief?.hold.parts;
  const residence = (60 * line.holdUpCm3) / outputCm3PerMinute(line, entered.screwRpm);
  return liveCell({
    watch: {
      screwRpm: entered.screwRpm,
      setPointsCelsius: entered.zonesCelsius,
      withinCelsius: line.thermal.settledWithinCelsius,
      ...(parts ? { zonesReadyAtSeconds: parts.thermal } : {}),
      holdUpCm3: line.holdUpCm3,
      barrelVolumes: parts ? parts.flush / residence : 1,
      solidOverMeltDensity: grade.solidDensityGPerCm3 / grade.meltDensityGPerCm3,
      outputCm3PerSecond: outputCm3PerMinute(line, entered.screwRpm) / 60,
    },
    targetMm: product.diameterMm,
    toleranceMm: product.toleranceMm,
    dieToGaugeMm: line.dieToGaugeMm,
    leastWindowSeconds: 60 * line.measureMinutes,
  });
}
