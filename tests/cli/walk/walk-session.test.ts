import { memoryStudyStore } from '@strandwise/store';
import type { Key } from 'ink';
import { describe, expect, it } from 'vitest';
import { singlePresses } from '../../../packages/cli/src/screen/key-press.ts';
import { agreement } from '../../../packages/cli/src/screen/walk/asking.ts';
import { heldSeconds } from '../../../packages/cli/src/screen/walk/hold.ts';
import { handClock, startedWalk, type Walk } from './walk-study.ts';

const kinds = (walk: Walk): string[] => walk.journal.events().map(({ what }) => what.kind);
const last = (walk: Walk) => walk.journal.events().at(-1)!;
const mode = (walk: Walk) => walk.session.screen().mode.kind;
const notice = (walk: Walk) => walk.session.screen().notice;

describe('before heating', () => {
  it('asks one thing after another and records the answers', () => {
    const walk = startedWalk({ isChecked: false });
    expect(mode(walk)).toBe('gate');
    walk.press('y y y y y "PX-31 (invented)" enter "4" enter "0.5" enter');
    expect(mode(walk)).toBe('cell');
    expect(last(walk).what).toMatchObject({
      kind: 'checks confirmed',
      barrelHolds: 'PX-31 (invented)',
      driedHours: 4,
      hoursSinceDrying: 0.5,
    });
  });

  it('lets no cell start, and nothing be skipped, while a gate is open', () => {
    const walk = startedWalk({ isChecked: false });
    walk.press('n enter enter enter');
    expect(kinds(walk)).not.toContain('settings entered');
    walk.press('y y y y y "PX-31 (invented)" enter');
    walk.press('enter esc esc esc esc esc esc esc esc enter');
    expect(mode(walk)).toBe('gate');
    expect(kinds(walk)).not.toContain('checks confirmed');
  });

  it('refuses a pair that must never meet, whatever is pressed', () => {
    const walk = startedWalk({ isChecked: false });
    walk.press('y y y y y "PVC" enter y y enter y');
    expect(mode(walk)).toBe('gate');
    expect(notice(walk)).toContain('Nothing may be heated');
    walk.press('esc back back back "HDPE" enter "4" enter "0" enter y');
    expect(last(walk).what).toMatchObject({
      kind: 'checks confirmed',
      barrelHolds: 'PX-31 (invented)',
    });
  });

  it('keeps the steps of a changeover that took a chain', () => {
    const walk = startedWalk({ isChecked: false });
    walk.press('y y y y y "PC" enter "4" enter "0" enter y y');
    const { what } = last(walk);
    expect(what.kind === 'checks confirmed' && what.changeover?.length).toBe(2);
  });

  it('asks why when the pellets are damp', () => {
    const walk = startedWalk({ isChecked: false });
    walk.press('y y y y y "clean" enter "no" enter enter');
    expect(notice(walk)).toContain('Say why');
    walk.press('"to see what moisture does" enter');
    expect(last(walk)).toMatchObject({
      why: 'to see what moisture does',
      what: { driedHours: null },
    });
  });

  it('asks again after four hours away, not after one', () => {
    const store = memoryStudyStore();
    startedWalk({ store });
    const soon = startedWalk({ store, clock: handClock(Date.UTC(2026, 0, 5, 10)) });
    expect(mode(soon)).toBe('cell');
    const later = startedWalk({ store, clock: handClock(Date.UTC(2026, 0, 5, 13)) });
    expect(mode(later)).toBe('gate');
  });
});

