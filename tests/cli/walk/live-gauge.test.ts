import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import {
  type HappeningOf,
  openJournal,
  type ReadingSource,
  type SourceEvent,
  type StudyStore,
} from '@strandwise/core';
import { fileSource, type LineFormat, serialSource, tcpSource } from '@strandwise/gauge';
import { memoryStudyStore } from '@strandwise/store';
import {
  csvHead,
  csvRow,
  demoScenario,
  serveTcp,
  VirtualLine,
  writeGrowingFile,
  writeSerial,
} from '@strandwise/virtual-line';
import { afterEach, describe, expect, it } from 'vitest';
import { liveCell } from '../../../packages/cli/src/reading/live-cell.ts';
import { replayed } from '../../../packages/cli/src/reading/live-log.ts';
import { liveRecorder } from '../../../packages/cli/src/reading/live-recorder.ts';
import { measuredLive } from '../../../packages/cli/src/reading/measured-live.ts';
import { steadyClock } from '../../../packages/cli/src/reading/steady-clock.ts';
import { holdState } from '../../../packages/cli/src/screen/walk/hold.ts';
import { type WalkSession, walkSession } from '../../../packages/cli/src/screen/walk/session.ts';
import { entry, exampleLine, openedStudy } from '../../core/study/example-study.ts';
import { pressAll } from './press.ts';
import { checked, sixCells } from './walk-study.ts';

const setPoints = { zonesCelsius: [175, 192, 198, 195], screwRpm: 3, fanPercent: 50, other: {} };
const line = (seed: number): VirtualLine =>
  new VirtualLine({
    line: exampleLine,
    grade: demoScenario.virtualGrade,
    product: { diameterMm: 1.75 },
    seed,
    setPoints,
  });
const format: LineFormat = {
  delimiter: ',',
  decimalMark: '.',
  headerLines: 1,
  fieldCount: 7,
  time: { from: 'column', column: 1, as: 'seconds' },
  fields: [
    { column: 2, means: 'diameter', unit: 'mm' },
    { column: 3, means: 'puller', unit: 'mm/s' },
    ...[1, 2, 3, 4].map((zone) => ({
      column: 3 + zone,
      means: 'zone' as const,
      unit: '°C' as const,
      zone,
    })),
  ],
};

/** In accelerated time a moment of the machine is minutes of the gauge. */
const watch = { silentAfterSeconds: 1e9 };
/** Virtual seconds a second. */
const pace = 1200;
const fastSeconds = (): number => (performance.now() * pace) / 1000;

function plannedStore(): StudyStore {
  const store = memoryStudyStore();
  store.append(
    [openedStudy, sixCells, checked].map((what, i) => entry(what, i)),
    0,
  );
  return store;
}

function walkOn(source: ReadingSource, store: StudyStore): WalkSession {
  const start = Date.UTC(2026, 0, 5, 9) - fastSeconds() * 1000;
  const clock = steadyClock(
    { now: () => start + fastSeconds() * 1000 },
    () => fastSeconds() * 1000,
  );
  return walkSession({
    journal: openJournal(store, clock, 'Robin'),
    clock,
    gauge: { source, format },
    attachLog: () => '',
  });
}

async function until(session: WalkSession, isSo: () => boolean, what: string): Promise<void> {
  const started = performance.now();
  while (!isSo()) {
    session.tick();
    if (performance.now() - started > 20_000) throw new Error(`waited 20 s for ${what}`);
    await new Promise((resolve) => setTimeout(resolve, 10));
  }
}

/** Sets, holds until the three lights are on, measures until the window is full, keeps the log. */
async function walkedCell(session: WalkSession, store: StudyStore) {
  pressAll(session, 'enter');
  await until(session, () => holdState(session.facts()).isOver, 'the three lights');
  expect(holdState(session.facts()).by).toBe('gauge');
  pressAll(session, 'enter');
  if (session.screen().mode.kind === 'asking') pressAll(session, 'enter');
  const window = () => session.facts().live?.window;
  await until(
    session,
    () => (window()?.seconds ?? 0) >= (window()?.neededSeconds ?? 9e9),
    'a window',
  );
  pressAll(session, 'enter');
  if (session.screen().mode.kind === 'asking') pressAll(session, '"as it is" enter');
  const log = store.events().find(({ what }) => what.kind === 'log attached');
  return log?.what as HappeningOf<'log attached'>;
}

/** What a test has opened; a failed one leaves nothing running. */
const opened: (() => Promise<void> | void)[] = [];
afterEach(async () => {
  for (const close of opened.splice(0).reverse()) await close();
});

