import type { AnalyseIntent, AnalyseScreen, ScreenName } from './screen.ts';

/** A key as a terminal reports it. */
export interface Pressed {
  readonly input: string;
  readonly arrow: 'up' | 'down' | 'left' | 'right' | null;
  readonly isReturn: boolean;
  readonly isEscape: boolean;
  readonly isTab: boolean;
  readonly isShift: boolean;
  readonly isControl: boolean;
}

/** Screens by their digit and their words in the foot. */
export const screenKeys: readonly (readonly [string, ScreenName, string])[] = [
  ['1', 'matters', 'what matters'],
  ['2', 'model', 'model'],
  ['3', 'surface', 'surface'],
  ['4', 'residuals', 'residuals'],
  ['5', 'window', 'window'],
  ['6', 'next', 'next runs'],
];

const steps = {
  up: { dx: 0, dy: -1 },
  down: { dx: 0, dy: 1 },
  left: { dx: -1, dy: 0 },
  right: { dx: 1, dy: 0 },
} as const;

/** Letters that mean the same everywhere. */
const everywhere: Readonly<Record<string, AnalyseIntent>> = {
  q: { kind: 'leave' },
  '?': { kind: 'keys' },
};

const own: Readonly<Partial<Record<ScreenName, Readonly<Record<string, AnalyseIntent>>>>> = {
  model: {
    ' ': { kind: 'toggle' },
    b: { kind: 'model', which: 'best' },
    a: { kind: 'model', which: 'all' },
    u: { kind: 'model', which: 'kept' },
  },
  surface: {
    x: { kind: 'axis', axis: 'x' },
    y: { kind: 'axis', axis: 'y' },
    p: { kind: 'pin' },
    '+': { kind: 'pinned', by: 1 },
    '=': { kind: 'pinned', by: 1 },
    '-': { kind: 'pinned', by: -1 },
    c: { kind: 'centre' },
  },
};

/** What a key means on the screen as it is; null for a key that means nothing there. */
export function analyseIntent(screen: AnalyseScreen, key: Pressed): AnalyseIntent | null {
  const { input } = key;
  if (key.isControl) return input === 'c' ? { kind: 'leave' } : null;
  if (screen.hasKeys) return input === 'q' ? { kind: 'leave' } : { kind: 'keys' };
  if (key.isTab) return { kind: 'response', by: key.isShift ? -1 : 1 };
  if (key.arrow) return { kind: 'move', ...steps[key.arrow], isFar: key.isShift };
  if (key.isReturn) return { kind: 'record' };
  if (key.isEscape) return { kind: 'go to', at: 'matters' };
  const chosen = screenKeys.find(([digit]) => digit === input);
  if (chosen) return { kind: 'go to', at: chosen[1] };
  return own[screen.at]?.[input] ?? everywhere[input] ?? null;
}

/** Keys of a screen with what they do, for its foot and its help. */
export function keysOf({ at }: AnalyseScreen): readonly (readonly [string, string])[] {
  const mine: Readonly<Record<ScreenName, readonly (readonly [string, string])[]>> = {
    matters: [['up/down', 'scroll']],
    model: [
      ['up/down', 'pick a term'],
      ['space', 'in or out'],
      ['b', 'best by AICc'],
      ['a', 'all terms'],
      ['u', 'as it was'],
      ['enter', 'record this model'],
    ],
    surface: [
      ['arrows', 'move'],
      ['x y', 'other factor on an axis'],
      ['p', 'pick a pinned factor'],
      ['+ -', 'move it'],
      ['c', 'centre'],
    ],
    residuals: [['left/right', 'another check']],
    window: [
      ['up/down', 'scroll'],
      ['enter', 'record as the proposed recipe'],
    ],
    next: [['up/down', 'scroll']],
  };
  return [
    ...mine[at],
    ['tab', 'next response'],
    ['?', 'keys'],
    ['q', 'leave'],
  ];
}