describe('a cell', () => {
  it('goes from set to hold to measured to the next with enter', () => {
    const walk = startedWalk();
    walk.press('enter');
    expect(last(walk).what.kind).toBe('settings entered');
    walk.press('enter');
    expect(notice(walk)).toContain('not over');
    walk.clock.pass(3 * 3600);
    walk.press('enter enter');
    expect(last(walk)).toMatchObject({
      why: 'busy elsewhere',
      what: { kind: 'hold ended', how: 'longer' },
    });
    walk.press('space space space back enter "6,2" enter enter');
    expect(walk.journal.state().cells[0]).toMatchObject({
      status: 'done',
      readings: { bubbles: { count: 2, metres: 6.2 } },
    });
    expect(walk.journal.state().queue[0]).toBe(2);
  });

  it('measures early only with a reason', () => {
    const walk = startedWalk();
    walk.press('enter m enter');
    expect(kinds(walk)).not.toContain('hold ended');
    walk.press('"calm already" enter');
    expect(last(walk)).toMatchObject({ why: 'calm already', what: { how: 'early' } });
  });

  it('does nothing at a wrong key', () => {
    const walk = startedWalk();
    const before = kinds(walk).length;
    walk.press('z Z 5 # m space back l v b h');
    walk.press('esc esc');
    expect(kinds(walk)).toHaveLength(before);
    expect(mode(walk)).toBe('cell');
  });

  it('enters what was keyed in when it differs from the plan, and refuses what breaks a limit', () => {
    const walk = startedWalk();
    walk.press('e 1 "400" enter');
    expect(mode(walk)).toBe('asking');
    expect(notice(walk)).toContain('ceiling');
    walk.press('esc e 5 "3.2" enter');
    expect(mode(walk)).toBe('cell');
    walk.press('enter');
    expect(last(walk).what).toMatchObject({
      kind: 'settings entered',
      setPoints: { screwRpm: 3.2, zonesCelsius: [175, 192, 198, 195] },
    });
  });

  it('takes back and puts back, one entry at a time', () => {
    const walk = startedWalk();
    walk.press('enter m "calm" enter u');
    expect(notice(walk)).toContain('Taken back: hold ended, cell 1');
    expect(walk.journal.state().cells[0]?.status).toBe('holding');
    walk.press('y');
    expect(walk.journal.state().cells[0]?.status).toBe('measuring');
    walk.press('y');
    expect(notice(walk)).toContain('nothing to put back');
  });

  it('keeps every letter of keys that arrive together', () => {
    const none = {} as Key;
    expect(singlePresses('  \r', none).map(({ input, key }) => [input, key.return])).toEqual([
      [' ', false],
      [' ', false],
      ['', true],
    ]);
    expect(singlePresses('uu', none).map(({ input }) => input)).toEqual(['u', 'u']);
  });
});

describe('a failed cell', () => {
  it('asks how, what, and a photo; shows the cost; puts a nearer cell in its place', () => {
    const walk = startedWalk();
    walk.press('x c "would not draw" enter "IMG_0417.jpg" enter');
    const { loss, nearer } = walk.session.facts();
    expect(loss?.kind).toBe('costs');
    expect(nearer?.coded['level']).toBeCloseTo(-0.3, 1);
    walk.press('n');
    const [failed, extended] = walk.journal.events().slice(-2);
    expect(failed).toMatchObject({
      why: 'would not draw',
      what: { kind: 'cell failed', direction: 'cold', next: 'leave out', evidence: 'IMG_0417.jpg' },
    });
    expect(extended?.what.kind).toBe('plan extended');
    expect(walk.journal.state().queue).toEqual([2, 3, 4, 5, 6, 7]);
  });

  it('is tried again or moved', () => {
    const walk = startedWalk();
    walk.press('enter x h enter enter a');
    expect(walk.journal.state().queue[0]).toBe(1);
    walk.press('enter x h enter enter l');
    expect(walk.journal.state().queue).toEqual([2, 3, 4, 5, 6, 1]);
  });

  it('is skipped, or left out with a reason', () => {
    const walk = startedWalk();
    walk.press('p l');
    expect(walk.journal.state().queue).toEqual([2, 3, 4, 5, 6, 1]);
    walk.press('p o enter');
    expect(mode(walk)).toBe('asking');
    walk.press('"no more resin" enter');
    expect(walk.journal.state().cells[1]?.status).toBe('left out');
    expect(walk.journal.state().cells[1]?.failures).toEqual([]);
  });
});

