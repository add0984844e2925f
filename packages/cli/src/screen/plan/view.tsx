import {
  assessedPlan,
  type NamedPlan,
  type OrderRow,
  orderTable,
  type PlanBudget,
  planComparison,
  planWith,
} from '@strandwise/core';
import { useApp } from 'ink';
import { useEffect, useMemo, useRef, useState } from 'react';
import type { Theme } from '../../theme.ts';
import { useSinglePresses } from '../key-press.ts';
import { LinesView } from '../lines-view.tsx';
import { useWindowSize } from '../window-size.ts';
import { planIntent } from './keys.ts';
import { planLineCount, planLines } from './lines.ts';
import {
  openingPlanScreen,
  type PlanDeed,
  type PlanFacts,
  type PlanScreen,
  reducePlan,
} from './state.ts';

export interface PlanViewProps {
  readonly title: string;
  readonly plans: readonly NamedPlan[];
  readonly budget: PlanBudget;
  readonly theme: Theme;
  /** Records the plan in the study; what fails is told on the screen. */
  readonly adopt: (plan: NamedPlan) => void;
}

/** Plans beside each other, one to choose. */
export function PlanComparisonView({ title, plans: given, budget, theme, adopt }: PlanViewProps) {
  const app = useApp();
  const window = useWindowSize();
  const size = { ...window, rows: window.rows - 1 };
  const [screen, setScreen] = useState(openingPlanScreen);
  // Several keys may come before the next drawing; each acts on what the one before left.
  const latest = useRef(screen);
  const show = (next: PlanScreen): void => {
    latest.current = next;
    setScreen(next);
  };
  const [plans, setPlans] = useState(given);
  const comparison = useMemo(() => planComparison(plans, budget), [plans, budget]);
  const orders = useOrders(plans[screen.selected]!, screen.view === 'orders');
  const known = { title, plans, comparison, orders };
  const facts: PlanFacts = { ...known, lineCount: planLineCount(screen, known, size, theme) };

  const performed = (deed: PlanDeed): string | null => {
    const plan = plans[deed.plan]!;
    if (deed.kind === 'reorder') {
      const request = { ...plan.plan.request, order: deed.order };
      const ordered = planWith(request, plan.plan.design);
      const next = { name: plan.name, ...assessedPlan(ordered, plan.properties.change) };
      setPlans(plans.map((old, i) => (i === deed.plan ? next : old)));
      return null;
    }
    try {
      adopt(plan);
      return null;
    } catch (error) {
      return (error as Error).message;
    }
  };

  useSinglePresses(({ input, key }) => {
    const arrow = key.upArrow
      ? 'up'
      : key.downArrow
        ? 'down'
        : key.leftArrow
          ? 'left'
          : key.rightArrow
            ? 'right'
            : null;
    const intent = planIntent(latest.current, {
      input,
      isReturn: key.return,
      isEscape: key.escape,
      isControl: key.ctrl,
      arrow,
      page: key.pageUp ? -1 : key.pageDown ? 1 : 0,
    });
    if (intent === null) return;
    const step = reducePlan(latest.current, intent, facts);
    const notices = step.deeds.map(performed).filter((notice) => notice !== null);
    if (notices[0] !== undefined) {
      show({ ...latest.current, isAsking: false, notice: notices[0] });
      return;
    }
    show(step.screen);
    if (step.screen.isLeaving) app.exit();
  });

  return <LinesView lines={planLines(screen, facts, size, theme)} theme={theme} />;
}

/** Orders of the selected plan, worked out once they are looked at and after the screen says so. */
function useOrders(plan: NamedPlan, isWanted: boolean): readonly OrderRow[] | null {
  const [known, setKnown] = useState<{ of: NamedPlan; rows: OrderRow[] } | null>(null);
  useEffect(() => {
    if (!isWanted || known?.of === plan) return;
    const timer = setTimeout(() => setKnown({ of: plan, rows: orderTable(plan) }), 20);
    return () => clearTimeout(timer);
  }, [plan, isWanted, known]);
  return known?.of === plan ? known.rows : null;
}
