import { spawn } from 'node:child_process';
import { createHash } from 'node:crypto';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import {
  adoptedPlan,
  planOf,
  type StudyEvent,
  type StudyStore,
  seededUniform,
  studyDefaults,
  studyState,
  type Uniform,
} from '@strandwise/core';
import { LineFormat } from '@strandwise/gauge';
import { sqliteStudyStore } from '@strandwise/store';
import { replayed } from '../../../packages/cli/src/reading/live-log.ts';
import { joined } from '../../../packages/cli/src/reading/live-recorder.ts';
import { keptScreen } from '../../../packages/cli/src/screen/walk/kept-screen.ts';
import { entry, openedStudy } from '../../core/study/example-study.ts';
import { bundled } from '../bundle.ts';

export interface KillReport {
  readonly kills: number;
  readonly walks: number;
  readonly entriesConfirmed: number;
  readonly entriesLost: number;
  readonly draftsConfirmed: number;
  readonly draftsLost: number;
  readonly linesConfirmed: number;
  readonly linesLost: number;
  readonly corruptedStudies: number;
  readonly problems: readonly string[];
}

/** A life is ended after up to so many things it said are on disk, and up to so long after the last. */
const MOST_SAID = 50;
const KILL_SPREAD_MS = 10;

/** What a life has said is on disk. */
interface Confirmed {
  readonly entries: Map<number, string>;
  draft: { readonly seq: number; readonly tally: number; readonly text: string } | null;
  lines: { readonly cell: number; readonly enteredAt: string; readonly count: number } | null;
}

/**
 * Ends a walk at random moments with SIGKILL, takes it up again, and compares what was confirmed with
 * what is on disk; a walk that reaches its end is followed by a new one.
 */
export async function killed(
  kills: number,
  { seed = 1, onKill }: { seed?: number; onKill?: (report: KillReport) => void } = {},
): Promise<KillReport> {
  const program = await bundled(join(import.meta.dirname, 'walker.ts'));
  const folder = mkdtempSync(join(tmpdir(), 'strandwise-kill-'));
  const uniform = seededUniform(seed);
  const sum = {
    kills: 0,
    walks: 0,
    entriesConfirmed: 0,
    entriesLost: 0,
    draftsConfirmed: 0,
    draftsLost: 0,
    linesConfirmed: 0,
    linesLost: 0,
    corruptedStudies: 0,
    problems: [] as string[],
  };
  try {
    while (sum.kills < kills) {
      const path = join(folder, `walk-${sum.walks}.strandwise`);
      plannedStudy(path, seed + sum.walks);
      const confirmed: Confirmed = { entries: new Map(), draft: null, lines: null };
      for (let isWalked = false; !isWalked && sum.kills < kills; ) {
        isWalked = await oneLife(program, path, uniform, confirmed);
        if (!isWalked) sum.kills++;
        audited(path, confirmed, sum);
        onKill?.(sum);
      }
      sum.entriesConfirmed += confirmed.entries.size;
      sum.walks++;
    }
    return sum;
  } finally {
    rmSync(folder, { recursive: true, force: true });
    rmSync(join(program, '..'), { recursive: true, force: true });
  }
}

function plannedStudy(path: string, seed: number): void {
  const opened = studyState([{ seq: 1, ...entry(openedStudy) }]);
  const { factors, line, grade, product } = opened.opened;
  const plan = planOf({
    factors,
    model: 'main',
    family: 'full factorial',
    options: { replicates: 2 },
    seed,
    surroundings: { line, grade, product, defaults: studyDefaults(opened) },
  });
  const store = sqliteStudyStore(path, { mode: 'create' });
  store.append(
    [entry(openedStudy), entry({ kind: 'plan adopted', plan: adoptedPlan(plan) }, 1)],
    0,
  );
  store.close();
}

