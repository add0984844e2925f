import {
  type CellFailure,
  type CellState,
  type LineResponse,
  type StudyState,
  studyResponses,
} from '@strandwise/core';
import {
  type CaptionedFigure,
  decimalsFor,
  fixed,
  type RunColumn,
  type RunLog,
  type RunLogRow,
  type TimelineCell,
} from '@strandwise/report';
import { dayOf } from './job.ts';
import { failureOutcome, failureWays } from './outcome.ts';
import type { PagedStudy } from './paged-study.ts';
import { counted, listed } from './sentence.ts';
import { setPointKeys } from './setting.ts';
import { traceFigure } from './trace-figure.ts';

/** A pause after which what follows is another session. */
const sessionGapHours = 3;

/** Every attempt in the order it was run, with failures, notes, and when the time went by. */
export function runLogPart(study: PagedStudy): RunLog {
  const { state } = study;
  const readings = studyResponses(state).filter(({ value }) =>
    state.cells.some((cell) => value(cell) !== null),
  );
  const keys = setPointKeys(state.opened.line, state.opened.factors);
  const rows = state.cells.flatMap((cell) => rowsOf(cell, readings, keys));
  const traces = traceFigure(study);
  return {
    sentence: runSentence(state),
    setPoints: keys.map(({ name, unit, decimals }) => columnOf(name, unit, decimals)),
    responses: readings.map((reading) =>
      columnOf(
        reading.response.name,
        reading.response.kind === 'count' ? 'per m' : reading.response.unit,
        valueDecimals(state.cells.map((cell) => rateOf(reading, cell))),
      ),
    ),
    rows,
    ...(traces ? { traces } : {}),
    figures: timelineFigure(state),
  };
}

const columnOf = (name: string, unit: string | undefined, decimals: number): RunColumn => ({
  name,
  decimals,
  ...(unit === undefined || unit === '' ? {} : { unit }),
});

/** Three figures of the middle value. */
function valueDecimals(values: readonly (number | null)[]): number {
  const sizes = values
    .flatMap((value) => (value === null || value === 0 ? [] : [Math.abs(value)]))
    .sort((a, b) => a - b);
  return decimalsFor(sizes[Math.floor(sizes.length / 2)] ?? 1, 3);
}

/** A response's value of a cell; a count by the metres that were looked at. */
export function rateOf(
  { response, value, exposure }: LineResponse,
  cell: CellState,
): number | null {
  const read = value(cell);
  if (read === null || response.kind !== 'count') return read;
  const metres = exposure?.(cell) ?? null;
  return metres === null || metres === 0 ? read : read / metres;
}

function rowsOf(
  cell: CellState,
  readings: readonly LineResponse[],
  keys: ReturnType<typeof setPointKeys>,
): RunLogRow[] {
  const common = {
    runOrder: cell.cell,
    ...(cell.run.wholePlot === null ? {} : { zoneSetting: cell.run.wholePlot }),
  };
  const settings = (setPoints: CellState['entered']): (number | string)[] => {
    const at = setPoints ?? cell.run.setPoints;
    return keys.map(({ value }) => (at ? value(at) : '—'));
  };
  const failed = cell.failures.map((failure, i): RunLogRow => {
    const isLast = i === cell.failures.length - 1;
    const reason = failureReason(failure, isLast && cell.status === 'failed' ? cell.notes : []);
    return {
      ...common,
      setPoints: settings(failure.setPoints),
      responses: readings.map(() => null),
      outcome: failureOutcome(failure.direction),
      ...(reason === '' ? {} : { reason }),
    };
  });
  if (cell.status !== 'done') return failed;
  const reason = [
    ...(cell.purpose === 'plan' ? [] : [purposeWords[cell.purpose]]),
    ...cell.notes,
  ].join('; ');
  return [
    ...failed,
    {
      ...common,
      setPoints: settings(cell.entered),
      responses: readings.map((reading) => rateOf(reading, cell)),
      outcome: 'measured',
      ...(reason === '' ? {} : { reason }),
    },
  ];
}

const purposeWords = {
  plan: 'plan',
  augment: 'added run',
  confirm: 'confirmation',
  replace: 'replacement',
} as const;

/** Why an attempt failed, where the outcome's own word does not say it. */
function failureReason(
  { direction, why, evidence }: CellFailure,
  notes: readonly string[],
): string {
  return [
    ...(direction === 'blocked' ? ['blocked'] : []),
    ...(why === undefined ? [] : [why]),
    ...(evidence === undefined ? [] : [`see ${evidence}`]),
    ...notes,
  ].join('; ');
}

