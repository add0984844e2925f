/** Why a line gave no reading. */
export type LineFaultReason =
  | 'ragged'
  | 'not-a-number'
  | 'no-diameter'
  | 'no-time'
  | 'no-strand'
  | 'beyond-belief'
  | 'time-astray'
  | 'cut-short'
  | 'too-long'
  | 'no-match';

/** A line that was kept apart; lines and columns count from 1. */
export interface LineFault {
  readonly line: number;
  readonly column?: number | undefined;
  readonly reason: LineFaultReason;
  /** The first 80 characters, when at hand. */
  readonly text?: string | undefined;
}

/** Lines kept apart: how many, why, and the first twenty of them. */
export interface Unparsed {
  readonly count: number;
  readonly byReason: Readonly<Partial<Record<LineFaultReason, number>>>;
  readonly first: readonly LineFault[];
}

const SHOWN = 20;

/** Counts every fault and remembers the first twenty. */
export interface FaultTally {
  add(fault: LineFault): void;
  sofar(): Unparsed;
}

export function faultTally(): FaultTally {
  let count = 0;
  const byReason: Partial<Record<LineFaultReason, number>> = {};
  const first: LineFault[] = [];
  return {
    add(fault) {
      count++;
      byReason[fault.reason] = (byReason[fault.reason] ?? 0) + 1;
      if (first.length >= SHOWN) return;
      first.push(fault.text === undefined ? fault : { ...fault, text: fault.text.slice(0, 80) });
    },
    sofar: () => ({ count, byReason: { ...byReason }, first: [...first] }),
  };
}

const WORDS: Record<LineFaultReason, string> = {
  ragged: 'another number of fields than the rest',
  'not-a-number': 'text where a number belongs',
  'no-diameter': 'no diameter',
  'no-time': 'no time that can be read',
  'no-strand': 'diameter 0 or less, so no strand in the gauge',
  'beyond-belief': 'a diameter no strand has',
  'time-astray': 'a time that jumps away and back',
  'cut-short': 'cut short at the end of the file',
  'too-long': 'longer than 4096 bytes',
  'no-match': 'not in the form of the pattern',
};

/** A reason in words, for a sentence such as "3 lines: no diameter". */
export function faultInWords(reason: LineFaultReason): string {
  return WORDS[reason];
}
