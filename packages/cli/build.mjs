// Bundles the command with the workspace's other packages inside, so that one tarball installs with npm alone.
// What is listed under "dependencies" stays outside (native or heavy); everything else is bundled in.
import { chmodSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { basename, dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { build } from 'esbuild';

const here = dirname(fileURLToPath(import.meta.url));
const manifest = JSON.parse(readFileSync(join(here, 'package.json'), 'utf8'));
const external = Object.keys({
  ...manifest.dependencies,
  ...manifest.optionalDependencies,
}).flatMap((name) => [name, `${name}/*`]);

/**
 * `import { z }` takes the whole of zod along, messages in fifty languages included; the same module
 * taken as a namespace is cut down to what is used. It halves what every command reads at its start.
 */
const onlyUsedOfZod = {
  name: 'only-used-of-zod',
  setup({ onLoad }) {
    onLoad({ filter: /packages[\\/][^\\/]+[\\/]src[\\/].*\.tsx?$/ }, ({ path }) => ({
      contents: readFileSync(path, 'utf8').replace(
        /^import \{ z \} from 'zod';$/m,
        "import * as z from 'zod';",
      ),
      loader: path.endsWith('x') ? 'tsx' : 'ts',
    }));
  },
};

const { metafile } = await build({
  entryPoints: {
    main: join(here, 'src/main.ts'),
    'search-worker': join(here, 'src/worker/search-worker.ts'),
  },
  outdir: join(here, 'dist'),
  bundle: true,
  platform: 'node',
  format: 'esm',
  target: 'node20',
  jsx: 'automatic',
  external,
  banner: { js: '#!/usr/bin/env node' },
  define: { __STRANDWISE_VERSION__: JSON.stringify(manifest.version) },
  splitting: true,
  plugins: [onlyUsedOfZod],
  metafile: true,
  legalComments: 'none',
  minifyWhitespace: true,
  minifySyntax: true,
  logLevel: 'warning',
});
// The program of the page's "try settings" panel; `report` reads it from beside the command.
await build({
  stdin: { contents: "import '@strandwise/report/panel';", resolveDir: here },
  outfile: join(here, 'dist/panel.js'),
  bundle: true,
  minify: true,
  platform: 'browser',
  format: 'iife',
  target: 'es2023',
  legalComments: 'none',
  logLevel: 'warning',
});
chmodSync(join(here, 'dist/main.js'), 0o755);

// Pieces of earlier builds carry other names; they would be packed as well.
const kept = new Set(['panel.js', ...Object.keys(metafile.outputs).map((path) => basename(path))]);
for (const name of readdirSync(join(here, 'dist'))) {
  if (!kept.has(name)) rmSync(join(here, 'dist', name), { recursive: true });
}
