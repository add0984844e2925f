import type { NamedPlan } from '@strandwise/core';
import { chartLines } from '../../terminal/chart.ts';
import { type Line, line, span, wrapped } from '../../terminal/line.ts';
import type { Theme } from '../../theme.ts';
import { chance, orderWords } from '../../wording/plan-word.ts';
import type { PlanFacts, PlanScreen } from './state.ts';

export interface PlanSize {
  readonly columns: number;
  readonly rows: number;
}

export const planLetter = (i: number): string => 'ABCD'[i] ?? '?';

export function curves({ plans }: PlanFacts, { columns, rows }: PlanSize, theme: Theme): Line[] {
  return chartLines(
    plans.map(({ properties }, i) => ({
      mark: planLetter(i),
      values: properties.fractionOfRegion.standardErrors,
    })),
    { width: columns - 4, height: Math.max(6, rows - 4) },
    { left: '0 %', right: '100 %', below: 'share of the region', decimals: 2 },
    theme,
  );
}

export function slices(
  { factor, selected }: PlanScreen,
  { plans }: PlanFacts,
  { columns, rows }: PlanSize,
  theme: Theme,
): Line[] {
  const own = plans[selected]!.properties.slices[factor]!;
  const chosen = plans[selected]!.plan.request.factors[factor]!;
  const unit = 'unit' in chosen && chosen.unit ? ` ${chosen.unit}` : '';
  const end = (at: number): string => {
    const value = own.settings.at(at)!;
    return typeof value === 'number' ? `${Number(value.toFixed(2))}${unit}` : value;
  };
  return chartLines(
    plans.map(({ properties }, i) => ({
      mark: planLetter(i),
      values: properties.slices[factor]!.standardErrors,
    })),
    { width: columns - 4, height: Math.max(6, rows - 4) },
    { left: end(0), right: end(-1), below: own.factor, decimals: 2 },
    theme,
  );
}

export function orderLines(
  screen: PlanScreen,
  { orders, plans }: PlanFacts,
  columns: number,
): Line[] {
  if (!orders) return [line('   Ordering…', 'quiet')];
  const now = plans[screen.selected]!.plan.ordered.order;
  const number = (value: number | null, digits: number): string =>
    value === null ? '–' : value.toFixed(digits);
  const heads = ['hours', 'resets', 'hard', 'other', 'follows time'];
  const widths = [7, 9, 9, 9, 16];
  const wide = (cells: readonly string[]): string =>
    cells.map((cell, i) => cell.padStart(widths[i]!)).join('');
  return [
    line(`   ${''.padEnd(24)}${wide(heads)}`, 'quiet'),
    ...orders.map((row, i): Line => {
      const mark = i === screen.order ? '>' : ' ';
      const cells = [
        number(row.hours, 1),
        row.zoneSettings === null ? 'each' : String(row.zoneSettings),
        chance(row.hardPower).replace('cannot tell', 'none'),
        chance(row.otherPower).replace('cannot tell', 'none'),
        `${row.drift.toFixed(2)} ${row.driftFactor}`,
      ];
      const name = `${row.order === now ? '*' : ' '} ${orderWords[row.order]}`;
      return [
        span(` ${mark} ${name.padEnd(26)}`.slice(0, 27), i === screen.order ? 'changed' : 'plain'),
        span(wide(cells), i === screen.order ? 'strong' : 'plain'),
      ];
    }),
    line(),
    line('   * as the plan stands now', 'quiet'),
    ...wrapped(
      'Hard and other: the worst chance to see the stated change in a main effect of a hard factor, and of the others. Follows time: the largest correlation of a factor with a drift.',
      columns - 4,
      3,
    ).map((text) => line(text, 'quiet')),
    ...wrapped(
      'Fewest hours keeps settings together that a random order would part: take it only where the line does not drift.',
      columns - 4,
      3,
    ).map((text) => line(text, 'quiet')),
  ];
}

export function doubtBody({ properties, plan }: NamedPlan, columns: number): Line[] {
  const { cannotTell, notes } = properties;
  const doubts =
    cannotTell.length === 0
      ? [line('   Nothing that was asked is out of its reach.', 'good')]
      : cannotTell.flatMap(({ words }) =>
          wrapped(words, columns - 4, 3).map((text, i) => line(i === 0 ? text : text)),
        );
  return [
    ...doubts,
    line(),
    line(`   NOTES OF THE PLAN, seed ${plan.request.seed}`, 'strong'),
    ...[...new Set(notes)].flatMap((note) =>
      wrapped(note, columns - 4, 3).map((text) => line(text, 'quiet')),
    ),
  ];
}

export function keyLines(): Line[] {
  const keys: readonly (readonly [string, string])[] = [
    ['← →', 'another plan (on slices: another factor); 1 to 4 pick one'],
    ['↑ ↓', 'scroll; page keys go faster'],
    ['enter', 'choose the plan in brackets, or the order under the cursor'],
    ['p', 'error of prediction over the region'],
    ['s', 'error of prediction along one factor'],
    ['o', 'the plan in other orders: hours, chance, drift'],
    ['r', 'its cells in the order to run them'],
    ['t', 'what it cannot tell, in words'],
    ['esc', 'back to the table'],
    ['q', 'leave without choosing'],
  ];
  return keys.map(([key, says]): Line => [span(`     ${key.padEnd(8)}`, 'strong'), span(says)]);
}
