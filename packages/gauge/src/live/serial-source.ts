import { existsSync } from 'node:fs';
import { isMainThread } from 'node:worker_threads';
import type { ReadingSource } from '@strandwise/core';
import type { SerialPort } from 'serialport';
import { GaugeError } from '../gauge-error.ts';
import { lineSplitter } from './line-splitter.ts';
import { type LiveOptions, liveReader } from './live-reader.ts';
import { retryDelays } from './retry.ts';
import { tickAfterReading } from './tick.ts';

export interface SerialSourceOptions extends LiveOptions {
  /** Name of the port, such as `/dev/ttyUSB0` or `COM3`. */
  readonly path: string;
  /** Default 9600. */
  readonly baud?: number;
  readonly dataBits?: 5 | 6 | 7 | 8;
  readonly parity?: 'none' | 'even' | 'odd';
  readonly stopBits?: 1 | 2;
  /** First wait before opening again; doubles up to ten seconds. Default 500 ms. */
  readonly retryMs?: number;
}

/**
 * A gauge on a serial port. The driver is loaded when somebody listens, so that files can be read on
 * a machine without it. A port that is missing or pulled out is `lost` and tried again.
 */
export function serialSource(options: SerialSourceOptions): ReadingSource {
  const { path, baud = 9600, dataBits = 8, parity = 'none', stopBits = 1 } = options;
  return {
    place: `${path} at ${baud} baud`,
    listen(hear) {
      const reader = liveReader(options, hear);
      const splitter = lineSplitter();
      const delays = retryDelays(options.retryMs);
      let port: SerialPort | undefined;
      let retry: NodeJS.Timeout | undefined;
      let isStopped = false;
      const stopTicking = tickAfterReading(() => {
        reader.tick();
        // The driver may go on reading nothing from a port that was pulled out.
        if (port?.isOpen && isGone(path)) port.close();
      });

      const again = (why: string): void => {
        if (isStopped) return;
        const rest = splitter.rest();
        if (rest !== '') reader.unparsed(rest, 'cut short when the port was lost');
        reader.lost(`${path}: ${why}`);
        clearTimeout(retry);
        retry = setTimeout(() => void open(), delays.next());
      };

      const open = async (): Promise<void> => {
        const driver = await serialDriver();
        if (isStopped) return;
        if (driver === undefined) {
          reader.lost(
            `${path}: the serial driver is not installed, or this is not the main thread`,
          );
          return;
        }
        const current = new driver.SerialPort({
          path,
          baudRate: baud,
          dataBits,
          parity,
          stopBits,
          autoOpen: false,
        });
        port = current;
        current.on('data', (chunk: Buffer) => {
          if (isStopped) return;
          delays.reset();
          reader.lines(splitter.push(chunk));
        });
        current.on('error', (error) => again(portTrouble(error)));
        current.on('close', () => again('the port was closed or pulled out'));
        current.open((error) => {
          if (error) again(portTrouble(error));
          else if (isStopped) current.close();
        });
      };
      const opening = open();

      return {
        async stop() {
          isStopped = true;
          stopTicking();
          clearTimeout(retry);
          await opening;
          const current = port;
          if (current?.isOpen) await new Promise<void>((resolve) => current.close(() => resolve()));
        },
      };
    },
  };
}

/**
 * Names of the serial ports of this machine.
 *
 * @throws {GaugeError} `port_unavailable` when the driver is not installed, or off the main thread
 */
export async function serialPorts(): Promise<readonly string[]> {
  const driver = await serialDriver();
  if (driver === undefined) {
    throw new GaugeError(
      'port_unavailable',
      'serialPorts: the serial driver must be installed and used on the main thread; got none. Install the package "serialport", or read the gauge over TCP or from its file.',
    );
  }
  return (await driver.SerialPort.list()).map((port) => port.path);
}

async function serialDriver(): Promise<typeof import('serialport') | undefined> {
  // The driver polls on the process's first event loop; on a worker thread it takes Node down.
  if (!isMainThread) return undefined;
  try {
    return await import('serialport');
  } catch {
    return undefined;
  }
}

/** Whether the device of an open port has vanished; names that are no files cannot tell. */
function isGone(path: string): boolean {
  return path.startsWith('/') && !existsSync(path);
}

function portTrouble(error: Error): string {
  if (/no such file|cannot find|not found/i.test(error.message)) {
    return 'there is no such port; check the cable and the name';
  }
  if (/permission|access denied/i.test(error.message)) {
    return 'you may not open it; ask for access to serial ports on this machine';
  }
  if (/busy|lock|in use/i.test(error.message)) {
    return 'another program holds it; close that one';
  }
  return error.message;
}
