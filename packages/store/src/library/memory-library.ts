import type { Library, LibraryEntry, LibraryKind, RecentStudy } from '@strandwise/core';
import { canonicalJson } from '../hash.ts';
import { checkedValue, nameKey } from './checked-value.ts';

/** A library kept in memory: for tests and trials; it is gone with the process. */
export function memoryLibrary(): Library {
  const log: LibraryEntry[] = [];
  const studies = new Map<string, RecentStudy>();
  const history = <K extends LibraryKind>(kind: K, name: string): LibraryEntry<K>[] =>
    log.filter(
      (one): one is LibraryEntry<K> => one.kind === kind && nameKey(one.name) === nameKey(name),
    );
  return {
    place: 'memory',
    keep(kind, name, value, { at, who }) {
      const checked = checkedValue(kind, name, value);
      const latest = history(kind, name).at(-1);
      if (latest && canonicalJson(latest.value) === canonicalJson(checked)) return latest;
      const entry = {
        kind,
        name: name.trim(),
        revision: (latest?.revision ?? 0) + 1,
        at,
        who,
        value: structuredClone(checked),
      };
      log.push(entry as LibraryEntry);
      return entry;
    },
    entry: (kind, name, revision) => {
      const all = history(kind, name);
      return revision === undefined ? all.at(-1) : all.find((one) => one.revision === revision);
    },
    entries: (kind) => {
      const latest = new Map<string, LibraryEntry<typeof kind>>();
      for (const one of log)
        if (one.kind === kind) latest.set(nameKey(one.name), one as LibraryEntry<typeof kind>);
      return [...latest.values()].sort((a, b) => a.name.localeCompare(b.name));
    },
    history,
    noteStudy: (study) => void studies.set(study.path, study),
    recentStudies: (most) =>
      [...studies.values()].sort((a, b) => b.at.localeCompare(a.at)).slice(0, most),
    close() {},
  };
}