type Made = { source: ReadingSource; stop: () => Promise<void> | void };
const made: Readonly<Record<string, () => Promise<Made>>> = {
  'a TCP line stream': async () => {
    const served = await serveTcp({ source: line(3), pace });
    const source = tcpSource({
      host: '127.0.0.1',
      port: served.port,
      format,
      watch,
      now: fastSeconds,
    });
    return { source, stop: served.stop };
  },
  'a growing file': () => {
    const path = join(mkdtempSync(join(tmpdir(), 'strandwise-grow-')), 'gauge.csv');
    const file = writeGrowingFile({ source: line(3), pace, path });
    const source = fileSource({ path, format, watch, now: fastSeconds, from: 'start', pollMs: 20 });
    return Promise.resolve({ source, stop: file.stop });
  },
  'a serial port': async () => {
    const folder = mkdtempSync(join(tmpdir(), 'strandwise-serial-'));
    const serial = await writeSerial({ source: line(3), pace: 300, folder });
    const source = serialSource({ path: serial.devicePath, format, watch, now: fastSeconds });
    return { source, stop: serial.stop };
  },
};

describe('a cell with a live gauge', () => {
  for (const [name, make] of Object.entries(made)) {
    if (name === 'a serial port') continue;
    it(`is held by three lights, measured and kept from ${name}`, async () => {
      const { source, stop } = await make();
      opened.push(stop);
      const store = plannedStore();
      const session = walkOn(source, store);
      opened.push(session.close);
      const what = await walkedCell(session, store);
      expect(what.gauge).toBe(source.place);
      expect(what.measured.readings).toBeGreaterThan(400);
      expect(what.measured.diameterSdMm).toBeGreaterThan(0.004);
      expect(what.measured.strandMetres).toBeGreaterThan(1);
      // The figures stand in the bytes: worked out again they are the same to the last digit.
      const state = openJournal(store, { now: Date.now }, 'reader').state();
      const cell = state.cells[0]!;
      const again = measuredLive(store.raw(what.raw.sha256)!, {
        state,
        cell: 1,
        format,
        place: source.place,
        raw: what.raw,
        fromSeconds: (Date.parse(cell.holdEndedAt!) - Date.parse(cell.enteredAt!)) / 1000,
        anyway: true,
      });
      expect(again).toEqual({ kind: 'measured', what });
      const held = store.events().find((event) => event.what.kind === 'hold ended');
      expect(held?.what).toMatchObject({
        lights: { zones: { isOn: true }, flush: { isOn: true }, strand: { isOn: true } },
      });
    }, 60_000);
  }

  it('hears every line of a serial port', async () => {
    const { source, stop } = await made['a serial port']!();
    opened.push(stop);
    let heard = 0;
    const listening = source.listen((event) => {
      if (event.kind === 'reading') heard++;
    });
    const started = performance.now();
    while (heard < 300 && performance.now() - started < 15_000)
      await new Promise((resolve) => setTimeout(resolve, 20));
    await listening.stop();
    expect(heard).toBeGreaterThanOrEqual(300);
  });
});

/** A source that a test speaks through. */
function spokenSource() {
  let hear: (event: SourceEvent) => void = () => {};
  const source: ReadingSource = {
    place: 'test bench',
    listen(listener) {
      hear = listener;
      return { stop: () => Promise.resolve() };
    },
  };
  return { source, say: (event: SourceEvent) => hear(event) };
}

function spokenWalk() {
  const spoken = spokenSource();
  let ms = Date.UTC(2026, 0, 5, 9);
  const clock = steadyClock({ now: () => ms }, () => ms);
  const store = plannedStore();
  const journal = openJournal(store, clock, 'Robin');
  const session = walkSession({
    journal,
    clock,
    gauge: { source: spoken.source, format },
    attachLog: () => '',
  });
  const pass = (seconds: number): void => {
    ms += 1000 * seconds;
    session.tick();
  };
  const read = (seconds: number, raw = `${seconds},1.7512,16.2,175,192,198,195`): void =>
    spoken.say({
      kind: 'reading',
      raw,
      reading: {
        seconds,
        diameterMm: 1.7512,
        pullerMmPerSecond: 16.2,
        zonesCelsius: setPoints.zonesCelsius,
      },
    });
  const troubles = (): string[] => journal.refresh().troubles.map(({ says }) => says);
  return { ...spoken, store, journal, session, pass, read, troubles };
}

