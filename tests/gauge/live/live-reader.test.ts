import { once } from 'node:events';
import { type AddressInfo, createServer, type Socket } from 'node:net';
import type { SourceEvent } from '@strandwise/core';
import { LineFormat, lineSplitter, sourceEvents, tcpSource } from '@strandwise/gauge';
import { describe, expect, it } from 'vitest';
import { liveReader } from '../../../packages/gauge/src/live/live-reader.ts';
import { plainLines } from '../../contract/plain-lines.ts';
import { listener } from '../../contract/reading-source.contract.ts';

const stamped = LineFormat.parse({
  delimiter: ',',
  fieldCount: 2,
  time: { from: 'column', column: 1, as: 'clock' },
  fields: [{ column: 2, means: 'diameter', unit: 'mm' }],
});

/** A reader under a clock that the test moves. */
function underClock(format: LineFormat) {
  const heard: SourceEvent[] = [];
  let at = 1000;
  const reader = liveReader({ format, now: () => at }, (event) => heard.push(event));
  return {
    heard,
    reader,
    pass: (seconds: number) => {
      at += seconds;
    },
    seconds: () => heard.flatMap((e) => (e.kind === 'reading' ? [e.reading.seconds] : [])),
  };
}

describe('liveReader', () => {
  it('stamps on arrival when the gauge says no time', () => {
    const { reader, pass, seconds } = underClock(plainLines);
    for (let i = 0; i < 3; i++) {
      reader.lines([`1.75${i},15`]);
      pass(1.5);
    }
    expect(seconds()).toEqual([0, 1.5, 3]);
  });

  it('goes on without a step when the gauge’s clock is set, and says so', () => {
    const { reader, pass, seconds, heard } = underClock(stamped);
    for (const [clock, d] of [
      ['10:00:00', 1],
      ['10:00:01', 2],
      ['11:30:02', 3],
      ['11:30:03', 4],
      ['09:00:04', 5],
      ['09:00:05', 6],
    ] as const) {
      reader.lines([`${clock},1.75${d}`]);
      pass(1);
    }
    expect(seconds()).toEqual([0, 1, 2, 3, 4, 5]);
    expect(heard.filter((e) => e.kind === 'clock-jump')).toEqual([
      { kind: 'clock-jump', bySeconds: 5400 },
      { kind: 'clock-jump', bySeconds: -9000 },
    ]);
  });

  it('carries a clock over midnight', () => {
    const { reader, pass, seconds } = underClock(stamped);
    for (const clock of ['23:59:58', '23:59:59', '00:00:00']) {
      reader.lines([`${clock},1.75`]);
      pass(1);
    }
    expect(seconds()).toEqual([0, 1, 2]);
  });

  it('does not take a burst after a stall for a clock that jumps', () => {
    const { reader, pass, heard, seconds } = underClock(stamped);
    reader.lines(['10:00:00,1.750']);
    pass(30);
    reader.tick();
    reader.lines(
      Array.from({ length: 30 }, (_, i) => `10:00:${String(i + 1).padStart(2, '0')},1.7${10 + i}`),
    );
    pass(1);
    reader.lines(['10:00:31,1.755']);
    expect(heard.map((e) => e.kind).filter((k) => k !== 'reading')).toEqual(['silent', 'back']);
    expect(seconds().at(-1)).toBe(31);
  });
});

describe('silence', () => {
  it('is not told of while a long backlog is read', () => {
    const { reader, pass, heard } = underClock(stamped);
    reader.lines(['10:00:00,1.750'], true);
    pass(20);
    reader.lines(['10:00:01,1.751'], true);
    reader.tick();
    pass(4);
    reader.tick();
    expect(heard.map((event) => event.kind)).toEqual(['reading', 'reading']);
    pass(2);
    reader.tick();
    expect(heard.at(-1)).toEqual({ kind: 'silent', forSeconds: 6 });
  });

  it('is not told of when the program was held up and a line waits in the socket', async () => {
    let at = 0;
    const sockets: Socket[] = [];
    const server = createServer((socket) => sockets.push(socket)).listen(0, '127.0.0.1');
    await once(server, 'listening');
    const { port } = server.address() as AddressInfo;
    const ear = listener(tcpSource({ host: '127.0.0.1', port, format: plainLines, now: () => at }));
    await once(server, 'connection');
    sockets[0]!.write('1.750,15\n');
    await ear.until(() => ear.heard.length === 1);
    sockets[0]!.write('1.751,15\n');
    // Held up for longer than the tick, in which time went on.
    at += 60;
    for (const until = performance.now() + 1100; performance.now() < until; );
    await ear.until(() => ear.heard.length > 1);
    expect(ear.kinds()).toEqual(['reading', 'reading']);
    await ear.stop();
    sockets[0]!.destroy();
    server.close();
  });
});

describe('lineSplitter', () => {
  const split = (parts: readonly (string | Buffer)[]): string[] => {
    const splitter = lineSplitter();
    return parts.flatMap((part) => splitter.push(Buffer.from(part as string)));
  };

  it('ends lines at a feed, a return or both, also across chunks', () => {
    expect(split(['a\nb\r\nc\rd\r', '\ne\n'])).toEqual(['a', 'b', 'c', 'd', 'e']);
  });

  it('puts a character together that two chunks share', () => {
    const bytes = Buffer.from('5 µm\n');
    expect(split([bytes.subarray(0, 3), bytes.subarray(3)])).toEqual(['5 µm']);
  });

  it('lets go of noise that never ends a line', () => {
    const splitter = lineSplitter();
    const noise = Buffer.alloc(3000, 0x55);
    expect(splitter.push(noise)).toEqual([]);
    expect(splitter.push(noise).map((line) => line.length)).toEqual([4097]);
    expect(splitter.rest()).toBe('');
  });
});

describe('tcpSource', () => {
  it('says what to check when nobody listens there', async () => {
    // Port 9 of the loopback is the discard service, which no machine here runs.
    const ear = listener(tcpSource({ host: '127.0.0.1', port: 9, format: plainLines, retryMs: 5 }));
    await ear.until(() => ear.heard.length > 0);
    await ear.stop();
    expect(ear.heard).toEqual([
      {
        kind: 'lost',
        why: '127.0.0.1:9: nobody listens there; check the port number and that the gauge is on',
      },
    ]);
  });
});

describe('sourceEvents', () => {
  it('gives events in order and stops the source when it ends', async () => {
    let isStopped = false;
    const abort = new AbortController();
    const events = sourceEvents(
      {
        place: 'a test',
        listen(hear) {
          for (const forSeconds of [1, 2, 3]) hear({ kind: 'silent', forSeconds });
          return {
            stop: async () => {
              isStopped = true;
            },
          };
        },
      },
      abort.signal,
    );
    const got: SourceEvent[] = [];
    for await (const event of events) {
      got.push(event);
      if (got.length === 3) abort.abort();
    }
    expect(got.map((e) => e.kind === 'silent' && e.forSeconds)).toEqual([1, 2, 3]);
    expect(isStopped).toBe(true);
  });
});
