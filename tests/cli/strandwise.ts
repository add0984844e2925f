import { spawnSync } from 'node:child_process';
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';

/** The built command; `npm test` builds it first. */
export const builtCommand = resolve(import.meta.dirname, '../../packages/cli/dist/main.js');

export interface Ran {
  readonly code: number | null;
  readonly out: string;
  readonly told: string;
}

/** Runs the command as a user does, without a terminal. */
export function strandwise(args: readonly string[], cwd: string): Ran {
  const ran = spawnSync(process.execPath, [builtCommand, ...args], {
    cwd,
    encoding: 'utf8',
    env: { ...process.env, NO_COLOR: '1', STRANDWISE_WHO: 'tester' },
  });
  return { code: ran.status, out: ran.stdout, told: ran.stderr };
}

export const emptyFolder = (): string => mkdtempSync(join(tmpdir(), 'strandwise-cli-'));
