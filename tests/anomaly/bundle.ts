import { mkdtempSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { build } from 'esbuild';

const root = resolve(import.meta.dirname, '../..');

/**
 * A program of the tests as one file that node can run, so that it starts as fast as the real command.
 * Native parts stay outside; the file lies where they are found.
 */
export async function bundled(entry: string): Promise<string> {
  const folder = mkdtempSync(join(root, 'packages/cli/node_modules/.cache-anomaly-'));
  const outfile = join(folder, 'program.mjs');
  await build({
    entryPoints: [entry],
    outfile,
    bundle: true,
    platform: 'node',
    format: 'esm',
    target: 'node20',
    external: ['better-sqlite3', 'serialport', 'ink', 'react'],
    banner: {
      js: "import { createRequire } from 'node:module'; const require = createRequire(import.meta.url);",
    },
    logLevel: 'warning',
  });
  return outfile;
}
