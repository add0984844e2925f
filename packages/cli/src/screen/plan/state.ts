import type { NamedPlan, OrderRow, OrderRule, PlanComparison } from '@strandwise/core';

/** What the comparison is showing. */
export type PlanView = 'table' | 'curve' | 'slice' | 'orders' | 'cells' | 'doubts' | 'keys';

/** The planning screen apart from the plans themselves. */
export interface PlanScreen {
  readonly view: PlanView;
  readonly selected: number;
  /** First line shown of what scrolls. */
  readonly top: number;
  /** Factor of the slice. */
  readonly factor: number;
  /** Order under the cursor of the orders table. */
  readonly order: number;
  readonly isAsking: boolean;
  readonly notice: string | null;
  readonly isLeaving: boolean;
}

export const openingPlanScreen: PlanScreen = {
  view: 'table',
  selected: 0,
  top: 0,
  factor: 0,
  order: 0,
  isAsking: false,
  notice: null,
  isLeaving: false,
};

export interface PlanFacts {
  readonly title: string;
  readonly plans: readonly NamedPlan[];
  readonly comparison: PlanComparison;
  /** Orders of the selected plan; null until they are asked for. */
  readonly orders: readonly OrderRow[] | null;
  /** Lines that the view in hand has, to stop scrolling at the end. */
  readonly lineCount: number;
}

export type PlanIntent =
  | { readonly kind: 'select'; readonly by: 1 | -1 }
  | { readonly kind: 'pick'; readonly plan: number }
  | { readonly kind: 'scroll'; readonly by: number }
  | { readonly kind: 'show'; readonly view: PlanView }
  | { readonly kind: 'choose' }
  | { readonly kind: 'yes' }
  | { readonly kind: 'back' }
  | { readonly kind: 'leave' };

/** What the reducer asks the outside to do. */
export type PlanDeed =
  | { readonly kind: 'adopt'; readonly plan: number }
  | { readonly kind: 'reorder'; readonly plan: number; readonly order: OrderRule };

export interface PlanStep {
  readonly screen: PlanScreen;
  readonly deeds: readonly PlanDeed[];
}

const shown = (screen: PlanScreen, change: Partial<PlanScreen>): PlanStep => ({
  screen: { ...screen, notice: null, ...change },
  deeds: [],
});

/** One intent; a wrong one changes nothing but the notice. */
export function reducePlan(screen: PlanScreen, intent: PlanIntent, facts: PlanFacts): PlanStep {
  if (intent.kind === 'leave') return shown(screen, { isLeaving: true });
  if (screen.isAsking) return reduceAsking(screen, intent);
  switch (intent.kind) {
    case 'select':
      return moved(screen, intent.by, facts);
    case 'pick':
      return intent.plan < facts.plans.length
        ? shown(screen, { selected: intent.plan })
        : shown(screen, { notice: `There are ${facts.plans.length} plans.` });
    case 'scroll':
      return scrolled(screen, intent.by, facts);
    case 'show':
      return shown(screen, {
        view: screen.view === intent.view ? 'table' : intent.view,
        top: 0,
        order: 0,
      });
    case 'choose':
      return chosen(screen, facts);
    case 'back':
      return screen.view === 'table'
        ? shown(screen, { notice: 'q leaves without choosing.' })
        : shown(screen, { view: 'table', top: 0 });
    case 'yes':
      return shown(screen, {});
  }
}

/** Left and right: another plan, or another factor on the slices. */
function moved(screen: PlanScreen, by: 1 | -1, { plans }: PlanFacts): PlanStep {
  const around = (at: number, of: number): number => (at + by + of) % of;
  if (screen.view === 'slice') {
    const factors = plans[0]!.plan.request.factors.length;
    return shown(screen, { factor: around(screen.factor, factors) });
  }
  return shown(screen, { selected: around(screen.selected, plans.length), order: 0 });
}

function scrolled(screen: PlanScreen, by: number, facts: PlanFacts): PlanStep {
  if (screen.view === 'orders' && facts.orders) {
    const last = facts.orders.length - 1;
    return shown(screen, { order: Math.max(0, Math.min(last, screen.order + Math.sign(by))) });
  }
  const top = Math.max(0, Math.min(facts.lineCount - 1, screen.top + by));
  return shown(screen, { top });
}

function chosen(screen: PlanScreen, { orders, plans }: PlanFacts): PlanStep {
  if (screen.view !== 'orders' || !orders) return shown(screen, { isAsking: true });
  const wanted = orders[screen.order]!.order;
  if (plans[screen.selected]!.plan.ordered.order === wanted)
    return shown(screen, { notice: 'The plan is in this order already.' });
  return {
    screen: { ...screen, notice: null, view: 'table', top: 0 },
    deeds: [{ kind: 'reorder', plan: screen.selected, order: wanted }],
  };
}

function reduceAsking(screen: PlanScreen, intent: PlanIntent): PlanStep {
  if (intent.kind === 'yes' || intent.kind === 'choose') {
    return {
      screen: { ...screen, isAsking: false, isLeaving: true },
      deeds: [{ kind: 'adopt', plan: screen.selected }],
    };
  }
  return shown(screen, { isAsking: false });
}
