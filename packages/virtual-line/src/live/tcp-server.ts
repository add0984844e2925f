import { type AddressInfo, createServer, type Socket } from 'node:net';
import { csvHead, csvRow } from '../gauge-log.ts';
import { atPace, type PaceOf } from './pace.ts';

/** A running TCP source of readings. */
export interface TcpLine {
  readonly port: number;
  /** Number of connected clients. */
  clients(): number;
  stop(): Promise<void>;
}

/**
 * Serves readings as comma-separated lines over TCP, head line first to each client. Listens on the
 * machine itself unless told otherwise.
 *
 * @param port - 0 takes any free one
 */
export async function serveTcp({
  port = 0,
  host = '127.0.0.1',
  ...pace
}: Omit<PaceOf, 'onReading'> & {
  readonly port?: number;
  readonly host?: string;
}): Promise<TcpLine> {
  const sockets = new Map<Socket, { isHeaded: boolean }>();
  const server = createServer((socket) => {
    sockets.set(socket, { isHeaded: false });
    // A client that goes away is no fault of the line.
    socket.on('error', () => socket.destroy());
    socket.on('close', () => sockets.delete(socket));
  });
  await new Promise<void>((resolve, reject) => {
    server.once('error', reject);
    server.listen(port, host, resolve);
  });
  const stopPace = atPace({
    ...pace,
    onReading(reading) {
      const row = `${csvRow(reading)}\n`;
      for (const [socket, state] of sockets) {
        socket.write(state.isHeaded ? row : `${csvHead(reading)}\n${row}`);
        state.isHeaded = true;
      }
    },
  });
  return {
    port: (server.address() as AddressInfo).port,
    clients: () => sockets.size,
    stop() {
      stopPace();
      for (const socket of sockets.keys()) socket.destroy();
      return new Promise((resolve) => server.close(() => resolve()));
    },
  };
}
