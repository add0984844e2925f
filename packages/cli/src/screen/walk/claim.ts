import { readFileSync } from 'node:fs';
import { hostname } from 'node:os';
import type { DraftShelf } from '@strandwise/core';
import { z } from 'zod';

const Walker = z.strictObject({
  who: z.string(),
  host: z.string(),
  pid: z.int(),
  sinceMs: z.number(),
  beatMs: z.number(),
  /** The walk's own time at that beat, which may run before the clock or faster, ms. */
  nowMs: z.number(),
});
export type Walker = z.infer<typeof Walker>;

const key = 'walker';
/** A walker who has not shown life for this long is gone. */
const GONE_MS = 20_000;

/** The mark that one person walks a study, so that a second one watches instead. */
export interface WalkClaim {
  /** Shows life, and under which name; call every few seconds. */
  beat(who: string, nowMs: number): void;
  release(): void;
}

/** Walks, or somebody who does already. */
export type Claimed =
  | { readonly kind: 'mine'; readonly claim: WalkClaim }
  | { readonly kind: 'taken'; readonly by: Walker };

/**
 * Takes the walk of a study unless a living process has it. A mark left by a killed process is taken
 * over at once on the same machine, and after twenty seconds from another.
 */
export function claimWalk(
  drafts: DraftShelf,
  { who, now = Date.now }: { readonly who: string; readonly now?: () => number },
): Claimed {
  const mine: Walker = {
    who,
    host: hostname(),
    pid: process.pid,
    sinceMs: now(),
    beatMs: now(),
    nowMs: now(),
  };
  let by: Walker | null = null;
  const isTaken = !drafts.exchange(key, (bytes) => {
    by = bytes ? walkerOf(bytes) : null;
    return by !== null && isAlive(by, now()) ? null : bytesOf(mine);
  });
  if (isTaken && by !== null) return { kind: 'taken', by };
  return {
    kind: 'mine',
    claim: {
      beat: (who, nowMs) => drafts.keep(key, bytesOf({ ...mine, who, beatMs: now(), nowMs })),
      release: () => drafts.forget(key),
    },
  };
}

/** Who walks now, for someone who watches; null when nobody does. */
export function walkerNow(drafts: DraftShelf, nowMs = Date.now()): Walker | null {
  const bytes = drafts.draft(key);
  const walker = bytes ? walkerOf(bytes) : null;
  return walker && isAlive(walker, nowMs) ? walker : null;
}

function isAlive({ host, pid, beatMs }: Walker, nowMs: number): boolean {
  if (Math.abs(nowMs - beatMs) > GONE_MS) return false;
  if (host !== hostname()) return true;
  try {
    process.kill(pid, 0);
    return !isDeadButListed(pid);
  } catch (error) {
    return (error as { code?: string }).code === 'EPERM';
  }
}

/** A killed process keeps its number until its parent looks at it; Linux tells it apart by Z. */
function isDeadButListed(pid: number): boolean {
  try {
    const stat = readFileSync(`/proc/${pid}/stat`, 'latin1');
    return stat.slice(stat.lastIndexOf(')')).startsWith(') Z');
  } catch {
    return false;
  }
}

const bytesOf = (walker: Walker): Uint8Array => new TextEncoder().encode(JSON.stringify(walker));

function walkerOf(bytes: Uint8Array): Walker | null {
  try {
    return Walker.parse(JSON.parse(new TextDecoder().decode(bytes)));
  } catch {
    return null;
  }
}
