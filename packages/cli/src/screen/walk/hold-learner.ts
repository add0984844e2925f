import {
  briefing,
  type CellState,
  cautiousThermal,
  duration,
  lastSetPoints,
  learnedFlushVolumes,
  learnedThermal,
  type StudyState,
  type StudyStore,
} from '@strandwise/core';
import { LineFormat } from '@strandwise/gauge';
import { growingLog } from '../../reading/growing-log.ts';
import { type LearnedCell, learnedCell } from '../../reading/learned-cell.ts';
import { replayed } from '../../reading/live-log.ts';
import type { HoldOffer } from './screen.ts';

/** Learns the line's lags from the logs of cells that are done, as they become so. */
export interface HoldLearner {
  /** Better holds for the cells to come, or null while nothing is to be gained or too little known. */
  offer(study: StudyState): HoldOffer | null;
}

/** Less than this over the rest of the walk is not worth a question. */
const WORTH_SECONDS = 300;
/** Older cells than these are left alone when a walk is taken up again, so that it starts at once. */
const MOST_CELLS = 8;

export function holdLearner(store: Pick<StudyStore, 'raw'>): HoldLearner {
  const known = new Map<string, LearnedCell | null>();
  const cellOf = (study: StudyState, cell: CellState): LearnedCell | null => {
    const { sha256 } = cell.readings.log!.raw;
    if (!known.has(sha256)) known.set(sha256, learned(store, study, cell));
    return known.get(sha256)!;
  };
  return {
    offer(study) {
      const cells = study.cells
        .filter(({ status, readings }) => status === 'done' && readings.log?.gauge !== undefined)
        .sort((a, b) => (a.finishedAt! < b.finishedAt! ? -1 : 1))
        .slice(-MOST_CELLS)
        .map((cell) => cellOf(study, cell))
        .filter((cell) => cell !== null);
      return study.queue.length > 1 ? offered(study, cells) : null;
    },
  };
}

function learned(
  store: Pick<StudyStore, 'raw'>,
  study: StudyState,
  cell: CellState,
): LearnedCell | null {
  const { raw, gauge } = cell.readings.log!;
  const format = LineFormat.safeParse(study.gauges[gauge ?? '']?.format);
  const bytes = store.raw(raw.sha256);
  if (!format.success || !bytes || !cell.entered) return null;
  const log = growingLog();
  replayed(bytes, format.data, (reading) => log.push(reading));
  const { line, grade } = study.opened;
  const before = lastSetPoints(study, cell.cell);
  const isChanged =
    JSON.stringify(before?.zonesCelsius) !== JSON.stringify(cell.entered.zonesCelsius) ||
    before?.screwRpm !== cell.entered.screwRpm;
  return learnedCell(log.since(Number.NEGATIVE_INFINITY), {
    cell: cell.cell,
    entered: cell.entered,
    line,
    solidOverMelt: grade.solidDensityGPerCm3 / grade.meltDensityGPerCm3,
    flushVolumes: isChanged ? (study.learned?.flushVolumes ?? 1) : 0,
  });
}

function offered(study: StudyState, cells: readonly LearnedCell[]): HoldOffer | null {
  const { line } = study.opened;
  const transitions = cells.flatMap((cell) => cell.transitions);
  const found = learnedThermal(transitions, line.thermal);
  const moving = cells.flatMap(({ isStillMoving }) => isStillMoving ?? []);
  const inUse = study.learned?.flushVolumes ?? 1;
  const more = learnedFlushVolumes(moving, inUse);
  if (found.kind === 'too-few' && more === null) return null;
  const thermal = cautiousThermal(found, line.thermal);
  const flushVolumes = more ?? study.learned?.flushVolumes ?? null;
  const what: HoldOffer['what'] = { kind: 'holds learned', thermal, flushVolumes, says: [] };
  const after: StudyState = {
    ...study,
    learned: what,
    opened: { ...study.opened, line: { ...line, thermal } },
  };
  const saved = (briefing(study)?.secondsLeft ?? 0) - (briefing(after)?.secondsLeft ?? 0);
  if (Math.abs(saved) < WORTH_SECONDS) return null;
  const title =
    saved > 0
      ? `holds learned: ${duration(saved)} less to wait in all`
      : `holds learned: they are too short, ${duration(-saved)} more in all`;
  const says = [
    ...(found.kind === 'learned' ? lagSays(found, line.thermal) : []),
    ...(more === null ? [] : [flushSays(moving, more, inUse)]),
    saved > 0
      ? `The cells to come take ${duration(saved)} less.`
      : `The holds so far are too short by ${duration(-saved)} over the cells to come: those cells would be measured on old melt or unsettled zones.`,
  ];
  return { what: { ...what, says }, title, says };
}

function lagSays(
  found: Extract<ReturnType<typeof learnedThermal>, { kind: 'learned' }>,
  assumed: StudyState['opened']['line']['thermal'],
): string[] {
  const {
    zoneLagSeconds: lag,
    heatingCelsiusPerSecond: heat,
    coolingCelsiusPerSecond: cool,
  } = found;
  const rate = (value: number): string => (60 * value).toFixed(1);
  return [
    `From ${found.changes} changes of zones, which the model meets within ${found.misfitCelsius.toFixed(1)} °C:`,
    `lag ${lag.value.toFixed(0)} s (so far ${assumed.zoneLagSeconds}); heating at most ${rate(heat.value)} °C a minute (${rate(assumed.heatingCelsiusPerSecond)}); cooling at most ${rate(cool.value)} (${rate(assumed.coolingCelsiusPerSecond)}). Holds take a standard error to the slow side.`,
  ];
}

function flushSays(moving: readonly boolean[], more: number, inUse: number): string {
  const count = moving.filter((moves) => moves).length;
  return `In ${count} of ${moving.length} cells the strand drifted on after ${inUse.toFixed(1)} barrel volumes: old melt was still leaving. ${more.toFixed(1)} renew 95 % of it.`;
}
