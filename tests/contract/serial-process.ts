import { fork } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import type { ReadingSource, SourceEvent } from '@strandwise/core';
import { build } from 'esbuild';

interface Message {
  readonly ready?: true;
  readonly id?: number;
  readonly event?: SourceEvent;
  readonly stopped?: true;
}

/**
 * The serial source on the main thread of a process of its own, as its driver needs; tests run on
 * worker threads. Events come back as messages.
 */
export async function sourceInProcess(path: string) {
  bundled ??= bundle();
  const child = fork(await bundled, [path]);
  const heard = new Map<number, (event: SourceEvent) => void>();
  const stopped = new Map<number, () => void>();
  await new Promise<void>((resolve, reject) => {
    child.once('exit', (code) => reject(new Error(`the serial process ended with ${code}`)));
    child.on('message', ({ ready, id, event, stopped: isStopped }: Message) => {
      if (ready) resolve();
      if (event) heard.get(id!)?.(event);
      if (isStopped) stopped.get(id!)?.();
    });
  });
  let next = 0;
  const source: ReadingSource = {
    place: path,
    listen(hear) {
      const id = next++;
      heard.set(id, hear);
      child.send({ id, does: 'listen' });
      let stopping: Promise<void> | undefined;
      return {
        stop() {
          stopping ??= new Promise((resolve) => {
            stopped.set(id, resolve);
            child.send({ id, does: 'stop' });
          });
          return stopping;
        },
      };
    },
  };
  return {
    source,
    async close() {
      await new Promise<void>((resolve) => {
        child.removeAllListeners('exit');
        child.once('exit', () => resolve());
        child.disconnect();
      });
    },
  };
}

let bundled: Promise<string> | undefined;

/** The child and the packages in one file; the driver stays outside, under its full path. */
async function bundle(): Promise<string> {
  const folder = mkdtempSync(join(tmpdir(), 'serial-process-'));
  process.once('exit', () => rmSync(folder, { recursive: true, force: true }));
  const outfile = join(folder, 'child.mjs');
  const gauge = createRequire(join(import.meta.dirname, '../../packages/gauge/package.json'));
  const driver = pathToFileURL(gauge.resolve('serialport')).href;
  await build({
    entryPoints: [join(import.meta.dirname, 'serial-child.ts')],
    outfile,
    bundle: true,
    platform: 'node',
    format: 'esm',
    logLevel: 'error',
    plugins: [
      {
        name: 'driver-outside',
        setup(builder) {
          builder.onResolve({ filter: /^serialport$/ }, () => ({ path: driver, external: true }));
        },
      },
    ],
  });
  return outfile;
}
