import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join, relative, resolve } from 'node:path';
import { describe, expect, it } from 'vitest';

const root = resolve(import.meta.dirname, '..');
const packages = readdirSync(join(root, 'packages'));

/** What each package may import of ours; data goes one way. */
const mayImport: Record<string, readonly string[]> = {
  core: [],
  store: ['core'],
  gauge: ['core'],
  'virtual-line': ['core'],
  report: ['core'],
  cli: ['core', 'store', 'gauge', 'virtual-line', 'report'],
};

const drawers = new Set([
  'util',
  'utils',
  'helper',
  'helpers',
  'common',
  'misc',
  'types',
  'lib',
  'shared',
]);

function sourceFiles(directory: string): string[] {
  return readdirSync(directory, { withFileTypes: true, recursive: true })
    .filter(
      (item) =>
        item.isFile() &&
        /\.tsx?$/.test(item.name) &&
        !item.parentPath.includes('node_modules') &&
        !item.parentPath.includes('/dist'),
    )
    .map((item) => join(item.parentPath, item.name));
}

const files = packages.flatMap((name) => sourceFiles(join(root, 'packages', name)));

/** Imports of a file, type-only ones included; comments are left out first. */
function importsOf(file: string): string[] {
  const text = readFileSync(file, 'utf8')
    .replace(/\/\*[\s\S]*?\*\//g, '')
    .replace(/^\s*\/\/.*$/gm, '');
  return [...text.matchAll(/(?:from|import)\s*\(?\s*['"]([^'"]+)['"]/g)].map(
    ([, target]) => target!,
  );
}

const short = (file: string): string => relative(root, file);

function offences(check: (file: string, target: string) => boolean): string[] {
  return files.flatMap((file) =>
    importsOf(file)
      .filter((target) => check(file, target))
      .map((target) => `${short(file)} imports ${target}`),
  );
}

describe('architecture', () => {
  it('knows every package', () => {
    expect([...packages].sort()).toEqual(Object.keys(mayImport).sort());
  });

  it('keeps the arrows between packages', () => {
    expect(
      offences((file, target) => {
        const from = short(file).split('/')[1]!;
        const own = target.match(/^@strandwise\/([^/]+)/)?.[1];
        return own !== undefined && !mayImport[from]!.includes(own);
      }),
    ).toEqual([]);
  });

  it('reaches another package only by its face', () => {
    expect(offences((_, target) => /^@strandwise\/[^/]+\/.+/.test(target))).toEqual([]);
    expect(
      offences((file, target) => {
        if (!target.startsWith('.')) return false;
        const home = short(file).split('/').slice(0, 2).join('/');
        return !short(resolve(dirname(file), target)).startsWith(`${home}/`);
      }),
    ).toEqual([]);
  });

  it('has no import cycles', () => {
    const known = new Set(files);
    const edges = new Map(
      files.map((file) => [
        file,
        importsOf(file)
          .filter((target) => target.startsWith('.'))
          .map((target) => resolve(dirname(file), target))
          .filter((target) => known.has(target)),
      ]),
    );
    expect(cycleIn(edges).map(short)).toEqual([]);
  });

  it('has no circles between the folders of core', () => {
    const rooms = new Map<string, Set<string>>();
    for (const file of files) {
      const room = roomOf(file);
      if (!room) continue;
      const next = rooms.get(room) ?? new Set();
      for (const target of importsOf(file)) {
        const other = target.startsWith('.') ? roomOf(resolve(dirname(file), target)) : undefined;
        if (other && other !== room) next.add(other);
      }
      rooms.set(room, next);
    }
    expect(cycleIn(new Map([...rooms].map(([room, next]) => [room, [...next]])))).toEqual([]);
  });

  it('lets one folder of core touch each numeric library', () => {
    const owners: Record<string, RegExp> = {
      'ml-matrix': /^packages\/core\/src\/linear\//,
      jstat: /^packages\/core\/src\/distribution\//,
      'pure-rand': /^packages\/core\/src\/random\//,
      ink: /^packages\/cli\//,
      'better-sqlite3': /^packages\/store\//,
    };
    expect(
      offences((file, target) => {
        const owner = Object.entries(owners).find(
          ([name]) => target === name || target.startsWith(`${name}/`),
        );
        return owner !== undefined && !owner[1].test(short(file));
      }),
    ).toEqual([]);
  });

  it('keeps core and report pure', () => {
    const forbidden =
      /\bDate\.now\b|\bnew Date\(\)|\bMath\.random\b|\bconsole\.|\bprocess\.|\bsetTimeout\b|\bperformance\.now\b/;
    const impure = files
      .filter((file) => /^packages\/(core|report)\/src\/(?!panel\/)/.test(short(file)))
      .filter((file) => {
        const code = readFileSync(file, 'utf8')
          .replace(/\/\*[\s\S]*?\*\//g, '')
          .replace(/\/\/.*$/gm, '');
        return forbidden.test(code) || importsOf(file).some((target) => target.startsWith('node:'));
      });
    expect(impure.map(short)).toEqual([]);
  });

  it('has no drawers', () => {
    const found = files
      .map(short)
      .filter((file) => file.split('/').some((part) => drawers.has(part)));
    expect(found).toEqual([]);
  });
});

/** The folder of core that a file lies in. */
const roomOf = (file: string): string | undefined =>
  short(file).match(/^packages\/core\/src\/([^/]+)\//)?.[1];

function cycleIn(edges: ReadonlyMap<string, readonly string[]>): string[] {
  const done = new Set<string>();
  const path: string[] = [];
  const visit = (file: string): string[] => {
    const start = path.indexOf(file);
    if (start >= 0) return [...path.slice(start), file];
    if (done.has(file)) return [];
    path.push(file);
    for (const next of edges.get(file) ?? []) {
      const cycle = visit(next);
      if (cycle.length > 0) return cycle;
    }
    path.pop();
    done.add(file);
    return [];
  };
  for (const file of edges.keys()) {
    const cycle = visit(file);
    if (cycle.length > 0) return cycle;
  }
  return [];
}
