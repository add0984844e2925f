#!/usr/bin/env node
// Stands where the package manager links to before anything is built.
import { existsSync } from 'node:fs';

const main = new URL('../dist/main.js', import.meta.url);
if (existsSync(main)) {
  await import(main.href);
} else {
  process.stderr.write('strandwise: not built yet. Run "npm run build" in the clone first.\n');
  process.exitCode = 3;
}
