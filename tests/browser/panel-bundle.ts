import { fileURLToPath } from 'node:url';
import { build } from 'esbuild';

/** The panel's program as one script, the way a release carries it. */
export async function panelBundle(): Promise<string> {
  const entry = new URL('../../packages/report/src/panel/browser/main.ts', import.meta.url);
  const { outputFiles } = await build({
    entryPoints: [fileURLToPath(entry)],
    bundle: true,
    minify: true,
    write: false,
    platform: 'browser',
    format: 'iife',
    target: 'es2023',
    legalComments: 'none',
  });
  return outputFiles[0]!.text;
}
