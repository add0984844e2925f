import type { DraftShelf, HappeningKind, StudyEvent } from '@strandwise/core';
import { openingScreen, type WalkScreen } from './screen.ts';

const key = 'screen';

/** Entries that the walk writes by itself; they do not make what is half typed out of date. */
const byItself: ReadonlySet<HappeningKind> = new Set<HappeningKind>([
  'gauge trouble',
  'clock jumped',
  'gauge described',
]);

/** Keeps what is half typed, the tally and what was keyed in; durable when it returns. */
export function keepScreen(drafts: DraftShelf, screen: WalkScreen, lastSeq: number): void {
  const { mode, tally, edits } = screen;
  drafts.keep(key, new TextEncoder().encode(JSON.stringify({ lastSeq, mode, tally, edits })));
}

/** The screen as it was left, unless somebody has entered something since. */
export function keptScreen(drafts: DraftShelf, events: readonly StudyEvent[]): WalkScreen {
  const bytes = drafts.draft(key);
  if (!bytes) return openingScreen;
  try {
    const kept = JSON.parse(new TextDecoder().decode(bytes)) as Pick<
      WalkScreen,
      'mode' | 'tally' | 'edits'
    > & { readonly lastSeq: number };
    const isCurrent = events.slice(kept.lastSeq).every(({ what }) => byItself.has(what.kind));
    if (!isCurrent || typeof kept.mode?.kind !== 'string') return openingScreen;
    const { mode, tally, edits } = kept;
    return { ...openingScreen, mode, tally: Number(tally) || 0, edits: edits ?? null };
  } catch {
    return openingScreen;
  }
}
