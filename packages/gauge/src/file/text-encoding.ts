import { GaugeError } from '../gauge-error.ts';

const NEWLINE = 10;
const RETURN = 13;
/** Enough to tell a text from anything else. */
const HEAD = 8192;

/**
 * The chunks of a log as UTF-8 with line feeds: byte-order marks dropped, UTF-16 turned, header bytes
 * of an older one-byte code page read as such, lone carriage returns turned into line feeds.
 *
 * @throws {GaugeError} `empty_file` when no byte but blanks comes
 * @throws {GaugeError} `binary_file` when the head holds control bytes or zeros in many places
 */
export function* plainBytes(
  chunks: Iterable<Uint8Array>,
  file: string | undefined,
): Generator<Buffer> {
  let turn: ((chunk: Buffer) => Buffer) | undefined;
  let isBlankSoFar = true;
  for (const raw of chunks) {
    const chunk = Buffer.isBuffer(raw) ? raw : Buffer.from(raw.buffer, raw.byteOffset, raw.length);
    if (chunk.length === 0) continue;
    turn ??= turnFor(chunk, file);
    const bytes = turn(chunk);
    if (isBlankSoFar && isBlank(bytes)) continue;
    isBlankSoFar = false;
    yield bytes;
  }
  if (isBlankSoFar) {
    throw new GaugeError(
      'empty_file',
      `readLog: the log must hold a line; got none (${file ?? 'the log'}). Check that the gauge was recording.`,
      { file },
    );
  }
}

function turnFor(head: Buffer, file: string | undefined): (chunk: Buffer) => Buffer {
  const [a, b, c] = [head[0], head[1], head[2]];
  const utf16 = a === 0xff && b === 0xfe ? 'utf-16le' : a === 0xfe && b === 0xff ? 'utf-16be' : '';
  if (utf16 !== '') {
    const decoder = new TextDecoder(utf16);
    return (chunk) =>
      Buffer.from(decoder.decode(chunk, { stream: true }).replace(/\r(?!\n)/g, '\n'));
  }
  const start = head.subarray(0, HEAD);
  const fault = binaryFault(start);
  if (fault !== undefined) {
    throw new GaugeError(
      'binary_file',
      `readLog: the log must be text; got ${fault} (${file ?? 'the log'}). Export it as delimited text.`,
      { file },
    );
  }
  const isMarked = a === 0xef && b === 0xbb && c === 0xbf;
  const hasFeed = start.includes(NEWLINE);
  const isReturnOnly = !hasFeed && start.includes(RETURN);
  const isOneByte = !isUtf8(start);
  let isFirst = true;
  return (chunk) => {
    let bytes = isFirst && isMarked ? chunk.subarray(3) : chunk;
    isFirst = false;
    // The degree sign and the micro sign of a code page are one byte that UTF-8 does not know.
    if (isOneByte) bytes = Buffer.from(bytes.toString('latin1'), 'utf8');
    if (isReturnOnly) {
      bytes = Buffer.from(bytes);
      for (let i = 0; i < bytes.length; i++) if (bytes[i] === RETURN) bytes[i] = NEWLINE;
    }
    return bytes;
  };
}

/** A hole of zeros is what a machine leaves that loses power while writing; a few are forgiven. */
const FORGIVEN_HOLES = 3;
const MOST_CONTROLS = 0.01;

/** Why the head is no text, or undefined. */
function binaryFault(head: Buffer): string | undefined {
  let holes = 0;
  let controls = 0;
  for (let i = 0; i < head.length; i++) {
    const c = head[i]!;
    if (c === 0 && head[i - 1] !== 0) holes++;
    if (c !== 0 && c < 32 && (c < 9 || c > 13)) controls++;
  }
  if (controls > MOST_CONTROLS * head.length) return `${controls} control bytes in its head`;
  if (holes > FORGIVEN_HOLES) return `zero bytes in ${holes} places of its head`;
  return head[0] === 0 ? 'a zero byte at its start' : undefined;
}

/** Whether the bytes are UTF-8; a sign cut off by the end of the head does not count against it. */
function isUtf8(bytes: Buffer): boolean {
  try {
    new TextDecoder('utf-8', { fatal: true }).decode(bytes, { stream: true });
    return true;
  } catch {
    return false;
  }
}

function isBlank(bytes: Buffer): boolean {
  for (const c of bytes) if (c !== 32 && (c < 9 || c > 13)) return false;
  return true;
}
