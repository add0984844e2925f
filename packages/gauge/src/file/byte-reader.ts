import type { LineFormat } from '../format/line-format.ts';
import { timeStampSeconds } from '../format/time-stamp.ts';

const NEWLINE = 10;
const RETURN = 13;
const ZERO = 48;
const MINUS = 45;
const PLUS = 43;
const COLON = 58;
const QUOTE = 34;

/** Exact in binary, so that digits/10^k rounds once, as `Number(text)` does. */
const POWERS = Float64Array.from({ length: 16 }, (_, k) => 10 ** k);
/** Fifteen digits stay below 2^53. */
const MOST_DIGITS = 15;

/** The answer for a line that the general reader must read. */
export const ODD_LINE = -1;

/**
 * Reads one line of bytes into a row when it is plain: unquoted numbers, the number of fields that
 * the format says, seconds or ISO or clock times. Anything else is odd and goes to the general reader.
 *
 * The line must be closed by a line feed before `end`.
 *
 * @returns a function giving where the next line starts, or ODD_LINE; or undefined when the format
 *   as a whole needs the general reader
 */
export function byteReader(
  format: LineFormat,
): ((bytes: Uint8Array, start: number, end: number, row: Float64Array) => number) | undefined {
  const plan = planOf(format);
  if (plan === undefined) return undefined;
  const { actions, delimiter, mark, fieldCount } = plan;
  const cursor: Cursor = { at: 0, value: 0 };
  const time = timeReader(cursor);

  return (bytes, start, end, row) => {
    // A plain line fills every slot that the format names, so nothing is left of the line before.
    cursor.at = start;
    for (let column = 0; ; column++) {
      const action = column < actions.length ? actions[column]! : SKIP;
      if (action === SKIP) {
        if (!skipCell(bytes, end, delimiter, cursor)) return ODD_LINE;
      } else if (action >= 0) {
        const next = numberInto(row, action, bytes, cursor.at, mark);
        if (next === ODD_LINE) return ODD_LINE;
        cursor.at = next;
      } else {
        if (!time(action, bytes, end)) return ODD_LINE;
        row[0] = cursor.value;
      }
      const c = bytes[cursor.at];
      if (c === delimiter) cursor.at++;
      else if (column + 1 !== fieldCount) return ODD_LINE;
      else if (c === NEWLINE) return cursor.at + 1;
      else return c === RETURN && bytes[cursor.at + 1] === NEWLINE ? cursor.at + 2 : ODD_LINE;
    }
  };
}

const SKIP = -1;
const ISO = -2;
const CLOCK = -3;

function planOf(format: LineFormat) {
  const { delimiter, pattern, time, fields, fieldCount } = format;
  if (pattern !== undefined || delimiter === ' ' || fieldCount === undefined) return undefined;
  const last = Math.max(...fields.map((f) => f.column), time.from === 'column' ? time.column : 1);
  const actions = new Int32Array(last).fill(SKIP);
  for (const [k, { column }] of fields.entries()) actions[column - 1] = k + 1;
  if (time.from === 'column') {
    const action = { seconds: 0, iso: ISO, clock: CLOCK }[time.as as 'seconds'];
    if (action === undefined) return undefined;
    actions[time.column - 1] = action;
  }
  return {
    actions,
    delimiter: delimiter === undefined ? 0 : delimiter.charCodeAt(0),
    mark: format.decimalMark.charCodeAt(0),
    fieldCount,
  };
}

interface Cursor {
  at: number;
  value: number;
}

/** Moves to the end of a cell that nobody reads; false when it holds a quote. */
function skipCell(bytes: Uint8Array, end: number, delimiter: number, cursor: Cursor): boolean {
  let i = cursor.at;
  for (; i < end; i++) {
    const c = bytes[i]!;
    if (c === delimiter || c === NEWLINE || c === RETURN) break;
    if (c === QUOTE) return false;
  }
  cursor.at = i;
  return true;
}

/**
 * Sign, digits, one mark; at least one digit, at most fifteen. The value goes into its slot of the row.
 *
 * The line feed that closes the line ends every run of digits, so no end is asked for.
 *
 * @returns where the number ends, or ODD_LINE
 */
