import { type Happening, type ScoutAdvice, type StrandLook, strandLooks } from '@strandwise/core';

/** What the scouting screen remembers beside the study. */
export interface ScoutScreen {
  readonly mode: 'before heating' | 'step' | 'stopping';
  /** When the step in hand was first shown, ms. */
  readonly since: number;
  readonly notice: string | null;
  readonly isLeaving: boolean;
}

export interface ScoutFacts {
  readonly advice: ScoutAdvice;
  readonly stepsTaken: number;
  /** True when the proposal of these steps already stands in the study. */
  readonly isAdopted: boolean;
  readonly holdSeconds: number;
  readonly nowMs: number;
}

export type ScoutIntent =
  | { readonly kind: 'go on' }
  | { readonly kind: 'seen'; readonly look: StrandLook }
  | { readonly kind: 'undo' }
  | { readonly kind: 'stop' }
  | { readonly kind: 'back' }
  | { readonly kind: 'leave' };

export type ScoutDeed =
  | { readonly kind: 'record'; readonly what: Happening; readonly why?: string }
  | { readonly kind: 'adopt' }
  | { readonly kind: 'undo' };

export interface ScoutMove {
  readonly screen: ScoutScreen;
  readonly deed: ScoutDeed | null;
}

export const openingScout = (stepsTaken: number, nowMs: number): ScoutScreen => ({
  mode: stepsTaken === 0 ? 'before heating' : 'step',
  since: nowMs,
  notice: null,
  isLeaving: false,
});

/** The letter or number of each look, in the order of the list. */
export const lookKeys: readonly (readonly [string, StrandLook, string])[] = strandLooks.map(
  ({ look, says }, i) => [String(i + 1), look, says],
);

/** What a key means; null for one that means nothing. */
export function scoutIntent({
  input,
  isReturn,
  isEscape,
  isControl,
}: {
  readonly input: string;
  readonly isReturn: boolean;
  readonly isEscape: boolean;
  readonly isControl: boolean;
}): ScoutIntent | null {
  if (isControl) return input === 'c' ? { kind: 'leave' } : null;
  if (isReturn) return { kind: 'go on' };
  if (isEscape) return { kind: 'back' };
  const look = lookKeys.find(([key]) => key === input);
  if (look) return { kind: 'seen', look: look[1] };
  if (input === 'u') return { kind: 'undo' };
  if (input === 's') return { kind: 'stop' };
  return input === 'q' ? { kind: 'leave' } : null;
}

/** The screen after an intent, and what has to be done for it. */
export function reduceScout(
  screen: ScoutScreen,
  intent: ScoutIntent,
  facts: ScoutFacts,
): ScoutMove {
  const stay = (change: Partial<ScoutScreen>): ScoutMove => ({
    screen: { ...screen, notice: null, ...change },
    deed: null,
  });
  switch (intent.kind) {
    case 'leave':
      return stay({ isLeaving: true });
    case 'stop':
      return stay({ mode: 'stopping' });
    case 'back':
      return stay({ mode: 'step' });
    case 'undo':
      return facts.stepsTaken === 0
        ? stay({ notice: 'There is no step to take back.' })
        : { ...stay({ since: facts.nowMs, mode: 'step' }), deed: { kind: 'undo' } };
    case 'seen':
      return seen(screen, intent.look, facts);
    case 'go on':
      return goOn(screen, facts);
  }
}

function goOn(screen: ScoutScreen, { advice, isAdopted, nowMs }: ScoutFacts): ScoutMove {
  const to = (change: Partial<ScoutScreen>): ScoutScreen => ({
    ...screen,
    notice: null,
    ...change,
  });
  if (screen.mode !== 'step') return { screen: to({ mode: 'step', since: nowMs }), deed: null };
  if (advice.kind === 'done')
    return isAdopted
      ? { screen: to({ isLeaving: true }), deed: null }
      : {
          screen: to({ notice: 'The ranges stand in the study. Next: strandwise plan' }),
          deed: { kind: 'adopt' },
        };
  return {
    screen: to({
      notice: advice.kind === 'step' ? 'Say what you see with one of the numbers.' : null,
    }),
    deed: null,
  };
}

function seen(
  screen: ScoutScreen,
  look: StrandLook,
  { advice, nowMs, holdSeconds }: ScoutFacts,
): ScoutMove {
  if (screen.mode !== 'step' || advice.kind !== 'step') return { screen, deed: null };
  const { setPoints, levelCelsius, purpose } = advice;
  const held = Math.max(0, (nowMs - screen.since) / 1000);
  const isEarly = held < holdSeconds - 1;
  // A failure needs no full hold to be seen; anything else may still be the setting before.
  const isFailure = look === 'unmelted' || look === 'runs' || look === 'no feed';
  const why =
    isEarly && !isFailure
      ? `looked at after ${Math.round(held / 60)} min of ${Math.round(holdSeconds / 60)}`
      : undefined;
  return {
    screen: {
      ...screen,
      since: nowMs,
      notice: why ? 'Noted as seen before the hold was over.' : null,
    },
    deed: {
      kind: 'record',
      what: { kind: 'scout step', setPoints, levelCelsius, seen: look, purpose },
      ...(why === undefined ? {} : { why }),
    },
  };
}
