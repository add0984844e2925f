import type { PlanIntent, PlanScreen } from './state.ts';

/** A key as a terminal reports it. */
export interface PlanKey {
  readonly input: string;
  readonly isReturn: boolean;
  readonly isEscape: boolean;
  readonly isControl: boolean;
  readonly arrow: 'up' | 'down' | 'left' | 'right' | null;
  readonly page: -1 | 0 | 1;
}

const letters: Readonly<Record<string, PlanIntent>> = {
  h: { kind: 'select', by: -1 },
  l: { kind: 'select', by: 1 },
  j: { kind: 'scroll', by: 1 },
  k: { kind: 'scroll', by: -1 },
  '1': { kind: 'pick', plan: 0 },
  '2': { kind: 'pick', plan: 1 },
  '3': { kind: 'pick', plan: 2 },
  '4': { kind: 'pick', plan: 3 },
  p: { kind: 'show', view: 'curve' },
  s: { kind: 'show', view: 'slice' },
  o: { kind: 'show', view: 'orders' },
  r: { kind: 'show', view: 'cells' },
  t: { kind: 'show', view: 'doubts' },
  '?': { kind: 'show', view: 'keys' },
  y: { kind: 'yes' },
  n: { kind: 'back' },
  q: { kind: 'leave' },
};

/** What a key means; null for a key that means nothing. */
export function planIntent(screen: PlanScreen, key: PlanKey): PlanIntent | null {
  if (key.isControl && key.input === 'c') return { kind: 'leave' };
  if (key.isReturn) return { kind: 'choose' };
  if (key.isEscape) return { kind: 'back' };
  if (key.page !== 0) return { kind: 'scroll', by: 10 * key.page };
  switch (key.arrow) {
    case 'up':
      return { kind: 'scroll', by: -1 };
    case 'down':
      return { kind: 'scroll', by: 1 };
    case 'left':
      return { kind: 'select', by: -1 };
    case 'right':
      return { kind: 'select', by: 1 };
    case null:
      break;
  }
  if (screen.view === 'keys') return { kind: 'back' };
  return letters[key.input.toLowerCase()] ?? null;
}
