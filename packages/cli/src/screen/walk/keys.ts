import type { FailureDirection } from '@strandwise/core';
import type { WalkIntent, WalkScreen } from './state.ts';

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
  ['o', 'leave out', 'leave it out of the plan'],
] as const;

const cellKeys: Readonly<Record<string, WalkIntent>> = {
  m: { kind: 'early' },
  x: { kind: 'fail' },
  p: { kind: 'postpone' },
  n: { kind: 'note' },
  l: { kind: 'attach' },
  ' ': { kind: 'tally', by: 1 },
  u: { kind: 'undo' },
  r: { kind: 'reopen' },
  s: { kind: 'stop' },
  '?': { kind: 'keys' },
  q: { kind: 'leave' },
};

/** What a key means on the screen as it is; null for a key that means nothing there. */
export function walkIntent(screen: WalkScreen, key: Pressed): WalkIntent | null {
  if (key.isControl && key.input === 'c') return { kind: 'leave' };
  if (key.isReturn) return { kind: 'go on' };
  if (key.isEscape) return { kind: 'back' };
  switch (screen.mode.kind) {
    case 'asking':
      if (key.isBackspace) return { kind: 'erased' };
      return key.input === '' || key.isControl ? null : { kind: 'typed', text: key.input };
    case 'failed how': {
      const found = directionKeys.find(([letter]) => letter === key.input);
      return found ? { kind: 'direction', direction: found[1] } : null;
    }
    case 'failed then': {
      const found = thenKeys.find(([letter]) => letter === key.input);
      return found ? { kind: 'then', next: found[1] } : null;
    }
    case 'stopping':
    case 'keys':
      return key.input === 'q' ? { kind: 'leave' } : { kind: 'back' };
    case 'cell':
      if (key.isBackspace) return { kind: 'tally', by: -1 };
      return cellKeys[key.input] ?? null;
  }
}
