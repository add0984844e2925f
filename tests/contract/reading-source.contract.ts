import type { ReadingSource, SourceEvent } from '@strandwise/core';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';

/** The far side of a source: what writes lines, goes away and comes back. */
export interface FarSide {
  readonly source: ReadingSource;
  write(text: string): Promise<void>;
  breakOff(): Promise<void>;
  restore(): Promise<void>;
  close(): Promise<void>;
}

/** Hears a source and waits for what is to come; no sleeping. */
export function listener(source: ReadingSource) {
  const heard: SourceEvent[] = [];
  let check = (): void => {};
  const listening = source.listen((event) => {
    heard.push(event);
    check();
  });
  return {
    heard,
    diameters: () => heard.flatMap((e) => (e.kind === 'reading' ? [e.reading.diameterMm] : [])),
    kinds: () => heard.map((e) => e.kind),
    stop: () => listening.stop(),
    until(isDone: () => boolean, withinMs = 8000): Promise<void> {
      return new Promise((resolve, reject) => {
        const timer = setTimeout(
          () =>
            reject(
              new Error(
                `not heard within ${withinMs} ms; heard ${JSON.stringify(heard.slice(-12))}`,
              ),
            ),
          withinMs,
        );
        check = () => {
          if (!isDone()) return;
          clearTimeout(timer);
          check = () => {};
          resolve();
        };
        check();
      });
    },
  };
}

/** Writes a greeting again and again until it is heard: the connection stands. */
async function greet(far: FarSide, ear: ReturnType<typeof listener>, line: string): Promise<void> {
  const diameter = Number(line.split(',')[0]);
  const again = setInterval(() => void far.write(`${line}\n`).catch(() => {}), 25);
  try {
    await ear.until(() => ear.diameters().includes(diameter));
  } finally {
    clearInterval(again);
  }
}

/** What every adapter of the port promises. `open` gives a source whose far side is ready. */
export function readingSourceContract(name: string, open: () => Promise<FarSide>): void {
  describe(`${name} keeps the contract of a reading source`, () => {
    let far: FarSide;
    let ear: ReturnType<typeof listener>;
    beforeEach(async () => {
      far = await open();
      ear = listener(far.source);
      await greet(far, ear, '1.600,15');
      // Greetings still on their way come before this line, as the order holds.
      await far.write('1.650,15\n');
      await ear.until(() => ear.diameters().at(-1) === 1.65);
      expect(ear.heard.find((e) => e.kind === 'reading')).toMatchObject({
        reading: { seconds: 0 },
      });
      ear.heard.length = 0;
    });
    afterEach(async () => {
      await ear.stop();
      await far.close();
    });
    const count = (n: number) => () => ear.diameters().length >= n;

    it('hears readings in order, each once, with the raw line', async () => {
      await far.write('1.750,15.0\n1.751,15.1\n');
      await far.write('1.752,15.2\n');
      await ear.until(count(3));
      expect(ear.diameters()).toEqual([1.75, 1.751, 1.752]);
      const first = ear.heard.find((e) => e.kind === 'reading')!;
      expect(first).toMatchObject({ raw: '1.750,15.0', reading: { pullerMmPerSecond: 15 } });
    });

    it('counts seconds from the first reading and never goes back', async () => {
      for (let i = 0; i < 20; i++) await far.write(`1.7${10 + i},15\n`);
      await ear.until(count(20));
      const seconds = ear.heard.flatMap((e) => (e.kind === 'reading' ? [e.reading.seconds] : []));
      expect(seconds[0]).toBeGreaterThan(0);
      expect(seconds).toEqual([...seconds].sort((a, b) => a - b));
    });

    it('puts a line together that comes in parts', async () => {
      await far.write('1.75');
      await far.write('3,1');
      await far.write('5.0\n1.754,15\n');
      await ear.until(count(2));
      expect(ear.diameters()).toEqual([1.753, 1.754]);
    });

    it('takes carriage returns before line feeds', async () => {
      await far.write('1.750,15\r\n1.751,15\r\n');
      await ear.until(count(2));
      expect(ear.diameters()).toEqual([1.75, 1.751]);
    });

    it('tells lines that are no readings and goes on', async () => {
      await far.write('1.750,15\nWARMING UP\n1.7x,15\n1.751\n1.752,15\n');
      await ear.until(count(2));
      expect(ear.diameters()).toEqual([1.75, 1.752]);
      expect(ear.heard.filter((e) => e.kind === 'unparsed')).toEqual([
        { kind: 'unparsed', line: 'WARMING UP', why: 'another number of fields than the rest' },
        { kind: 'unparsed', line: '1.7x,15', why: 'text where a number belongs' },
        { kind: 'unparsed', line: '1.751', why: 'another number of fields than the rest' },
      ]);
    });

    it('tells a diameter beyond belief instead of giving it as a reading', async () => {
      await far.write('0.000,15\n17.52,15\n1.752,15\n');
      await ear.until(count(1));
      expect(ear.kinds()).toEqual(['beyond-belief', 'beyond-belief', 'reading']);
    });

    it('tells when the far side is lost and when readings are back', async () => {
      await far.write('1.750,15\n');
      await ear.until(count(1));
      await far.breakOff();
      await ear.until(() => ear.kinds().includes('lost'));
      await far.restore();
      await greet(far, ear, '1.751,15');
      const told = ear.kinds().filter((k) => k === 'lost' || k === 'back' || k === 'reading');
      expect(told.slice(0, 4)).toEqual(['reading', 'lost', 'back', 'reading']);
    });

    it('hears nothing more after stop', async () => {
      await far.write('1.750,15\n');
      await ear.until(count(1));
      await ear.stop();
      const before = ear.heard.length;
      await far.write('1.751,15\n').catch(() => {});
      // A second listener shows that the far side works and that time has passed.
      const other = listener(far.source);
      await greet(far, other, '1.752,15');
      await other.stop();
      expect(ear.heard.length).toBe(before);
    });
  });
}