describe('a gauge in trouble', () => {
  it.each([
    [{ kind: 'lost', why: 'nobody listens there' }, 'gauge lost: nobody listens there'],
    [{ kind: 'silent', forSeconds: 8 }, 'no reading for 8 s'],
    [{ kind: 'stuck', diameterMm: 1.75, forSeconds: 60 }, 'shown 1.750 mm for 60 s: stuck?'],
    [{ kind: 'beyond-belief', diameterMm: 0, says: 'the gauge sees no strand' }, 'no strand'],
  ] satisfies [SourceEvent, string][])(
    '%j is said, recorded, and the clock takes over',
    (event, words) => {
      const walk = spokenWalk();
      pressAll(walk.session, 'enter');
      walk.read(1);
      walk.pass(1);
      expect(holdState(walk.session.facts()).by).toBe('gauge');
      walk.say(event);
      expect(walk.session.facts().live?.trouble).toContain(words.replace('the gauge sees ', ''));
      expect(walk.troubles().at(-1)).toContain(words);
      expect(walk.journal.events().at(-1)?.what).toMatchObject({ kind: 'gauge trouble', cell: 1 });
      expect(holdState(walk.session.facts()).by).toBe('clock');
      walk.say({ kind: 'back', afterSeconds: 20 });
      walk.read(21);
      expect(walk.session.facts().live?.trouble).toBeNull();
      walk.say({ kind: 'lost', why: 'again' });
      pressAll(walk.session, 'm "gauge is gone" enter space enter "5" enter enter');
      expect(walk.journal.state().cells[0]?.status).toBe('done');
    },
  );

  it('is not told of more than once a minute when it flickers', () => {
    const walk = spokenWalk();
    pressAll(walk.session, 'enter');
    for (let second = 0; second < 120; second++) {
      walk.say({
        kind: 'beyond-belief',
        diameterMm: 0,
        says: 'the gauge sees no strand',
        raw: 'x',
      });
      walk.read(second);
      walk.pass(1);
    }
    expect(walk.troubles().length).toBeLessThanOrEqual(3);
  });

  it('says when its clock was set, and goes on', () => {
    const walk = spokenWalk();
    pressAll(walk.session, 'enter');
    walk.say({ kind: 'clock-jump', bySeconds: -3600 });
    expect(walk.troubles().at(-1)).toContain('clock was set back by 60 min');
    expect(walk.session.facts().live?.trouble).toBeNull();
  });

  it('keeps and counts lines that hold no reading', () => {
    const walk = spokenWalk();
    pressAll(walk.session, 'enter');
    walk.say({ kind: 'unparsed', line: 'ERR 17', why: 'not a number' });
    walk.read(1);
    pressAll(walk.session, 'x o "stop" enter enter a');
    const failed = walk.journal.events().at(-1)!.what as HappeningOf<'cell failed'>;
    const kept = new TextDecoder().decode(walk.store.raw(failed.raw!.sha256));
    expect(kept).toContain('ERR 17');
    expect(replayed(new TextEncoder().encode(kept), format, () => {})).toEqual({
      lines: 2,
      unparsed: 1,
    });
  });
});

describe('what was heard', () => {
  it('is on disk within seconds and is taken up by the next program', () => {
    const walk = spokenWalk();
    pressAll(walk.session, 'enter');
    for (let second = 1; second <= 30; second++) {
      walk.read(second);
      walk.pass(1);
    }
    // Nothing is closed: the program is gone.
    const again = liveCell(cellOf);
    const next = liveRecorder({
      source: spokenSource().source,
      format,
      drafts: walk.store.drafts,
      now: () => Date.UTC(2026, 0, 5, 9, 1),
      onTrouble: () => {},
      onFault: () => {},
    });
    next.resume(1, Date.parse(walk.journal.state().cells[0]!.enteredAt!), again);
    expect(again.readings).toBeGreaterThanOrEqual(28);
    expect(next.view().keptLines).toBe(again.readings);
  });

  it('goes back to memory when the disk takes nothing, and is written once it does', () => {
    const walk = spokenWalk();
    const faults: string[] = [];
    let isBroken = true;
    const shelf = {
      ...walk.store.drafts,
      keep: (key: string, bytes: Uint8Array) => {
        if (isBroken) throw new Error('the disk is full');
        walk.store.drafts.keep(key, bytes);
      },
    };
    const spoken = spokenSource();
    const recorder = liveRecorder({
      source: spoken.source,
      format,
      drafts: shelf,
      now: () => 1000,
      onTrouble: () => {},
      onFault: (error) => faults.push(error.message),
    });
    recorder.begin(1, 0, liveCell(cellOf));
    spoken.say({ kind: 'unparsed', line: 'first', why: '' });
    recorder.flush();
    expect(faults).toEqual(['the disk is full']);
    isBroken = false;
    spoken.say({ kind: 'unparsed', line: 'second', why: '' });
    recorder.flush();
    const kept = new TextDecoder().decode(recorder.bytes()!);
    expect(kept.match(/first|second/g)).toEqual(['first', 'second']);
  });

  it('law: a log kept in pieces replays as the readings that were heard', () => {
    const source = line(5);
    const readings = Array.from({ length: 200 }, () => source.step());
    const text = `@ 0\n${readings.map((reading) => `${1000 * reading.seconds}\t${csvRow(reading)}\n`).join('')}`;
    const heard: number[] = [];
    replayed(new TextEncoder().encode(text), format, ({ diameterMm }) => heard.push(diameterMm));
    expect(heard).toEqual(readings.map(({ diameterMm }) => Number(diameterMm.toFixed(4))));
    expect(csvHead(readings[0]!).split(',')).toHaveLength(format.fieldCount!);
  });
});

const cellOf = {
  watch: { screwRpm: 3, holdUpCm3: 27.6 },
  targetMm: 1.75,
  toleranceMm: 0.05,
  dieToGaugeMm: 700,
  leastWindowSeconds: 480,
};