function numberInto(
  row: Float64Array,
  slot: number,
  bytes: Uint8Array,
  start: number,
  mark: number,
): number {
  let i = start;
  const sign = bytes[i]!;
  if (sign === MINUS || sign === PLUS) i++;
  const first = i;
  let c = (bytes[i]! - ZERO) | 0;
  // Nine digits fit a whole number of 32 bits, which is quicker than one with a fraction.
  let head = 0;
  while (c >= 0 && c <= 9 && i - first < 9) {
    head = (head * 10 + c) | 0;
    c = (bytes[++i]! - ZERO) | 0;
  }
  let mantissa = head;
  while (c >= 0 && c <= 9) {
    mantissa = mantissa * 10 + c;
    c = (bytes[++i]! - ZERO) | 0;
  }
  let digits = i - first;
  let decimals = 0;
  if (c + ZERO === mark) {
    const point = ++i;
    c = (bytes[i]! - ZERO) | 0;
    head = 0;
    while (c >= 0 && c <= 9 && i - point < 9) {
      head = (head * 10 + c) | 0;
      c = (bytes[++i]! - ZERO) | 0;
    }
    decimals = i - point;
    mantissa = mantissa * POWERS[decimals]! + head;
    while (c >= 0 && c <= 9) {
      mantissa = mantissa * 10 + c;
      c = (bytes[++i]! - ZERO) | 0;
    }
    decimals = i - point;
    digits += decimals;
  }
  if (digits === 0 || digits > MOST_DIGITS) return ODD_LINE;
  const size = decimals === 0 ? mantissa : mantissa / POWERS[decimals]!;
  row[slot] = sign === MINUS ? -size : size;
  return i;
}

function timeReader(cursor: Cursor) {
  let knownDate = -1;
  let knownDay = 0;
  const two = (bytes: Uint8Array, i: number): number => {
    const a = bytes[i]! - ZERO;
    const b = bytes[i + 1]! - ZERO;
    return a >= 0 && a <= 9 && b >= 0 && b <= 9 ? a * 10 + b : -1;
  };
  /** hh:mm:ss with an optional fraction after a point; the general reader takes the rest. */
  const clockAt = (bytes: Uint8Array, start: number, end: number): number => {
    if (start + 8 > end || bytes[start + 2] !== COLON || bytes[start + 5] !== COLON) return -1;
    const hours = two(bytes, start);
    const minutes = two(bytes, start + 3);
    const seconds = two(bytes, start + 6);
    if (hours < 0 || hours > 23 || minutes < 0 || minutes > 59 || seconds < 0 || seconds > 60) {
      return -1;
    }
    let i = start + 8;
    let fraction = 0;
    if (i < end && bytes[i] === 46) {
      const from = ++i;
      let mantissa = 0;
      for (; i < end; i++) {
        const c = bytes[i]! - ZERO;
        if (c < 0 || c > 9) break;
        mantissa = mantissa * 10 + c;
      }
      if (i === from || i - from > 9) return -1;
      fraction = mantissa / POWERS[i - from]!;
    }
    cursor.at = i;
    return hours * 3600 + minutes * 60 + seconds + fraction;
  };
  return (action: number, bytes: Uint8Array, end: number): boolean => {
    const start = cursor.at;
    if (action === CLOCK) {
      cursor.value = clockAt(bytes, start, end);
      return cursor.value >= 0;
    }
    const century = two(bytes, start);
    const year = two(bytes, start + 2);
    const month = two(bytes, start + 5);
    const day = two(bytes, start + 8);
    const gap = bytes[start + 10];
    const isDate = bytes[start + 4] === MINUS && bytes[start + 7] === MINUS;
    if (start + 19 > end || !isDate || (gap !== 84 && gap !== 32)) return false;
    if (century < 0 || year < 0 || month < 0 || day < 0) return false;
    const date = ((century * 100 + year) * 100 + month) * 100 + day;
    if (date !== knownDate) {
      const text = String.fromCharCode(...bytes.subarray(start, start + 10));
      const seconds = timeStampSeconds(`${text} 00:00`, 'iso', '.');
      if (seconds === undefined) return false;
      knownDate = date;
      knownDay = seconds;
    }
    const clock = clockAt(bytes, start + 11, end);
    if (clock < 0) return false;
    if (cursor.at < end && bytes[cursor.at] === 90) cursor.at++;
    cursor.value = knownDay + clock;
    return true;
  };
}
