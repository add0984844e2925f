import { connect, type Socket } from 'node:net';
import type { ReadingSource } from '@strandwise/core';
import { lineSplitter } from './line-splitter.ts';
import { type LiveOptions, liveReader } from './live-reader.ts';
import { retryDelays } from './retry.ts';
import { tickAfterReading } from './tick.ts';

export interface TcpSourceOptions extends LiveOptions {
  readonly host: string;
  readonly port: number;
  /** First wait before connecting again; doubles up to ten seconds. Default 500 ms. */
  readonly retryMs?: number;
}

const CONNECT_TIMEOUT_MS = 10_000;

/** A gauge that sends lines over TCP. Connects again when the connection is lost, and says so. */
export function tcpSource(options: TcpSourceOptions): ReadingSource {
  const { host, port } = options;
  return {
    place: `${host}:${port}`,
    listen(hear) {
      const reader = liveReader(options, hear);
      const splitter = lineSplitter();
      const delays = retryDelays(options.retryMs);
      let socket: Socket | undefined;
      let retry: NodeJS.Timeout | undefined;
      let isStopped = false;
      const stopTicking = tickAfterReading(() => reader.tick());

      const open = (): void => {
        let why = 'the far side closed the connection';
        const current = connect({ host, port, keepAlive: true });
        socket = current;
        current.setTimeout(CONNECT_TIMEOUT_MS, () => {
          why = `no answer within ${CONNECT_TIMEOUT_MS / 1000} s`;
          current.destroy();
        });
        current.on('connect', () => current.setTimeout(0));
        current.on('data', (chunk: Buffer) => {
          if (isStopped) return;
          delays.reset();
          reader.lines(splitter.push(chunk));
        });
        current.on('error', (error) => {
          why = connectionTrouble(error);
        });
        current.on('close', () => {
          if (isStopped) return;
          const rest = splitter.rest();
          if (rest !== '') reader.unparsed(rest, 'cut short when the connection was lost');
          reader.lost(`${host}:${port}: ${why}`);
          retry = setTimeout(open, delays.next());
        });
      };
      open();

      return {
        stop() {
          isStopped = true;
          stopTicking();
          clearTimeout(retry);
          return new Promise((resolve) => {
            if (socket === undefined || socket.closed) resolve();
            else {
              socket.once('close', () => resolve());
              socket.destroy();
            }
          });
        },
      };
    },
  };
}

function connectionTrouble(error: NodeJS.ErrnoException): string {
  switch (error.code) {
    case 'ECONNREFUSED':
      return 'nobody listens there; check the port number and that the gauge is on';
    case 'ENOTFOUND':
    case 'EAI_AGAIN':
      return 'no machine has that name; check the address';
    case 'EHOSTUNREACH':
    case 'ENETUNREACH':
    case 'ETIMEDOUT':
      return 'the machine cannot be reached; check the network cable';
    default:
      return error.message;
  }
}
