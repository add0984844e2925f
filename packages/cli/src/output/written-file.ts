import {
  closeSync,
  existsSync,
  fsyncSync,
  linkSync,
  mkdirSync,
  openSync,
  renameSync,
  rmSync,
  writeSync,
} from 'node:fs';
import { basename, dirname, join } from 'node:path';
import { UsageError } from '../command/usage-error.ts';

export interface WriteOptions {
  /** An existing file is replaced; without it, it is left alone and the write is refused. */
  readonly isReplacing: boolean;
}

/**
 * Writes a whole file or nothing: into a file beside the target first, which then takes its name. A
 * reader never sees half a file, and a fault leaves the old one as it was.
 *
 * @throws {UsageError} when the folder is missing, or the file is there and may not be replaced
 */
export function writeWhole(
  path: string,
  content: string | Uint8Array,
  { isReplacing }: WriteOptions,
): void {
  requireFolder(path);
  if (!isReplacing) refuseExisting(path);
  const beside = join(dirname(path), `.${basename(path)}.${process.pid}.part`);
  try {
    writeThrough(beside, content);
    if (isReplacing) renameSync(beside, path);
    else nameNew(beside, path);
  } finally {
    rmSync(beside, { force: true });
  }
}

/** @throws {UsageError} when the folder of a file is missing */
export function requireFolder(path: string): void {
  if (!existsSync(dirname(path))) throw new UsageError(`the folder of ${path} does not exist.`);
}

/** @throws {UsageError} when the file is there */
export function refuseExisting(path: string): void {
  if (existsSync(path))
    throw new UsageError(
      `${path} is there already; add --replace to write it anew, or choose another name. Nothing was overwritten.`,
    );
}

function writeThrough(path: string, content: string | Uint8Array): void {
  const bytes = typeof content === 'string' ? Buffer.from(content, 'utf-8') : content;
  const file = openSync(path, 'w');
  try {
    for (let at = 0; at < bytes.length; ) at += writeSync(file, bytes, at);
    fsyncSync(file);
  } finally {
    closeSync(file);
  }
}

/** Gives a file its name only if nobody has taken it meanwhile. */
function nameNew(beside: string, path: string): void {
  try {
    linkSync(beside, path);
  } catch (error) {
    const { code } = error as { code?: string };
    if (code === 'EEXIST') refuseExisting(path);
    // A disk without hard links: the check above has to do.
    if (code !== 'EPERM' && code !== 'ENOTSUP' && code !== 'EOPNOTSUPP' && code !== 'ENOSYS')
      throw error;
    renameSync(beside, path);
  }
}

/** The folder, made when it is not there. */
export function madeFolder(path: string): string {
  mkdirSync(path, { recursive: true });
  return path;
}
