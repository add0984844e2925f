import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { FitResult, type ResponseFit } from '@strandwise/core';
import { afterAll, expect } from 'vitest';

/** The command as it is shipped; another build can be named to try it before it is. */
const main =
  process.env['STRANDWISE_MAIN'] ?? join(import.meta.dirname, '../../../packages/cli/dist/main.js');

const folder = mkdtempSync(join(tmpdir(), 'strandwise-fit-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

export interface Ran {
  readonly code: number | null;
  readonly out: string;
  readonly told: string;
}

/** Runs `fit` with arguments in a folder of its own, colours off. */
export function fitCommandLine(args: readonly string[]): Ran {
  const ran = spawnSync(process.execPath, [main, 'fit', ...args], {
    cwd: folder,
    encoding: 'utf8',
    env: { ...process.env, NO_COLOR: '1', LC_ALL: 'C.UTF-8' },
  });
  return { code: ran.status, out: ran.stdout, told: ran.stderr };
}

let files = 0;

/** Writes a spec and a run table and fits them. */
export function fitFiles(spec: object, csv: string, ...more: readonly string[]): Ran {
  files += 1;
  const specFile = `spec-${files}.json`;
  const runsFile = `runs-${files}.csv`;
  writeFileSync(join(folder, specFile), JSON.stringify(spec));
  writeFileSync(join(folder, runsFile), csv);
  return fitCommandLine(['--spec', specFile, '--runs', runsFile, ...more]);
}

/** A run table as text. */
export const csvOf = (
  columns: readonly string[],
  rows: readonly (readonly (string | number | null)[])[],
): string => [columns, ...rows].map((row) => row.map((cell) => cell ?? '').join(',')).join('\n');

/** The published JSON of a fit that went well, one response. */
export function fitted(ran: Ran): ResponseFit {
  expect(ran.told, 'nothing on standard error').toBe('');
  expect(ran.code, ran.out.slice(0, 400)).toBe(0);
  return FitResult.parse(JSON.parse(ran.out)).responses[0]!;
}
