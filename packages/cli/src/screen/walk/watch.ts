import { type Briefing, briefing, currentCell, duration, type Journal } from '@strandwise/core';
import { LineFormat } from '@strandwise/gauge';
import type { LiveCell } from '../../reading/live-cell.ts';
import { type LogReplayer, logReplayer } from '../../reading/live-log.ts';
import { type LiveView, lastKnownMs, livePrefix } from '../../reading/live-recorder.ts';
import { type Walker, walkerNow } from './claim.ts';
import { liveCellOf } from './follow-cell.ts';
import { keptScreen } from './kept-screen.ts';
import { walkIntent } from './keys.ts';
import { openingScreen, type WalkFacts, type WalkScreen } from './screen.ts';
import type { WalkSession } from './session.ts';
import { reduceWalk } from './state.ts';

const LOOK_MS = 1000;

interface Following {
  readonly key: string;
  readonly cell: LiveCell;
  readonly log: LogReplayer;
  /** The last piece heard. */
  after: string;
}

/**
 * The walk as somebody else sees it: read only. What the walker enters shows within a second, the
 * gauge's readings as they reach the study.
 */
export function watchSession(journal: Journal, now: () => number = Date.now): WalkSession {
  let screen: WalkScreen = openingScreen;
  let live: Following | null = null;
  let place = '';
  let brief: Briefing | null = briefing(journal.state());
  let aheadMs = 0;
  let settledMs: number | null = null;

  const follow = (): void => {
    const study = journal.refresh();
    const cell = currentCell(study);
    brief = briefing(study);
    const gauge = Object.values(study.gauges).at(-1);
    const format = LineFormat.safeParse(gauge?.format);
    if (!cell?.enteredAt || !cell.entered || !gauge || !format.success) {
      live = null;
      return;
    }
    place = gauge.place;
    const key = `${cell.cell} ${cell.enteredAt}`;
    if (live?.key !== key) {
      const following = liveCellOf(study, cell.entered);
      const log = logReplayer(format.data, (reading) => following.push(reading));
      live = { key, cell: following, log, after: `${livePrefix}${cell.cell}/` };
    }
    for (const piece of journal.store.drafts.drafts(`${livePrefix}${cell.cell}/`)) {
      if (piece.key <= live.after) continue;
      live.log.push(piece.bytes);
      live.after = piece.key;
    }
    const from = cell.holdEndedAt === null ? null : Date.parse(cell.holdEndedAt);
    live.cell.measureFrom(from === null ? null : (from - Date.parse(cell.enteredAt)) / 1000);
  };
  const view = (): LiveView | null => {
    if (!live || live.cell.readings === 0) return null;
    const minute = live.cell.lastMinute();
    return {
      place,
      trouble: null,
      isHeard: true,
      diameterMm: minute.at(-1) ?? null,
      perSecond: live.cell.perSecond(),
      lastMinute: minute,
      lights: live.cell.lights(),
      window: live.cell.window(),
      unparsed: 0,
      keptLines: live.cell.readings,
    };
  };
  /** How far the walker's time runs before ours; never behind what the study knows of. */
  const aheadOf = (walker: Walker | null): number =>
    Math.max(walker ? walker.nowMs - walker.beatMs : 0, lastKnownMs(journal) - now());
  const facts = (): WalkFacts => ({
    study: journal.state(),
    briefing: brief,
    nowMs: now() + aheadMs,
    mustCheck: false,
    live: view(),
    settledMs,
    metresSuggested: null,
    loss: null,
    nearer: null,
    offer: null,
    trainer: null,
    who: journal.signer(),
    isWatching: true,
  });
  follow();
  aheadMs = aheadOf(walkerNow(journal.store.drafts));

  return {
    screen: () => {
      // The walker's tally is seen as well; what they have half typed is theirs.
      const { tally } = keptScreen(journal.store.drafts, journal.events());
      return { ...screen, tally };
    },
    facts,
    press(key) {
      const intent = walkIntent(screen, key);
      if (intent) screen = reduceWalk(screen, intent, facts()).screen;
    },
    tickMs: LOOK_MS,
    tick() {
      follow();
      const walker = walkerNow(journal.store.drafts);
      aheadMs = aheadOf(walker);
      if (brief?.cell.status !== 'holding') settledMs = null;
      else if (live?.cell.lights()?.isSettled) settledMs = now() + aheadMs;
      const who = walker
        ? `${walker.who} walks.`
        : `Nobody walks now; the last entry is ${duration(Math.max(0, (now() - Date.parse(journal.state().lastAt)) / 1000))} old.`;
      screen = { ...screen, notice: who };
    },
    close: () => Promise.resolve(),
  };
}
