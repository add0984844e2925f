import { DomainError, type NewEvent, StaleStudyError, type StudyStore } from '@strandwise/core';
import { beforeEach, describe, expect, it } from 'vitest';
import { adoptedPlan, entry, openedStudy } from '../core/study/example-study.ts';

/** What every study store must do; run on each adapter. `reopen` closes and opens the same study. */
export function studyStoreContract(
  name: string,
  make: () => { store: StudyStore; reopen?: () => StudyStore },
): void {
  describe(`study store: ${name}`, () => {
    let made: ReturnType<typeof make>;
    let store: StudyStore;
    beforeEach(() => {
      made = make();
      store = made.store;
    });

    it('starts empty and counts entries from 1', () => {
      expect(store.events()).toEqual([]);
      const added = store.append([entry(openedStudy), entry(adoptedPlan(4), 1)], 0);
      expect(added.map(({ seq }) => seq)).toEqual([1, 2]);
      expect(store.events()).toEqual(added);
    });

    it('gives only the entries after a number', () => {
      store.append([entry(openedStudy), entry(adoptedPlan(4), 1)], 0);
      expect(store.events(1).map(({ what }) => what.kind)).toEqual(['plan adopted']);
      expect(store.events(2)).toEqual([]);
    });

    it('refuses an append on an outdated view and writes nothing', () => {
      store.append([entry(openedStudy)], 0);
      expect(() => store.append([entry(adoptedPlan(4), 1)], 0)).toThrow(StaleStudyError);
      expect(store.events()).toHaveLength(1);
    });

    it('writes all entries of an append or none', () => {
      store.append([entry(openedStudy)], 0);
      const broken = { ...entry(adoptedPlan(1)), who: '' } as NewEvent;
      expect(() => store.append([entry(adoptedPlan(4), 1), broken], 1)).toThrow(DomainError);
      expect(store.events()).toHaveLength(1);
    });

    it('does not let a caller change what is kept', () => {
      store.append([entry(openedStudy)], 0);
      const [first] = store.events();
      (first as { who: string }).who = 'someone else';
      expect(made.reopen?.().events()[0]?.who ?? 'operator').toBe('operator');
    });

    it('keeps raw bytes under their hash, once', () => {
      const bytes = new TextEncoder().encode('time_s,diameter_mm\n0,1.75\n');
      const first = store.putRaw('a.csv', bytes);
      const second = store.putRaw('b.csv', bytes);
      expect(second.sha256).toBe(first.sha256);
      expect(new Uint8Array(store.raw(first.sha256)!)).toEqual(bytes);
      expect(store.raw('0'.repeat(64))).toBeUndefined();
    });

    it('finds raw bytes that an entry names and the store lacks', () => {
      store.append([entry(openedStudy), entry(adoptedPlan(1), 1)], 0);
      store.append(
        [
          entry({
            kind: 'log attached',
            cell: 1,
            raw: { sha256: 'a'.repeat(64), name: 'gone.csv', bytes: 3 },
            rows: 1,
            unparsedRows: 0,
            measured: {
              fromSeconds: 0,
              toSeconds: 1,
              readings: 40,
              missingReadings: 0,
              spikes: 0,
              diameterMeanMm: 1.75,
              diameterSdMm: 0.01,
              diameterRobustSdMm: 0.01,
              gaugeFloorSdMm: 0.004,
              floor: 'clear',
              cannotSay: [],
            },
            says: [],
          }),
        ],
        2,
      );
      expect(store.verify().join()).toContain('raw bytes aaaaaaaaaaaa… are missing');
    });

    it('keeps drafts by key, in order, apart from the log', () => {
      const bytes = (text: string): Uint8Array => new TextEncoder().encode(text);
      store.append([entry(openedStudy)], 0);
      store.drafts.keep('live/2', bytes('b'));
      store.drafts.keep('live/1', bytes('a'));
      store.drafts.keep('liverpool', bytes('x'));
      store.drafts.keep('live/1', bytes('a again'));
      const text = (): string[] =>
        store.drafts.drafts('live/').map(({ bytes: b }) => new TextDecoder().decode(b));
      expect(text()).toEqual(['a again', 'b']);
      store = made.reopen?.() ?? store;
      expect(text()).toEqual(['a again', 'b']);
      expect(store.events()).toHaveLength(1);
      expect(store.verify()).toEqual([]);
      store.drafts.forget('live/');
      expect(text()).toEqual([]);
      expect(store.drafts.draft('liverpool')).toBeDefined();
      expect(store.drafts.draft('live/1')).toBeUndefined();
    });

    it('exchanges a draft only for who may', () => {
      const mine = new Uint8Array([1]);
      expect(store.drafts.exchange('walker', (now) => (now ? null : mine))).toBe(true);
      expect(store.drafts.exchange('walker', (now) => (now ? null : new Uint8Array([2])))).toBe(
        false,
      );
      expect([...store.drafts.draft('walker')!]).toEqual([1]);
    });

    it('verifies a sound study as sound', () => {
      store.append([entry(openedStudy), entry(adoptedPlan(4), 1)], 0);
      expect(store.verify()).toEqual([]);
    });
  });
}
