import { closeSync, fstatSync, openSync, readSync, statSync } from 'node:fs';
import type { ReadingSource } from '@strandwise/core';
import { lineSplitter } from './line-splitter.ts';
import { type LiveOptions, type LiveReader, liveReader } from './live-reader.ts';

export interface FileSourceOptions extends LiveOptions {
  readonly path: string;
  /** Whether what is already written is heard too. Default `end`: only what comes. */
  readonly from?: 'start' | 'end';
  /** Time between looks at the file. Default 250 ms. */
  readonly pollMs?: number;
}

const TICK_MS = 1000;
const CHUNK = 1 << 16;
/** Most read in one look, so that a large backlog does not hold up everything else. */
const MOST_PER_LOOK = 1 << 22;
/** This much of the head tells one file from another that took its place. */
const HEAD = 64;

/**
 * A log file that another program is writing. Follows it through rotation (another file under the
 * name: the old one is read to its end first) and truncation (a shorter file, or another head: read
 * from the start). Looking is by polling, as change notices do not cross network drives.
 */
export function fileSource(options: FileSourceOptions): ReadingSource {
  const { path, from = 'end', pollMs = 250 } = options;
  return {
    place: path,
    listen(hear) {
      const reader = liveReader(options, hear);
      const follow = follower(path, from, options.format.headerLines, reader);
      let looking: NodeJS.Timeout | undefined;
      let isStopped = false;
      let tickedAt = performance.now();
      const look = (): void => {
        if (isStopped) return;
        const isMore = follow.look();
        // Silence is judged right after a look: a program that was held up has missed nothing yet.
        if (!isMore && performance.now() - tickedAt >= TICK_MS) {
          tickedAt = performance.now();
          reader.tick();
        }
        if (!isStopped) looking = setTimeout(look, isMore ? 0 : pollMs);
      };
      looking = setTimeout(look, 0);
      return {
        stop() {
          isStopped = true;
          clearTimeout(looking);
          follow.close();
          return Promise.resolve();
        },
      };
    },
  };
}

interface OpenFile {
  readonly handle: number;
  readonly inode: number;
  position: number;
  /** First bytes, to know the file again. */
  head: Buffer;
  headerLinesLeft: number;
}

function follower(path: string, from: 'start' | 'end', headerLines: number, reader: LiveReader) {
  const splitter = lineSplitter();
  const chunk = Buffer.allocUnsafe(CHUNK);
  let open: OpenFile | undefined;
  // Where "the end" is when listening begins; a file that comes later is heard from its start.
  const startSize = from === 'end' ? statSync(path, { throwIfNoEntry: false })?.size : undefined;
  let isFirst = true;
  let isBacklog = from === 'start';
  let dropsFirstLine = false;

  const openAt = (): OpenFile | undefined => {
    let handle: number;
    try {
      handle = openSync(path, 'r');
    } catch (error) {
      reader.lost(fileTrouble(path, error as NodeJS.ErrnoException));
      isFirst = false;
      return undefined;
    }
    const inode = fstatSync(handle).ino;
    const size = isFirst ? (startSize ?? 0) : 0;
    isFirst = false;
    const file: OpenFile = {
      handle,
      inode,
      position: size,
      head: Buffer.alloc(0),
      headerLinesLeft: size > 0 ? 0 : headerLines,
    };
    if (size > 0) {
      readSync(handle, chunk, 0, 1, size - 1);
      dropsFirstLine = chunk[0] !== 10 && chunk[0] !== 13;
      file.head = headOf(handle, size);
    }
    return file;
  };

  const restart = (file: OpenFile): void => {
    tellRest('cut short when the file was emptied');
    file.position = 0;
    file.head = Buffer.alloc(0);
    file.headerLinesLeft = headerLines;
    dropsFirstLine = false;
  };

  const tellRest = (why: string): void => {
    const rest = splitter.rest();
    if (rest !== '' && !dropsFirstLine) reader.unparsed(rest, why);
  };

  const tell = (file: OpenFile, lines: readonly string[]): void => {
    let whole = lines;
    if (dropsFirstLine && whole.length > 0) {
      whole = whole.slice(1);
      dropsFirstLine = false;
    }
    const heads = Math.min(file.headerLinesLeft, whole.length);
    file.headerLinesLeft -= heads;
    reader.header(whole.slice(0, heads));
    reader.lines(whole.slice(heads), isBacklog);
  };

  /** Reads up to `size`; true when more is left for the next look. */
  const readTo = (file: OpenFile, size: number): boolean => {
    const stop = Math.min(size, file.position + MOST_PER_LOOK);
    const lines: string[] = [];
    while (file.position < stop) {
      const got = readSync(
        file.handle,
        chunk,
        0,
        Math.min(CHUNK, stop - file.position),
        file.position,
      );
      if (got === 0) break;
      file.position += got;
      lines.push(...splitter.push(chunk.subarray(0, got)));
    }
    if (file.head.length < HEAD) file.head = headOf(file.handle, Math.min(HEAD, file.position));
    tell(file, lines);
    return file.position < size;
  };

  const closeOpen = (): void => {
    if (open !== undefined) closeSync(open.handle);
    open = undefined;
  };

  return {
    close: closeOpen,
    /** One look; true when there is more to read at once. */
    look(): boolean {
      open ??= openAt();
      if (open === undefined) return false;
      try {
        const { size } = fstatSync(open.handle);
        const isOther =
          size < open.position || !headOf(open.handle, open.head.length).equals(open.head);
        if (isOther) restart(open);
        if (size > open.position && readTo(open, size)) return true;
        isBacklog = false;
        if (inodeAt(path) === open.inode) return false;
        // Another file has the name, or none: the old one is read out, so it can go.
        tellRest('cut short when the file was replaced');
        closeOpen();
        dropsFirstLine = false;
        open = openAt();
        return open !== undefined;
      } catch (error) {
        reader.lost(fileTrouble(path, error as NodeJS.ErrnoException));
        closeOpen();
        return false;
      }
    },
  };
}

function headOf(handle: number, length: number): Buffer {
  const head = Buffer.alloc(Math.min(HEAD, length));
  const got = readSync(handle, head, 0, head.length, 0);
  return head.subarray(0, got);
}

function inodeAt(path: string): number | undefined {
  return statSync(path, { throwIfNoEntry: false })?.ino;
}

function fileTrouble(path: string, error: NodeJS.ErrnoException): string {
  if (error.code === 'ENOENT') return `${path}: the file is not there`;
  if (error.code === 'EACCES') return `${path}: you may not read it`;
  return `${path}: ${error.message}`;
}
