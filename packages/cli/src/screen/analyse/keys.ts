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

/** Screens by their digit, a word for the foot, and what they answer. */
export const screenKeys: readonly (readonly [string, ScreenName, string, string])[] = [
  ['1', 'matters', 'matters', 'what matters, and whether the fit stands'],
  ['2', 'model', 'model', 'terms in and out of the model'],
  ['3', 'surface', 'surface', 'the response over two factors'],
  ['4', 'residuals', 'residuals', 'pictures of every check'],
  ['5', 'window', 'window', 'set points, how sure, how far they may wander'],
  ['6', 'next', 'next', 'what to run next'],
  ['7', 'trade', 'trade', 'what giving way in one response buys in another'],
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
    // On many keyboards plus is shift and this key.
    '=': { kind: 'pinned', by: 1 },
    '-': { kind: 'pinned', by: -1 },
    c: { kind: 'centre' },
  },
  matters: paging(),
  window: paging(),
  next: paging(),
  trade: { x: { kind: 'axis', axis: 'x' } },
};

/** Space goes a page on, b a page back. */
function paging(): Readonly<Record<string, AnalyseIntent>> {
  return { ' ': { kind: 'page', by: 1 }, b: { kind: 'page', by: -1 } };
}

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

type KeyWords = readonly (readonly [key: string, brief: string, says: string])[];

const ownKeys: Readonly<Record<ScreenName, KeyWords>> = {
  matters: [
    ['up/down', 'scroll', 'scroll; shift goes five lines'],
    ['space b', 'page', 'a page on, a page back'],
  ],
  model: [
    ['up/down', '', 'pick a term'],
    ['space', 'in/out', 'take the term in or leave it out'],
    ['b', 'best', 'the best model by AICc'],
    ['a', 'all', 'every term'],
    ['u', 'undo', 'the model as it was'],
    ['enter', 'record', 'record this model in the study'],
  ],
  surface: [
    ['arrows', 'move', 'move the cross; shift goes five steps'],
    ['x', 'x axis', 'another factor across'],
    ['y', 'y axis', 'another factor up'],
    ['p', 'pin', 'pick a pinned factor'],
    ['+ -', 'move it', 'move the pinned factor'],
    ['c', '', 'everything to the centre'],
  ],
  residuals: [['left/right', 'another check', 'another check']],
  window: [
    ['up/down', 'scroll', 'scroll; shift goes five lines'],
    ['space b', 'page', 'a page on, a page back'],
    ['enter', 'record', 'record these set points as the proposed recipe'],
  ],
  next: [
    ['up/down', 'scroll', 'scroll; shift goes five lines'],
    ['space b', 'page', 'a page on, a page back'],
  ],
  trade: [
    ['up/down', 'pick', 'another setting'],
    ['x', 'x axis', 'another response across'],
  ],
};

/** Screens that are about all responses at once. */
const ofAll: readonly ScreenName[] = ['window', 'next', 'trade'];
export const isOfAll = (at: ScreenName): boolean => ofAll.includes(at);

const responseKey: KeyWords = [['tab', 'response', 'next response; shift-tab the one before']];

const everywhereKeys: KeyWords = [
  ['?', 'keys', 'these keys'],
  ['q', 'leave', 'leave; nothing is lost that was recorded'],
];

const keysOf = (at: ScreenName): KeyWords => [
  ...ownKeys[at],
  ...(isOfAll(at) ? [] : responseKey),
  ...everywhereKeys,
];

/** Keys of a screen in a word each, for its foot. */
export const footKeys = ({ at }: AnalyseScreen): (readonly [string, string])[] =>
  keysOf(at).flatMap(([key, brief]) => (brief === '' ? [] : [[key, brief] as const]));

/** Every key of a screen with what it does. */
export const helpKeys = ({ at }: AnalyseScreen): (readonly [string, string])[] =>
  keysOf(at).map(([key, , says]) => [key, says] as const);
