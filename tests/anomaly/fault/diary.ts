import type { Uniform } from '@strandwise/core';

/** One thing that happened between a program and its disk. */
export type DiaryRecord =
  | {
      readonly what: 'write';
      readonly file: string;
      readonly offset: number;
      readonly bytes: Buffer;
    }
  | { readonly what: 'truncate'; readonly file: string; readonly length: number }
  | { readonly what: 'synced'; readonly file: string }
  | { readonly what: 'answer'; readonly text: string };

export function readDiary(bytes: Buffer): DiaryRecord[] {
  const out: DiaryRecord[] = [];
  for (let at = 0; at + 18 <= bytes.length; ) {
    const what = String.fromCharCode(bytes[at]!);
    const file = String.fromCharCode(bytes[at + 1]!);
    const offset = Number(bytes.readBigUInt64LE(at + 2));
    const length = Number(bytes.readBigUInt64LE(at + 10));
    at += 18;
    const body = bytes.subarray(at, at + length);
    if (what === 'w') out.push({ what: 'write', file, offset, bytes: body });
    else if (what === 't') out.push({ what: 'truncate', file, length: offset });
    else if (what === 's') out.push({ what: 'synced', file });
    else if (what === 'a') out.push({ what: 'answer', text: body.toString() });
    else throw new Error(`the diary holds ${what} at ${at - 18}`);
    if (what === 'w' || what === 'a') at += length;
  }
  return out;
}

const SECTOR = 512;

/**
 * The disk as it may be after a cut of power behind the first `count` records: what was synchronised is
 * there; of what was written since, any part may be, sector by sector.
 */
export function afterPowerCut(
  records: readonly DiaryRecord[],
  count: number,
  uniform: Uniform,
): Map<string, Buffer> {
  const files = new Map<string, Buffer>();
  const past = records.slice(0, count);
  for (const file of new Set(past.flatMap((record) => ('file' in record ? [record.file] : [])))) {
    const own = past.filter((record) => 'file' in record && record.file === file);
    const lastSync = own.findLastIndex(({ what }) => what === 'synced');
    let content: Buffer = Buffer.alloc(0);
    for (const [i, record] of own.entries()) {
      if (record.what === 'truncate') content = content.subarray(0, record.length);
      if (record.what !== 'write') continue;
      content = i < lastSync ? written(content, record) : torn(content, record, uniform);
    }
    files.set(file, content);
  }
  return files;
}

type Write = Extract<DiaryRecord, { what: 'write' }>;

function written(content: Buffer, { offset, bytes }: Pick<Write, 'offset' | 'bytes'>): Buffer {
  const length = Math.max(content.length, offset + bytes.length);
  const out = Buffer.alloc(length);
  content.copy(out);
  bytes.copy(out, offset);
  return out;
}

/** Each sector of the write reached the disk or did not. */
function torn(content: Buffer, { offset, bytes }: Write, uniform: Uniform): Buffer {
  let out = content;
  const whole = uniform();
  for (let at = 0; at < bytes.length; at += SECTOR) {
    const isThere = whole < 0.3 || (whole < 0.8 && uniform() < 0.5);
    if (isThere)
      out = written(out, { offset: offset + at, bytes: bytes.subarray(at, at + SECTOR) });
  }
  return out;
}
