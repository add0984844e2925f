import { execFileSync } from 'node:child_process';
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

/** The shim as a library, compiled for this machine. */
export function compiledShim(): string {
  const library = join(mkdtempSync(join(tmpdir(), 'strandwise-shim-')), 'shim.so');
  const source = join(import.meta.dirname, 'shim.c');
  execFileSync('cc', ['-O1', '-shared', '-fPIC', '-o', library, source, '-ldl']);
  return library;
}

export interface ShimEnv {
  readonly library: string;
  readonly orderFile?: string;
  readonly diary?: string;
}

/** What a program under the shim is started with; it looks at files with "study" in their name. */
export const shimEnv = ({ library, orderFile, diary }: ShimEnv): NodeJS.ProcessEnv => ({
  ...process.env,
  LD_PRELOAD: library,
  STRANDWISE_FAULT_ON: 'study',
  ...(orderFile === undefined ? {} : { STRANDWISE_FAULT: orderFile }),
  ...(diary === undefined ? {} : { STRANDWISE_DIARY: diary }),
});