function runSentence(state: StudyState): string {
  const { cells, queue, troubles } = state;
  if (cells.length === 0) return 'Nothing has been run.';
  const done = cells.filter(({ status }) => status === 'done').length;
  const failed = cells.filter(({ status }) => status === 'failed');
  const out = cells.filter(({ status }) => status === 'left out').map(({ cell }) => String(cell));
  if (done + failed.length === 0)
    return `None of the ${counted(cells.length, 'cell')} has been walked yet.`;
  const lost = failureWays(failed);
  const retried = cells.filter(({ status, failures }) => status === 'done' && failures.length > 0);
  return [
    `Of ${counted(cells.length, 'cell')}, ${done} ${done === 1 ? 'was' : 'were'} measured and ${failed.length === 0 ? 'none' : failed.length} failed${lost === '' ? '' : ` (${lost})`}.`,
    ...(retried.length > 0
      ? [
          `${listed(retried.map(({ cell }) => `Cell ${cell}`))} ran at a later attempt; the failed ones are listed as well.`,
        ]
      : []),
    ...(out.length > 0 ? [`Left out: ${out.length === 1 ? 'cell' : 'cells'} ${listed(out)}.`] : []),
    ...(queue.length > 0
      ? [`${counted(queue.length, 'cell')} ${queue.length === 1 ? 'is' : 'are'} still to do.`]
      : []),
    ...(troubles.length > 0
      ? [
          `Noted by the gauge or the clock: ${listed(troubles.map(({ cell, says }) => (cell === null ? says : `${says} (cell ${cell})`)))}.`,
        ]
      : []),
  ].join(' ');
}

interface Timed {
  readonly cell: CellState;
  readonly from: number;
  readonly measureFrom: number;
  readonly end: number;
}

/** When the time went by: holds and measuring, one row a session. */
function timelineFigure({ cells }: StudyState): CaptionedFigure[] {
  const timed = cells.flatMap(timedCell).sort((a, b) => a.from - b.from);
  if (timed.length < 2) return [];
  const sessions: Timed[][] = [];
  for (const each of timed) {
    const last = sessions.at(-1)?.at(-1);
    if (!last || each.from - last.end > sessionGapHours * 3.6e6) sessions.push([each]);
    else sessions.at(-1)!.push(each);
  }
  const hours = (ms: number): number => ms / 3.6e6;
  const held = timed.reduce((sum, { from, measureFrom }) => sum + measureFrom - from, 0);
  const spent = sessions.reduce((sum, session) => sum + session.at(-1)!.end - session[0]!.from, 0);
  // Entries typed in all at once have no time to draw.
  if (hours(spent) < 0.05) return [];
  const numbered = new Map<string, number>();
  const nameOf = (session: readonly Timed[]): string => {
    const day = dayOf(new Date(session[0]!.from).toISOString());
    const n = (numbered.get(day) ?? 0) + 1;
    numbered.set(day, n);
    return n === 1 ? day : `${day} (${n})`;
  };
  return [
    {
      caption: `Holds took ${fixed(hours(held), 1)} of ${fixed(hours(spent), 1)} hours`,
      figure: {
        kind: 'timeline',
        title: 'When the cells were run',
        description: `${counted(timed.length, 'cell')} in ${counted(sessions.length, 'session')}: the hold of each, then its measuring; failed ones marked.`,
        sessions: sessions.map((session) => ({
          name: nameOf(session),
          cells: session.map((each): TimelineCell => {
            const start = session[0]!.from;
            const { run, status, failures, cell } = each.cell;
            return {
              runOrder: cell,
              holdFromHour: hours(each.from - start),
              measureFromHour: hours(each.measureFrom - start),
              endHour: hours(each.end - start),
              outcome: status === 'done' ? 'measured' : failureOutcome(failures.at(-1)?.direction),
              ...(run.wholePlot === null ? {} : { zoneSetting: run.wholePlot }),
            };
          }),
        })),
      },
    },
  ];
}

function timedCell(cell: CellState): Timed[] {
  const ended = cell.finishedAt ?? cell.failures.at(-1)?.at;
  if (cell.enteredAt === null || ended === undefined || ended === null) return [];
  const [from, end] = [Date.parse(cell.enteredAt), Date.parse(ended)];
  const held = cell.holdEndedAt === null ? end : Date.parse(cell.holdEndedAt);
  if (!(end >= from)) return [];
  return [{ cell, from, measureFrom: Math.min(Math.max(held, from), end), end }];
}