/** @returns true when the walk came to its end before it was killed */
async function oneLife(
  program: string,
  path: string,
  uniform: Uniform,
  confirmed: Confirmed,
): Promise<boolean> {
  const lifeSeed = String(1 + Math.floor(uniform() * 1e6));
  const child = spawn(process.execPath, [program, path, lifeSeed, '900'], {
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  let isWalked = false;
  let timer: NodeJS.Timeout | undefined;
  // Counted in what the life says, not in time: a busy machine must not end every life in its first hold.
  let untilKill = Math.floor(uniform() * MOST_SAID);
  const afterMs = uniform() * KILL_SPREAD_MS;
  const lines = createInterface({ input: child.stdout });
  lines.on('line', (text) => {
    const [what, first = '', second = '', third = ''] = text.split(' ');
    if (untilKill-- === 0) timer = setTimeout(() => child.kill('SIGKILL'), afterMs);
    if (what === 'alive') return;
    if (what === 'entry') confirmed.entries.set(Number(first), second);
    else if (what === 'draft')
      confirmed.draft = {
        seq: Number(first),
        tally: Number(second),
        text: JSON.parse(text.split(' ').slice(3).join(' ')) as string,
      };
    else if (what === 'lines')
      confirmed.lines = { cell: Number(first), enteredAt: second, count: Number(third) };
    else if (what === 'walked') isWalked = true;
    else throw new Error(`the walker says ${text}`);
  });
  const code = await new Promise<number | null>((resolve) => {
    child.on('close', resolve);
  });
  clearTimeout(timer);
  if (code !== null && code !== 0) throw new Error(`the walker ended with ${code}`);
  return isWalked && code === 0;
}

const hashOf = (event: StudyEvent): string =>
  createHash('sha256').update(JSON.stringify(event)).digest('hex');

type Sum = { -readonly [K in keyof KillReport]: KillReport[K] } & { problems: string[] };

function audited(path: string, confirmed: Confirmed, sum: Sum): void {
  const store = sqliteStudyStore(path, { mode: 'open' });
  try {
    const wrong = store.verify();
    if (wrong.length > 0) {
      sum.corruptedStudies++;
      sum.problems.push(...wrong);
    }
    const events = store.events();
    for (const [seq, hash] of confirmed.entries) {
      const found = events[seq - 1];
      if (found && hashOf(found) === hash) continue;
      sum.entriesLost++;
      sum.problems.push(`entry ${seq} was confirmed and is ${found ? 'another' : 'gone'}`);
    }
    auditDraft(store, events, confirmed, sum);
    auditLines(store, events, confirmed, sum);
  } finally {
    store.close();
  }
}

/** What was half typed is there, unless an entry or a later key has taken its place. */
function auditDraft(
  store: StudyStore,
  events: readonly StudyEvent[],
  { draft }: Confirmed,
  sum: Sum,
): void {
  if (!draft || draft.seq !== events.length) return;
  sum.draftsConfirmed++;
  const { mode, tally } = keptScreen(store.drafts, events);
  const text = 'draft' in mode ? mode.draft : '';
  // A key pressed after the last confirmation may have gone one step on, never back.
  const isKept =
    Math.abs(tally - draft.tally) <= 1 && (text.startsWith(draft.text) || draft.text === '');
  const isNext = text === '' && mode.kind === 'gate';
  // An answer that leads to a further question is kept inside that question.
  const inJson = JSON.stringify(draft.text).slice(1, -1);
  const isAnswered = text === '' && inJson !== '' && JSON.stringify(mode).includes(inJson);
  if (isKept || isNext || isAnswered) return;
  sum.draftsLost++;
  sum.problems.push(
    `draft ${JSON.stringify(draft)} was confirmed; found ${tally} ${JSON.stringify(mode)}`,
  );
}

/** Every line said to be on disk is there: in the cell's drafts, or in the raw bytes of an entry. */
function auditLines(
  store: StudyStore,
  events: readonly StudyEvent[],
  { lines }: Confirmed,
  sum: Sum,
): void {
  if (!lines) return;
  const state = studyState(events);
  const cell = state.cells[lines.cell - 1];
  if (cell?.enteredAt !== lines.enteredAt) return;
  const format = LineFormat.parse(Object.values(state.gauges)[0]?.format ?? anyFormat);
  const linesIn = (kept: Uint8Array | undefined): number =>
    replayed(kept ?? new Uint8Array(0), format, () => {}).lines;
  // Lines stand in the bytes of an entry, of a log or of a failed attempt; those heard after it, and
  // those of a cell in hand, stand among the drafts.
  const kept = events.flatMap(({ what }) =>
    'raw' in what && what.raw && 'cell' in what && what.cell === lines.cell
      ? [store.raw(what.raw.sha256)]
      : [],
  );
  kept.push(joined(store.drafts.drafts(`live/${lines.cell}/`)));
  const found = Math.max(...kept.map(linesIn));
  if (cell.status === 'done') return;
  sum.linesConfirmed += lines.count;
  if (found >= lines.count) return;
  sum.linesLost += lines.count - found;
  sum.problems.push(`cell ${lines.cell}: ${lines.count} lines were confirmed, ${found} are there`);
}

/** Lines are only counted. */
const anyFormat = {
  time: { from: 'arrival' },
  fields: [{ column: 1, means: 'diameter', unit: 'mm' }],
};

export const reportText = (report: KillReport): string =>
  [
    `${report.kills} SIGKILLs over ${report.walks} walks`,
    `confirmed entries ${report.entriesConfirmed}, lost ${report.entriesLost}`,
    `confirmed drafts ${report.draftsConfirmed}, lost ${report.draftsLost}`,
    `confirmed gauge lines ${report.linesConfirmed}, lost ${report.linesLost}`,
    `corrupted studies ${report.corruptedStudies}`,
  ].join('\n');
