// Runs a script of this folder from source: node tests/bench/run.mjs scouting-table [arguments]
import { mkdirSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { build } from 'esbuild';

const [name, ...rest] = process.argv.slice(2);
if (!name) throw new Error('name the script, for example scouting-table');
const here = import.meta.dirname;
const folder = join(here, '../node_modules/.scripts');
mkdirSync(folder, { recursive: true });
const outfile = join(folder, `${name}-${process.pid}.mjs`);
await build({
  entryPoints: [join(here, `${name}.ts`)],
  outfile,
  bundle: true,
  platform: 'node',
  format: 'esm',
  target: 'node20',
  jsx: 'automatic',
  external: [
    '@resvg/resvg-js',
    'better-sqlite3',
    'ink',
    'react',
    'react/*',
    'serialport',
    'fast-check',
  ],
  banner: {
    js: "import { createRequire } from 'node:module'; const require = createRequire(import.meta.url);",
  },
  define: { __STRANDWISE_VERSION__: '"script"' },
  logLevel: 'warning',
});
process.argv.splice(1, process.argv.length, outfile, ...rest);
try {
  await import(pathToFileURL(outfile).href);
} finally {
  rmSync(outfile, { force: true });
}
