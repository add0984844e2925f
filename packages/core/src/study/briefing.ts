import type { Hold, HoldOf, HoldRule } from '../schedule/hold.ts';
import { confirmationHold, holdFor, studyHold } from '../schedule/hold.ts';
import { otherTier } from '../schedule/order-choice.ts';
import type { Line, SetPoints } from '../trade/line.ts';
import { type Refusal, refusals } from '../trade/refusal.ts';
import { type CellState, currentCell, type StudyState } from './state.ts';

/** One thing the operator sets, now and before. `before` is null at the first cell. */
export interface SettingChange {
  readonly name: string;
  readonly unit: string;
  readonly now: number | string;
  readonly before: number | string | null;
  /** Now less before, for numbers that differ; null otherwise. */
  readonly by: number | null;
}

/** What the operator needs to know of the cell in hand and the one after it. */
export interface Briefing {
  readonly cell: CellState;
  /** Its place among the cells as walked: done and failed ones come before it. */
  readonly place: number;
  readonly of: number;
  readonly settings: readonly SettingChange[];
  readonly hold: Hold;
  /** Limits that the set points break; such a cell cannot be walked. */
  readonly refusals: readonly Refusal[];
  readonly next: {
    readonly cell: CellState;
    readonly settings: readonly SettingChange[];
    readonly hold: Hold;
  } | null;
  /** Holds and measuring still to come, this cell's included, as if it began now; s. */
  readonly secondsLeft: number;
}

/** Common practice for a bench barrel from cold, no source: soak before the screw turns. */
const coldStart = { kind: 'cold', roomCelsius: 23, soakMinutes: 20 } as const;

/**
 * The operator's briefing, or null when no cell is waiting or the plan was made without set points.
 *
 * @param keyedIn - set points that differ from the plan's, before they are entered
 */
export function briefing(state: StudyState, keyedIn?: SetPoints): Briefing | null {
  const cell = currentCell(state);
  const setPoints = keyedIn ?? cell?.entered ?? cell?.run.setPoints;
  if (!cell || !setPoints) return null;
  const { line, grade, product } = state.opened;
  const previous = lastSetPoints(state, cell.cell);
  const after = state.queue[1] === undefined ? undefined : state.cells[state.queue[1] - 1];
  const nextPoints = after?.run.setPoints;
  return {
    cell,
    place: state.cells.length - state.queue.length + 1,
    of: state.cells.length,
    settings: settingChanges(line, setPoints, previous),
    hold: holdOf(state, cell, previous, setPoints),
    refusals: refusals(setPoints, line, grade, product),
    next:
      after && nextPoints
        ? {
            cell: after,
            settings: settingChanges(line, nextPoints, setPoints),
            hold: holdOf(state, after, setPoints, nextPoints),
          }
        : null,
    secondsLeft: secondsLeft(state, previous),
  };
}

/** The set points last entered before this cell, or null at a cold start. */
export function lastSetPoints(state: StudyState, cell: number): SetPoints | null {
  let latest: { at: string; setPoints: SetPoints } | null = null;
  for (const other of state.cells) {
    const tried = other.failures.flatMap(({ at, setPoints }) =>
      setPoints ? [{ at, setPoints }] : [],
    );
    const entered =
      other.cell !== cell && other.entered && other.enteredAt
        ? [{ at: other.enteredAt, setPoints: other.entered }]
        : [];
    for (const candidate of [...tried, ...entered]) {
      if (latest === null || candidate.at > latest.at) latest = candidate;
    }
  }
  return latest?.setPoints ?? null;
}

/** The hold before a cell when it is set to `to`, which may differ from its plan. */
export const holdBefore = (state: StudyState, cell: CellState, to: SetPoints): Hold =>
  holdOf(state, cell, lastSetPoints(state, cell.cell), to);

/** The hold of one step of this study, under the rule that its purpose asks. */
function holdOf(state: StudyState, cell: CellState, from: SetPoints | null, to: SetPoints): Hold {
  const { line, grade, product, factors } = state.opened;
  const options: HoldOf = {
    from: from ?? coldStart,
    to,
    line,
    grade,
    diameterMm: product.diameterMm,
    rule: holdRuleOf(state, cell),
    otherChange: otherTier(from ?? coldStart, to, factors),
  };
  return holdFor(options);
}

function holdRuleOf({ learned, plan }: StudyState, { purpose }: CellState): HoldRule {
  if (purpose === 'confirm') return confirmationHold;
  if (plan?.holdRule) return plan.holdRule;
  return learned?.flushVolumes
    ? { kind: 'computed', flushVolumes: learned.flushVolumes }
    : studyHold;
}

/**
 * Cells, by number, that are measured before one barrel volume has passed since their zones settled,
 * when walked in the order given: the cell before may carry over. Under the computed rule there are
 * none; a plain number of minutes may leave some.
 *
 * @param from - where the line stands before the first; null when cold
 */
export function underFlushedCells(
  state: StudyState,
  cells: readonly CellState[],
  from: SetPoints | null,
): ReadonlySet<number> {
  const out = new Set<number>();
  let before = from;
  for (const cell of cells) {
    const to = cell.entered ?? cell.run.setPoints;
    if (!to) continue;
    if (holdOf(state, cell, before, to).underFlushed) out.add(cell.cell);
    before = to;
  }
  return out;
}

function secondsLeft(state: StudyState, previous: SetPoints | null): number {
  let from = previous;
  let seconds = 0;
  for (const number of state.queue) {
    const cell = state.cells[number - 1]!;
    const to = cell.run.setPoints;
    if (!to) continue;
    seconds += holdOf(state, cell, from, to).seconds + 60 * state.opened.line.measureMinutes;
    from = to;
  }
  return seconds;
}

/** Every setting of a line with what it was before, zones first. */
export function settingChanges(
  line: Line,
  now: SetPoints,
  before: SetPoints | null,
): SettingChange[] {
  const change = (
    name: string,
    unit: string,
    value: number | string,
    old: number | string | undefined,
  ): SettingChange => ({
    name,
    unit,
    now: value,
    before: old ?? null,
    by: typeof value === 'number' && typeof old === 'number' && value !== old ? value - old : null,
  });
  return [
    ...now.zonesCelsius.map((celsius, i) =>
      change(zoneName(line, i), '°C', celsius, before?.zonesCelsius[i]),
    ),
    change('screw', 'rpm', now.screwRpm, before?.screwRpm),
    change('fan', '%', now.fanPercent, before?.fanPercent),
    ...Object.entries(now.other).map(([name, value]) =>
      change(name, '', value, before?.other[name]),
    ),
  ];
}

/** A zone by its number, and by its name where that says more. */
function zoneName({ zones }: Line, i: number): string {
  const name = zones[i]?.name ?? '';
  const number = `zone ${i + 1}`;
  return name === '' || name === number ? number : `${number}  ${name}`;
}
