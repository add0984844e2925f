import type { FailureDirection } from '@strandwise/core';
import type { WalkIntent, WalkScreen } from './screen.ts';

/** A key as a terminal reports it. */
export interface Pressed {
  readonly input: string;
  readonly isReturn: boolean;
  readonly isEscape: boolean;
  readonly isBackspace: boolean;
  readonly isControl: boolean;
}

export const directionKeys: readonly (readonly [string, FailureDirection, string])[] = [
  ['c', 'cold', 'cold: rough, unmelted, stiff or stalled'],
  ['h', 'hot', 'hot: runs, drips, necks, smokes'],
  ['f', 'no feed', 'no feed: pellets bridge or slip'],
  ['b', 'blocked', 'blocked: nozzle or filter'],
  ['o', 'other', 'other: power, gauge, hands'],
];

export const thenKeys = [
  ['a', 'again', 'again now'],
  ['l', 'later', 'later, after the others'],
  ['n', 'nearer', 'a cell nearer to the centre in its place'],
  ['o', 'leave out', 'leave it out of the plan'],
] as const;

export const skipKeys = [
  ['l', 'later', 'later, after the others'],
  ['o', 'leave out', 'leave it out of the plan (asks why)'],
] as const;

/** Every key of the cell screen: what it does, and in one or two words for a narrow screen. */
export const cellKeys: readonly (readonly [string, WalkIntent, string, string])[] = [
  ['enter', { kind: 'go on' }, 'what comes next', 'go on'],
  ['e', { kind: 'change set point' }, 'a set point was keyed in differently', 'set point'],
  ['m', { kind: 'early' }, 'measure early, or cut short', 'early'],
  [' ', { kind: 'tally', by: 1 }, 'one bubble more; backspace less', 'bubble'],
  ['b', { kind: 'recount' }, 'a second count of the strand', 'recount'],
  ['l', { kind: 'attach' }, 'attach a log from a file', 'log'],
  ['v', { kind: 'enter value' }, 'enter a value by hand', 'value'],
  ['x', { kind: 'fail' }, 'this cell failed', 'failed'],
  ['p', { kind: 'skip' }, 'skip this cell, or leave it out', 'skip'],
  ['n', { kind: 'note' }, 'write a note', 'note'],
  ['u', { kind: 'undo' }, 'take the latest entry back', 'undo'],
  ['y', { kind: 'redo' }, 'put back what was taken back', 'put back'],
  ['r', { kind: 'reopen' }, 'do the cell before again', 'again'],
  ['w', { kind: 'hand over' }, 'hand over to the next person', 'hand over'],
  ['i', { kind: 'record' }, 'what has been noted so far', 'noted'],
  ['h', { kind: 'holds' }, 'holds learned from this walk', 'holds'],
  ['s', { kind: 'stop' }, 'stop safely: what the barrel needs', 'stop'],
  ['q', { kind: 'leave' }, 'leave; the walk resumes here', 'leave'],
  ['?', { kind: 'keys' }, 'these keys', 'keys'],
];

const byLetter = new Map(cellKeys.map(([key, intent]) => [key, intent]));

function chosen<T>(keys: readonly (readonly [string, T, string])[], input: string): T | null {
  return keys.find(([letter]) => letter === input)?.[1] ?? null;
}

/** What a key means on the screen as it is; null for a key that means nothing there. */
export function walkIntent(screen: WalkScreen, key: Pressed): WalkIntent | null {
  const { input } = key;
  if (key.isControl) return input === 'c' ? { kind: 'leave' } : null;
  if (key.isReturn) return { kind: 'go on' };
  if (key.isEscape) return { kind: 'back' };
  const { mode } = screen;
  switch (mode.kind) {
    case 'asking':
    case 'gate':
      return typing(key);
    case 'failed how': {
      const direction = chosen(directionKeys, input);
      return direction ? { kind: 'direction', direction } : null;
    }
    case 'failed then': {
      const next = chosen(thenKeys, input);
      return next ? { kind: 'then', next } : null;
    }
    case 'skipping': {
      const next = chosen(skipKeys, input);
      return next ? { kind: 'then', next } : null;
    }
    case 'choosing': {
      return /^[1-9]$/.test(input) ? { kind: 'choose', at: Number(input) - 1 } : null;
    }
    case 'holds':
    case 'stopping':
      return yesNo(input);
    case 'record':
    case 'keys':
      return input === 'q' ? { kind: 'leave' } : { kind: 'back' };
    case 'cell':
      if (key.isBackspace) return { kind: 'tally', by: -1 };
      return byLetter.get(input) ?? null;
  }
}

function typing(key: Pressed): WalkIntent | null {
  if (key.isBackspace) return { kind: 'erased' };
  return key.input === '' ? null : { kind: 'typed', text: key.input };
}

function yesNo(input: string): WalkIntent | null {
  if (input === 'y') return { kind: 'yes' };
  if (input === 'n') return { kind: 'no' };
  return input === 'q' ? { kind: 'leave' } : null;
}
