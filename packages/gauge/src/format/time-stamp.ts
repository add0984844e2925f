import { cellOf } from './decimal.ts';
import type { TimeWriting } from './line-format.ts';

const ISO =
  /^(\d{4})-(\d\d)-(\d\d)[T ](\d\d):(\d\d)(?::(\d\d)(?:[.,](\d{1,9}))?)?\s?(Z|[+-]\d\d:?\d\d)?$/;
const CLOCK = /^(\d{1,2}):(\d\d)(?::(\d\d)(?:[.,](\d{1,9}))?)?$/;
const DATED =
  /^(\d{1,2})[./-](\d{1,2})[./-](\d{4})[T ,]+(\d{1,2}):(\d\d)(?::(\d\d)(?:[.,](\d{1,9}))?)?$/;

/**
 * A time cell in seconds. `iso` and dated writings count from 1970-01-01 UTC (without a zone they are
 * taken as UTC), `clock` from midnight, the others from wherever the gauge began.
 *
 * @returns seconds, or undefined when the text is no such time
 */
export function timeStampSeconds(
  raw: string,
  as: TimeWriting,
  decimalMark: '.' | ',',
): number | undefined {
  const text = raw.trim();
  switch (as) {
    case 'seconds':
      return scaled(text, decimalMark, 1);
    case 'milliseconds':
      return scaled(text, decimalMark, 1 / 1000);
    case 'minutes':
      return scaled(text, decimalMark, 60);
    case 'iso':
      return isoSeconds(text);
    case 'clock':
      return clockSeconds(CLOCK.exec(text)?.slice(1));
    case 'day-month-year':
    case 'month-day-year':
      return datedSeconds(text, as === 'day-month-year');
  }
}

/** Whether the writing counts from 1970, so that the log knows when it began. */
export function isAbsolute(as: TimeWriting): boolean {
  return as === 'iso' || as === 'day-month-year' || as === 'month-day-year';
}

function scaled(text: string, decimalMark: '.' | ',', by: number): number | undefined {
  const cell = cellOf(text, decimalMark);
  if (cell.kind !== 'number') return undefined;
  return by === 1 / 1000 ? cell.value / 1000 : cell.value * by;
}

function isoSeconds(text: string): number | undefined {
  const m = ISO.exec(text);
  if (!m) return undefined;
  const clock = clockSeconds([m[4]!, m[5]!, m[6], m[7]]);
  const day = daySeconds(Number(m[1]), Number(m[2]), Number(m[3]));
  if (clock === undefined || day === undefined) return undefined;
  const zone = m[8];
  if (zone === undefined || zone === 'Z') return day + clock;
  const minutes = Number(zone.slice(1, 3)) * 60 + Number(zone.slice(-2));
  return day + clock - (zone.startsWith('-') ? -60 : 60) * minutes;
}

function datedSeconds(text: string, dayFirst: boolean): number | undefined {
  const m = DATED.exec(text);
  if (!m) return undefined;
  const [first, second] = [Number(m[1]), Number(m[2])];
  const clock = clockSeconds([m[4]!, m[5]!, m[6], m[7]]);
  const day = dayFirst
    ? daySeconds(Number(m[3]), second, first)
    : daySeconds(Number(m[3]), first, second);
  return clock === undefined || day === undefined ? undefined : day + clock;
}

function daySeconds(year: number, month: number, day: number): number | undefined {
  const ms = Date.UTC(year, month - 1, day);
  const back = new Date(ms);
  const isReal = back.getUTCMonth() === month - 1 && back.getUTCDate() === day;
  return isReal ? ms / 1000 : undefined;
}

function clockSeconds(parts: readonly (string | undefined)[] | undefined): number | undefined {
  if (parts === undefined) return undefined;
  const [hours, minutes, seconds] = [Number(parts[0]), Number(parts[1]), Number(parts[2] ?? 0)];
  if (hours > 23 || minutes > 59 || seconds > 60) return undefined;
  const fraction = parts[3] === undefined ? 0 : Number(`0.${parts[3]}`);
  return hours * 3600 + minutes * 60 + seconds + fraction;
}
