import { DomainError } from '@strandwise/core';

/** Where in a log a fault was found; lines and columns count from 1. */
export interface Place {
  readonly file?: string | undefined;
  readonly line?: number | undefined;
  readonly column?: number | undefined;
}

export type GaugeErrorCode =
  | 'empty_file'
  | 'binary_file'
  | 'no_such_file'
  | 'unreadable_file'
  | 'missing_column'
  | 'duplicate_column'
  | 'unclear_format'
  | 'nothing_parsed'
  | 'too_many_readings'
  | 'port_unavailable';

/** A log or a port that cannot serve; `code` stays, the words may change. */
export class GaugeError extends DomainError {
  declare readonly code: GaugeErrorCode;
  readonly place: Place;

  constructor(code: GaugeErrorCode, message: string, place: Place = {}, cause?: unknown) {
    super(code, message, { ...place });
    this.name = 'GaugeError';
    this.place = place;
    if (cause !== undefined) this.cause = cause;
  }
}

/** `run3.csv, line 12, column 2`; what is not known is left out. */
export function placeInWords({ file, line, column }: Place): string {
  const parts = [file ?? 'the log'];
  if (line !== undefined) parts.push(`line ${line}`);
  if (column !== undefined) parts.push(`column ${column}`);
  return parts.join(', ');
}
