import { mkdtempSync, openSync, readFileSync, readSync, rmSync } from 'node:fs';
import { connect } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import {
  demoScenario,
  px31,
  serveTcp,
  VirtualLine,
  writeGrowingFile,
  writeSerial,
} from '@strandwise/virtual-line';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';

const { line, product } = demoScenario;
const setPoints = { zonesCelsius: [180, 197, 203, 200], screwRpm: 5, fanPercent: 50, other: {} };
const source = () => new VirtualLine({ line, grade: px31, product, seed: 1, setPoints });
const head = 'time_s,diameter_mm,puller_mm_per_s,zone1_c,zone2_c,zone3_c,zone4_c';

/** Waits until `isTrue`, looking again at each turn of the event loop's timers. */
async function until(isTrue: () => boolean): Promise<void> {
  while (!isTrue()) await new Promise((resolve) => setTimeout(resolve, 5));
}

let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'virtual-line-'));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

describe('serveTcp', () => {
  it('sends the head and then every second to each client', async () => {
    const served = await serveTcp({ source: source(), pace: 500 });
    const texts = ['', ''];
    const sockets = texts.map((_, i) =>
      connect(served.port, '127.0.0.1').on('data', (chunk) => {
        texts[i] += String(chunk);
      }),
    );
    await until(() => texts.every((text) => text.split('\n').length > 30));
    for (const socket of sockets) socket.destroy();
    await until(() => served.clients() === 0);
    await served.stop();
    for (const text of texts) {
      const [first, ...rows] = text.trim().split('\n');
      expect(first).toBe(head);
      const seconds = rows.slice(0, 25).map((row) => Number(row.split(',')[0]));
      expect(seconds).toEqual(seconds.map((_, i) => seconds[0]! + i));
    }
  });
});

describe('writeGrowingFile', () => {
  it('grows by a line a virtual second and ends where told', async () => {
    const path = join(folder, 'log.csv');
    let isDone = false;
    const file = writeGrowingFile({
      source: source(),
      path,
      pace: 2000,
      seconds: 120,
      onEnd: () => {
        isDone = true;
      },
    });
    await until(() => isDone);
    const lines = readFileSync(path, 'utf8').trim().split('\n');
    expect(lines[0]).toBe(head);
    expect(lines.length).toBe(121);
    expect(lines[120]!.startsWith('120,')).toBe(true);
    expect(file.written()).toBe(120);
    file.stop();
  });
});

describe('writeSerial', () => {
  it('is read from a pseudo serial port', async () => {
    const serial = await writeSerial({ source: source(), folder, pace: 500 });
    const port = openSync(serial.devicePath, 'r');
    await until(() => serial.written() > 10);
    const bytes = Buffer.alloc(400);
    const text = bytes.toString('utf8', 0, readSync(port, bytes));
    expect(text.startsWith(`${head}\r\n1,1.7`)).toBe(true);
    await serial.stop();
  });
});
