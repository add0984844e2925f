import { type DraftShelf, type StudyEvent, type StudyStore, studyState } from '@strandwise/core';
import { numberedEvents, rawHashes } from './checked-event.ts';
import { rawReference } from './hash.ts';

/** A study kept in memory: for tests and trials; it is gone with the process. */
export function memoryStudyStore(initial: readonly StudyEvent[] = []): StudyStore {
  const log: StudyEvent[] = [...initial];
  const raw = new Map<string, Uint8Array>();
  return {
    place: 'memory',
    events: (after = 0) => log.slice(after),
    append(events, expected) {
      const numbered = numberedEvents(events, expected, log.length);
      log.push(...structuredClone(numbered));
      return numbered;
    },
    putRaw(name, bytes) {
      const reference = rawReference(name, bytes);
      if (!raw.has(reference.sha256)) raw.set(reference.sha256, bytes.slice());
      return reference;
    },
    raw: (sha256) => raw.get(sha256)?.slice(),
    verify() {
      const missing = rawHashes(log)
        .filter(({ sha256 }) => !raw.has(sha256))
        .map(({ seq, sha256 }) => `entry ${seq}: raw bytes ${sha256.slice(0, 12)}… are missing`);
      return [...missing, ...foldProblems(log)];
    },
    drafts: memoryDrafts(),
    close() {},
  };
}

function memoryDrafts(): DraftShelf {
  const kept = new Map<string, Uint8Array>();
  const keysUnder = (prefix: string): string[] =>
    [...kept.keys()].filter((key) => key.startsWith(prefix)).sort();
  return {
    keep: (key, bytes) => void kept.set(key, bytes.slice()),
    draft: (key) => kept.get(key)?.slice(),
    drafts: (prefix) => keysUnder(prefix).map((key) => ({ key, bytes: kept.get(key)!.slice() })),
    forget: (prefix) => {
      for (const key of keysUnder(prefix)) kept.delete(key);
    },
    exchange(key, next) {
      const bytes = next(kept.get(key)?.slice());
      if (bytes === null) return false;
      kept.set(key, bytes.slice());
      return true;
    },
  };
}

/** What stops the log from folding to a state, in words. */
export function foldProblems(log: readonly StudyEvent[]): string[] {
  try {
    if (log.length > 0) studyState(log);
    return [];
  } catch (error) {
    return [`the entries do not fold to a state: ${(error as Error).message}`];
  }
}
