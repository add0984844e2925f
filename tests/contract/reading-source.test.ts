import { type ChildProcess, spawn } from 'node:child_process';
import { closeSync, constants, mkdtempSync, openSync, rmSync, writeSync } from 'node:fs';
import { appendFile, rm, writeFile } from 'node:fs/promises';
import { createServer, type Server, type Socket } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileSource, tcpSource } from '@strandwise/gauge';
import { plainLines } from './plain-lines.ts';
import { type FarSide, readingSourceContract } from './reading-source.contract.ts';
import { sourceInProcess } from './serial-process.ts';

async function growingFile(): Promise<FarSide> {
  const folder = mkdtempSync(join(tmpdir(), 'growing-'));
  const path = join(folder, 'gauge.log');
  await writeFile(path, '');
  return {
    source: fileSource({ path, format: plainLines, pollMs: 5 }),
    write: (text) => appendFile(path, text),
    breakOff: () => rm(path),
    restore: () => appendFile(path, ''),
    close: async () => rmSync(folder, { recursive: true }),
  };
}

async function lineServer(): Promise<FarSide> {
  let server: Server;
  let clients: Socket[] = [];
  let arrived = (): void => {};
  const start = (port: number): Promise<number> =>
    new Promise((resolve) => {
      server = createServer((socket) => {
        socket.setNoDelay(true);
        socket.on('error', () => {});
        socket.on('close', () => {
          clients = clients.filter((c) => c !== socket);
        });
        clients.push(socket);
        arrived();
      });
      server.listen(port, '127.0.0.1', () => resolve((server.address() as { port: number }).port));
    });
  const port = await start(0);
  const client = async (): Promise<Socket> => {
    while (clients.length === 0) {
      await new Promise<void>((resolve) => {
        arrived = resolve;
      });
    }
    return clients.at(-1)!;
  };
  const stop = (): Promise<void> =>
    new Promise((resolve) => {
      for (const socket of clients) socket.destroy();
      server.close(() => resolve());
    });
  let isUp = true;
  return {
    source: tcpSource({ host: '127.0.0.1', port, format: plainLines, retryMs: 10 }),
    async write(text) {
      const socket = await client();
      await new Promise<void>((resolve) => socket.write(text, () => resolve()));
    },
    async breakOff() {
      isUp = false;
      await stop();
    },
    async restore() {
      if (!isUp) await start(port);
      isUp = true;
    },
    close: () => (isUp ? stop() : Promise.resolve()),
  };
}

/** Two ends of a cable, made by socat: the test writes to one, the source reads the other. */
async function pseudoTerminal(): Promise<FarSide> {
  const folder = mkdtempSync(join(tmpdir(), 'serial-'));
  const path = join(folder, 'near');
  const farPath = join(folder, 'far');
  let cable: ChildProcess | undefined;
  let handle: number | undefined;
  const lay = async (): Promise<void> => {
    const end = (link: string): string => `pty,raw,echo=0,link=${link}`;
    cable = spawn('socat', ['-d', '-d', end(path), end(farPath)], {
      stdio: ['ignore', 'ignore', 'pipe'],
    });
    await new Promise<void>((resolve, reject) => {
      cable!.once('error', () =>
        reject(
          new Error('socat is needed to test the serial port; install it (apt-get install socat)'),
        ),
      );
      cable!.stderr!.on('data', (text: Buffer) => {
        if (/starting data transfer/.test(text.toString())) resolve();
      });
    });
    handle = openSync(farPath, constants.O_RDWR | constants.O_NOCTTY);
  };
  const cut = async (): Promise<void> => {
    if (handle !== undefined) closeSync(handle);
    handle = undefined;
    const current = cable;
    cable = undefined;
    if (current === undefined) return;
    await new Promise<void>((resolve) => {
      current.once('exit', () => resolve());
      current.kill();
    });
  };
  await lay();
  const remote = await sourceInProcess(path);
  return {
    source: remote.source,
    write: async (text) => {
      if (handle !== undefined) writeSync(handle, text);
    },
    breakOff: cut,
    restore: async () => {
      if (cable === undefined) await lay();
    },
    close: async () => {
      await remote.close();
      await cut();
      rmSync(folder, { recursive: true });
    },
  };
}

readingSourceContract('a growing file', growingFile);
readingSourceContract('a TCP line stream', lineServer);
readingSourceContract('a serial port', pseudoTerminal);