describe('people', () => {
  it('hands over with a word, and signs as the next', () => {
    const walk = startedWalk();
    walk.press('w "Sam" enter "zone 2 is slow" enter n "took over" enter');
    expect(walk.journal.events().slice(-2)).toMatchObject([
      { who: 'Robin', why: 'zone 2 is slow', what: { kind: 'handed over', to: 'Sam' } },
      { who: 'Sam', what: { kind: 'note written', text: 'took over' } },
    ]);
  });

  it('counts a second time without overwriting the first', () => {
    const walk = startedWalk();
    walk.press('enter m "calm" enter space space space enter "6" enter b "Sam" enter "4" enter');
    expect(notice(walk)).toContain('agree');
    const { bubbles, recounts } = walk.journal.state().cells[0]!.readings;
    expect(bubbles?.count).toBe(3);
    expect(recounts).toMatchObject([{ count: 4, metres: 6, by: 'Sam', of: 'strand' }]);
    expect(agreement(3, 9)).toContain('count again');
  });

  it('records the shutdown with what stays in the barrel', () => {
    const walk = startedWalk();
    walk.press('s enter enter esc enter enter enter enter enter enter');
    expect(walk.session.screen().mode).toMatchObject({ kind: 'asking', draft: 'HDPE' });
    walk.press('enter');
    expect(last(walk).what).toMatchObject({ kind: 'shut down', barrelHolds: 'HDPE' });
    expect(mode(walk)).toBe('gate');
  });
});

describe('a walk that is left or killed', () => {
  it('resumes with what was half typed, the tally and the keyed-in set point', () => {
    const store = memoryStudyStore();
    const clock = handClock();
    const walk = startedWalk({ store, clock });
    walk.press('e 5 "3.2" enter');
    let again = startedWalk({ store, clock });
    expect(again.session.screen().edits?.setPoints.screwRpm).toBe(3.2);
    again.press('enter m "calm" enter space space n "half a not"');
    again = startedWalk({ store, clock });
    expect(again.session.screen()).toMatchObject({
      tally: 2,
      mode: { kind: 'asking', question: { kind: 'note' } },
    });
    again.press('"e" enter');
    expect(last(again).what).toMatchObject({ kind: 'note written' });
    expect(again.session.screen().tally).toBe(2);
  });

  it('drops what was half typed once somebody else has entered something', () => {
    const store = memoryStudyStore();
    const walk = startedWalk({ store });
    walk.press('n "half"');
    const other = startedWalk({ store });
    other.press('esc n "mine" enter');
    const again = startedWalk({ store });
    expect(again.session.screen().mode.kind).toBe('cell');
  });

  it('refuses an entry on an outdated view, shows the newer one, and lets it be entered then', () => {
    const store = memoryStudyStore();
    const walk = startedWalk({ store });
    const other = startedWalk({ store });
    other.press('n "from the desk" enter');
    walk.press('n "mine" enter');
    expect(notice(walk)).toContain('1 newer entry by someone else');
    walk.press('enter');
    expect(walk.journal.state().notes.map(({ text }) => text)).toEqual(['from the desk', 'mine']);
  });
});

describe('time', () => {
  const held = ({ session }: Walk): number => heldSeconds(session.facts());

  it('does not count hours asleep in a hold, and says so', () => {
    const walk = startedWalk();
    walk.press('enter');
    walk.clock.pass(120);
    walk.session.tick();
    walk.clock.jump(3 * 3600);
    walk.session.tick();
    expect(notice(walk)).toContain('3 h passed unwatched');
    expect(last(walk).what).toEqual({ kind: 'clock jumped', cell: 1, bySeconds: 10_800 });
    expect(held(walk)).toBeCloseTo(120, 0);
    walk.press('enter');
    expect(walk.journal.state().cells[0]?.status).toBe('holding');
  });

  it('runs on when the clock is set back, and says so', () => {
    const walk = startedWalk();
    walk.press('enter');
    walk.clock.pass(60);
    walk.session.tick();
    walk.clock.jump(-7200);
    walk.clock.pass(60);
    walk.session.tick();
    expect(notice(walk)).toContain('set back by 2 h');
    expect(held(walk)).toBeCloseTo(120, 0);
    walk.press('n "after" enter');
    const times = walk.journal.events().map(({ at }) => at);
    expect([...times].sort()).toEqual(times);
  });

  it('goes on from the last entry when the clock was set back while nobody walked', () => {
    const store = memoryStudyStore();
    const walk = startedWalk({ store });
    walk.press('enter');
    const lastMs = Date.parse(last(walk).at);
    const again = startedWalk({ store, clock: handClock(Date.UTC(2026, 0, 5, 7), lastMs) });
    again.clock.pass(30);
    expect(held(again)).toBeCloseTo(30, 0);
  });

  it('lets a notice go after a while', () => {
    const walk = startedWalk();
    walk.press('enter enter');
    expect(notice(walk)).toContain('not over');
    walk.session.tick();
    walk.clock.pass(16);
    walk.session.tick();
    expect(notice(walk)).toBeNull();
  });
});
