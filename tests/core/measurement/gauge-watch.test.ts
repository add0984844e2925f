import { type GaugeWatchState, gaugeWatch, type WatchEvent } from '@strandwise/core';
import { describe, expect, it } from 'vitest';

/** Plays readings (a diameter) and silences (null), one a second. */
function play(script: readonly (number | null)[], jumpAt?: { index: number; by: number }) {
  const watch = gaugeWatch();
  let state: GaugeWatchState = watch.start(0);
  const heard: (WatchEvent & { at: number })[] = [];
  let shift = 0;
  for (const [i, diameterMm] of script.entries()) {
    const now = i + 1;
    if (jumpAt?.index === i) shift = jumpAt.by;
    const step =
      diameterMm === null
        ? watch.tick(state, now)
        : watch.read(state, { seconds: now + shift, diameterMm }, now);
    state = step.state;
    for (const event of step.events) heard.push({ ...event, at: now });
  }
  return heard;
}

const lively = (n: number): number[] => Array.from({ length: n }, (_, i) => 1.75 + 0.001 * (i % 7));
const silence = (n: number): null[] => new Array<null>(n).fill(null);

describe('gaugeWatch', () => {
  it('says nothing about a lively gauge', () => {
    expect(play(lively(500))).toEqual([]);
  });

  it('tells of silence at 5 s, again as it doubles, and when readings are back', () => {
    expect(play([...lively(10), ...silence(24), ...lively(5)])).toEqual([
      { kind: 'silent', forSeconds: 5, at: 15 },
      { kind: 'silent', forSeconds: 10, at: 20 },
      { kind: 'silent', forSeconds: 20, at: 30 },
      { kind: 'back', afterSeconds: 25, at: 35 },
    ]);
  });

  it('tells of silence when nothing ever came', () => {
    expect(play(silence(6))).toEqual([{ kind: 'silent', forSeconds: 5, at: 5 }]);
  });

  it('tells of a stuck gauge after a minute, and when it moves again', () => {
    const stuck = new Array<number>(130).fill(1.75);
    expect(play([...stuck, 1.76, 1.77])).toEqual([
      { kind: 'stuck', diameterMm: 1.75, forSeconds: 60, at: 61 },
      { kind: 'stuck', diameterMm: 1.75, forSeconds: 120, at: 121 },
      { kind: 'back', afterSeconds: 130, at: 131 },
    ]);
  });

  it('tells of a clock that jumps, either way', () => {
    expect(play(lively(20), { index: 10, by: 3600 })).toEqual([
      { kind: 'clock-jump', bySeconds: 3600, at: 11 },
    ]);
    expect(play(lively(20), { index: 10, by: -90 })).toEqual([
      { kind: 'clock-jump', bySeconds: -90, at: 11 },
    ]);
  });

  it('does not take a silence for a clock jump', () => {
    const kinds = play([...lively(5), ...silence(30), ...lively(5)]).map((e) => e.kind);
    expect(kinds).not.toContain('clock-jump');
  });

  it('tells of diameters beyond belief in words', () => {
    const heard = play([1.75, 0, 17.5, 0.2]);
    expect(heard.map((e) => e.kind)).toEqual(['beyond-belief', 'beyond-belief', 'beyond-belief']);
    expect(heard.map((e) => 'says' in e && e.says)).toMatchInlineSnapshot(`
      [
        "the gauge sees no strand; thread it through or clean the window",
        "17.50 mm is thicker than any strand here (5 mm): a lump, two strands, or a wrong unit",
        "200 µm is thinner than any strand here (0.5 mm): a break, or the strand beside the beam",
      ]
    `);
  });

  it('leaves its state alone: the same state gives the same step twice', () => {
    const watch = gaugeWatch();
    const state = Object.freeze(watch.start(0));
    const read = () => watch.read(state, { seconds: 1, diameterMm: 1.75 }, 1);
    expect(read()).toEqual(read());
  });
});
