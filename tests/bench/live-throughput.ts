// A day of readings at 100 a second into a study, as fast as they will go: lines kept and lost, the
// longest time the screen had to wait, memory. node tests/bench/run.mjs live-throughput [hours]
import { mkdtempSync, rmSync, statSync } from 'node:fs';
import { type AddressInfo, createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { monitorEventLoopDelay } from 'node:perf_hooks';
import { seededUniform, standardNormal } from '@strandwise/core';
import { LineFormat, tcpSource } from '@strandwise/gauge';
import { sqliteStudyStore } from '@strandwise/store';
import { liveCell } from '../../packages/cli/src/reading/live-cell.ts';
import { replayed } from '../../packages/cli/src/reading/live-log.ts';
import { liveRecorder } from '../../packages/cli/src/reading/live-recorder.ts';

const hours = Number(process.argv[2] ?? 24);
const perSecond = 100;
const cellSeconds = 1800;
const cells = Math.ceil((hours * 3600) / cellSeconds);
const linesPerCell = cellSeconds * perSecond;

const format = LineFormat.parse({
  delimiter: ',',
  fieldCount: 7,
  time: { from: 'column', column: 1, as: 'seconds' },
  fields: [
    { column: 2, means: 'diameter', unit: 'mm' },
    { column: 3, means: 'puller', unit: 'mm/s' },
    ...[1, 2, 3, 4].map((zone) => ({ column: 3 + zone, means: 'zone', unit: '°C', zone })),
  ],
});

const uniform = seededUniform(1);
const noise = Float64Array.from({ length: 4096 }, () => 0.012 * standardNormal(uniform));
const lineAt = (i: number): string => {
  const seconds = (i / perSecond).toFixed(2);
  return `${seconds},${(1.75 + noise[i & 4095]!).toFixed(4)},16.21,178.0,192.1,199.0,194.2\n`;
};

/** Sends one cell's lines whenever it is asked to, as fast as they are taken. */
let sent = 0;
let sendCell: () => void = () => {};
const server = createServer((socket) => {
  sendCell = () => {
    const until = sent + linesPerCell;
    const pump = (): void => {
      let isRoom = true;
      while (isRoom && sent < until) {
        const block = Math.min(200, until - sent);
        let text = '';
        for (let k = 0; k < block; k++) text += lineAt(sent++);
        isRoom = socket.write(text);
      }
      if (sent < until) socket.once('drain', pump);
    };
    pump();
  };
});
await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
const { port } = server.address() as AddressInfo;

const folder = mkdtempSync(join(tmpdir(), 'strandwise-day-'));
const path = join(folder, 'day.strandwise');
const store = sqliteStudyStore(path, { mode: 'create' });
let nowMs = 0;
const troubles: string[] = [];
const recorder = liveRecorder({
  source: tcpSource({
    host: '127.0.0.1',
    port,
    format,
    now: () => nowMs / 1000,
    watch: { silentAfterSeconds: 1e9, clockJumpSeconds: 1e9 },
  }),
  format,
  drafts: store.drafts,
  now: () => nowMs,
  onTrouble: (says) => void troubles.push(says),
  onFault: (error) => void troubles.push(error.message),
});
const delay = monitorEventLoopDelay({ resolution: 10 });
const pause = (ms: number): Promise<void> => new Promise((resolve) => setTimeout(resolve, ms));
await pause(200);

const started = performance.now();
delay.enable();
let kept = 0;
let longestView = 0;
let longestKeep = 0;
let mostMemory = 0;
for (let cell = 1; cell <= cells; cell++) {
  const live = liveCell({
    watch: { screwRpm: 5, holdUpCm3: 27.6, setPointsCelsius: [178, 192, 199, 194] },
    targetMm: 1.75,
    toleranceMm: 0.05,
    dieToGaugeMm: 700,
    leastWindowSeconds: 480,
  });
  recorder.begin(cell, nowMs, live);
  live.measureFrom(600);
  const lines = linesPerCell;
  sendCell();
  while (live.readings < lines) {
    await pause(50);
    const before = performance.now();
    recorder.view();
    longestView = Math.max(longestView, performance.now() - before);
    recorder.flush();
    mostMemory = Math.max(mostMemory, process.memoryUsage().rss);
  }
  delay.disable();
  const before = performance.now();
  const bytes = recorder.bytes()!;
  const raw = store.putRaw(`cell-${cell}.log`, bytes);
  longestKeep = Math.max(longestKeep, performance.now() - before);
  kept += replayed(store.raw(raw.sha256)!, format, () => {}).lines;
  recorder.end();
  nowMs += 1000 * cellSeconds;
  delay.enable();
}
delay.disable();
const seconds = (performance.now() - started) / 1000;
await recorder.stop();
store.close();
server.close();
process.stdout.write(
  [
    `${sent} lines sent (${hours} h at ${perSecond} a second), ${kept} kept, ${sent - kept} lost`,
    `${seconds.toFixed(1)} s: ${Math.round(sent / seconds)} lines a second, ${Math.round((hours * 3600) / seconds)} times life`,
    `event loop: 99 % within ${(delay.percentile(99) / 1e6).toFixed(0)} ms, longest ${(delay.max / 1e6).toFixed(0)} ms; longest look at the gauge ${longestView.toFixed(0)} ms; keeping a cell's ${(linesPerCell / 1000).toFixed(0)},000 lines ${longestKeep.toFixed(0)} ms`,
    `memory ${(mostMemory / 1e6).toFixed(0)} MB; study ${(statSync(path).size / 1e6).toFixed(0)} MB; troubles ${troubles.length}`,
    '',
  ].join('\n'),
);
rmSync(folder, { recursive: true });
