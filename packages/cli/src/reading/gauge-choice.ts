import { resolve } from 'node:path';
import { UsageError } from '../command/usage-error.ts';

/** Where the walk listens for readings. */
export type GaugeChoice =
  | { readonly kind: 'file'; readonly path: string }
  | { readonly kind: 'tcp'; readonly host: string; readonly port: number }
  | { readonly kind: 'serial'; readonly path: string; readonly baud: number }
  | { readonly kind: 'virtual' };

/**
 * Reads `file:PATH`, `tcp:HOST:PORT`, `serial:DEVICE@BAUD` or `virtual`.
 * @throws {UsageError} with what to write instead
 */
export function gaugeChoice(text: string): GaugeChoice {
  const [, kind = '', rest = ''] = /^(\w+):?(.*)$/s.exec(text) ?? [];
  switch (kind) {
    case 'virtual':
      if (rest === '') return { kind: 'virtual' };
      break;
    case 'file':
      if (rest !== '') return { kind: 'file', path: rest };
      break;
    case 'tcp': {
      const [, host, port] = /^(.+):(\d{1,5})$/.exec(rest) ?? [];
      if (host && Number(port) > 0 && Number(port) < 65_536)
        return { kind: 'tcp', host, port: Number(port) };
      break;
    }
    case 'serial': {
      const [, path, baud = '9600'] = /^([^@]+)(?:@(\d+))?$/.exec(rest) ?? [];
      if (path) return { kind: 'serial', path, baud: Number(baud) };
    }
  }
  throw new UsageError(
    `--gauge must be file:PATH, tcp:HOST:PORT, serial:DEVICE@BAUD or virtual; got "${text}".`,
  );
}

/** The gauge's name in a study, as its source names itself, so that its format is described once. */
export function gaugePlace(choice: GaugeChoice, cwd: string): string {
  switch (choice.kind) {
    case 'file':
      return resolve(cwd, choice.path);
    case 'tcp':
      return `${choice.host}:${choice.port}`;
    case 'serial':
      return `${choice.path} at ${choice.baud} baud`;
    case 'virtual':
      return 'virtual line';
  }
}
