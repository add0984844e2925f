import type { ComparisonRow, NamedPlan } from '@strandwise/core';
import { chartLines } from '../../terminal/chart.ts';
import { cutLine, ends, type Line, line, span, wrapped } from '../../terminal/line.ts';
import type { Theme } from '../../theme.ts';
import { runTableLines } from '../../wording/plan-text.ts';
import { assumedWords, chance, orderWords, rowLabel, rowValue } from '../../wording/plan-word.ts';
import { openingPlanScreen, type PlanFacts, type PlanScreen } from './state.ts';

export interface PlanSize {
  readonly columns: number;
  readonly rows: number;
}

/** The planning screen as lines, exactly as many as fit. */
export function planLines(
  screen: PlanScreen,
  facts: PlanFacts,
  size: PlanSize,
  theme: Theme,
): Line[] {
  const { columns } = size;
  const rule = line(theme.glyphs.rule.repeat(columns), 'quiet');
  const fixed = fixedLines(screen, facts, columns, theme);
  const foot = footLines(screen, facts, columns);
  const notice = screen.notice === null ? [] : [line(` ${screen.notice}`, 'warning')];
  const room = Math.max(1, size.rows - 3 - fixed.length - foot.length - notice.length);
  const body = scrollingLines(screen, facts, { columns, rows: room }, theme);
  const top = Math.min(screen.top, Math.max(0, body.length - room));
  const shown = body.slice(top, top + room);
  const blank = Array.from({ length: Math.max(0, room - shown.length) }, () => line());
  const left = body.length - top - shown.length;
  const more = left > 0 ? `${left} more lines below ` : '';
  const head = ends(
    [span(` plan · ${facts.title} · ${facts.plans.length} beside each other`, 'strong')],
    [span(more, 'quiet')],
    columns,
    theme,
  );
  return [head, rule, ...fixed, ...shown, ...blank, ...notice, rule, ...foot].map((spans) =>
    cutLine(spans, columns, theme),
  );
}

/** Lines that a view would show with no end of room: how far it scrolls. */
export const planLineCount = (
  screen: PlanScreen,
  facts: Omit<PlanFacts, 'lineCount'>,
  size: PlanSize,
  theme: Theme,
): number => scrollingLines(screen, { ...facts, lineCount: 0 }, size, theme).length;

/** The table with every line, none selected, and what each plan cannot tell: for print. */
export function comparisonLines(facts: Omit<PlanFacts, 'lineCount'>, columns: number): Line[] {
  const screen: PlanScreen = { ...openingPlanScreen, selected: -1 };
  const whole: PlanFacts = { ...facts, lineCount: 0 };
  return [
    ...columnHeads(screen, whole, columns),
    ...tableBody(screen, whole, columns),
    line(),
    ...facts.plans.flatMap(({ properties }, i) => {
      const doubts = properties.cannotTell.map(({ words }) => words).join(' ');
      const text = doubts === '' ? 'nothing asked is out of its reach' : doubts;
      return wrapped(`${planLetter(i)} cannot tell: ${text}`, columns - 2, 1).map((part) =>
        line(part),
      );
    }),
  ];
}

export const planLetter = (i: number): string => 'ABCD'[i] ?? '?';

function labelWidth(columns: number, plans: number): number {
  return Math.max(20, Math.min(40, columns - 11 * plans - 2));
}

/** Heads of the columns; the selected plan stands in brackets. */
function columnHeads(screen: PlanScreen, { plans }: PlanFacts, columns: number): Line[] {
  const label = labelWidth(columns, plans.length);
  const width = Math.min(22, Math.floor((columns - label - 1) / plans.length));
  const cell = (text: string): string =>
    [...text]
      .slice(0, width - 1)
      .join('')
      .padStart(width);
  const letters = plans.map((_, i) =>
    span(
      cell(i === screen.selected ? `[${planLetter(i)}]` : ` ${planLetter(i)} `),
      i === screen.selected ? 'changed' : 'strong',
    ),
  );
  return [
    [span(''.padEnd(label)), ...letters],
    ...nameRows(plans, width).map(
      (names): Line => [
        span(''.padEnd(label)),
        ...names.map((name, i) => span(cell(name), i === screen.selected ? 'changed' : 'quiet')),
      ],
    ),
  ];
}

/** Names broken over as many rows as the longest needs, three at most. */
function nameRows(plans: readonly NamedPlan[], width: number): string[][] {
  const broken = plans.map(({ name }) => wrapped(name, width - 1).slice(0, 3));
  const rows = Math.max(...broken.map(({ length }) => length));
  return Array.from({ length: rows }, (_, r) => broken.map((parts) => parts[r] ?? ''));
}

function fixedLines(screen: PlanScreen, facts: PlanFacts, columns: number, theme: Theme): Line[] {
  const { plans } = facts;
  const plan = plans[screen.selected]!;
  const title = `${planLetter(screen.selected)}  ${plan.name}`;
  switch (screen.view) {
    case 'table':
      return columnHeads(screen, facts, columns);
    case 'curve':
      return [
        line('   ERROR OF PREDICTION OVER THE REGION, × cell SD', 'strong'),
        ...legend(plans, columns),
      ];
    case 'slice': {
      const factor = plan.properties.slices[screen.factor]!;
      return [
        line(
          `   ERROR OF PREDICTION ALONG ${factor.factor.toUpperCase()}, the others at centre, × cell SD`,
          'strong',
        ),
        ...legend(plans, columns),
      ];
    }
    case 'orders':
      return [line(`   ORDERS OF  ${title}`, 'strong'), line()];
    case 'cells':
      return [line(`   CELLS OF  ${title}`, 'strong'), line()];
    case 'doubts':
      return [line(`   WHAT IT CANNOT TELL:  ${title}`, 'strong'), line()];
    case 'keys':
      return [line('   KEYS', 'strong'), cutLine(line(), columns, theme)];
  }
}

const legend = (plans: readonly NamedPlan[], columns: number): Line[] =>
  wrapped(plans.map(({ name }, i) => `${planLetter(i)} ${name}`).join(' · '), columns - 4, 3).map(
    (text) => line(text, 'quiet'),
  );

function scrollingLines(
  screen: PlanScreen,
  facts: PlanFacts,
  size: PlanSize,
  theme: Theme,
): Line[] {
  const plan = facts.plans[screen.selected]!;
  const { columns } = size;
  switch (screen.view) {
    case 'table':
      return tableBody(screen, facts, columns);
    case 'curve':
      return curves(facts, size, theme);
    case 'slice':
      return slices(screen, facts, size, theme);
    case 'orders':
      return orderLines(screen, facts, columns);
    case 'cells':
      return runTableLines(
        plan.plan.ordered.runs,
        plan.plan.request.factors,
        plan.properties.underFlushed,
      ).map((text) => line(` ${text}`));
    case 'doubts':
      return doubtBody(plan, columns);
    case 'keys':
      return keyLines();
  }
}

function tableBody(screen: PlanScreen, facts: PlanFacts, columns: number): Line[] {
  const { comparison, plans } = facts;
  const differing = comparison.rows.filter(({ differs, key }) => differs && key !== 'cannotTell');
  const same = comparison.rows.filter(({ differs, key }) => !differs && key !== 'cannotTell');
  const drawn = (row: ComparisonRow): Line => rowLine(row, screen, facts, columns);
  const body: Line[] = [...budgetLine(facts, columns)];
  let heading = '';
  for (const row of differing) {
    const head = row.group === 'power' ? 'power' : '';
    if (head === 'power' && heading !== 'power')
      body.push(
        ...wrapped(
          `chance to see ${assumedWords(plans[0]!.properties.change)}`,
          columns - 2,
          1,
        ).map((text) => line(text, 'strong')),
      );
    heading = head;
    body.push(drawn(row));
  }
  for (const text of comparison.says) {
    body.push(line(), ...wrapped(text, columns - 2, 1).map((part) => line(part, 'good')));
  }
  if (same.length > 0) {
    body.push(line(), line(plans.length > 1 ? ' the same for all' : '', 'strong'));
    body.push(...same.map(drawn));
  }
  return body;
}

function budgetLine({ comparison, plans }: PlanFacts, columns: number): Line[] {
  const { budget, fits } = comparison;
  if (fits.every((fit) => fit === null)) return [];
  const label = labelWidth(columns, plans.length);
  const width = Math.min(22, Math.floor((columns - label - 1) / plans.length));
  const limit = [
    ...(budget.hours === undefined ? [] : [`${budget.hours} h`]),
    ...(budget.grams === undefined ? [] : [`${budget.grams} g`]),
  ].join(', ');
  return [
    [
      span(` fits ${limit}`.padEnd(label)),
      ...fits.map((fit) =>
        span(
          (fit === null ? '–' : fit ? 'yes' : 'no').padStart(width),
          fit === false ? 'warning' : 'good',
        ),
      ),
    ],
  ];
}

function rowLine(
  row: ComparisonRow,
  { selected }: PlanScreen,
  { plans }: PlanFacts,
  columns: number,
): Line {
  const label = labelWidth(columns, plans.length);
  const width = Math.min(22, Math.floor((columns - label - 1) / plans.length));
  const indent = row.group === 'power' || row.key === 'holdHours' || row.key === 'pureDf' ? 3 : 1;
  const text = [...`${' '.repeat(indent)}${rowLabel(row)}`].slice(0, label - 1).join('');
  return [
    span(text.padEnd(label)),
    ...plans.map((_, i) => {
      const value = rowValue(row, i).replace('cannot tell', 'not told');
      const cut = [...value].slice(0, width - 1).join('');
      return span(cut.padStart(width), i === selected ? 'strong' : 'plain');
    }),
  ];
}

function curves({ plans }: PlanFacts, { columns, rows }: PlanSize, theme: Theme): Line[] {
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

function slices(
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

function orderLines(screen: PlanScreen, { orders, plans }: PlanFacts, columns: number): Line[] {
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

function doubtBody({ properties, plan }: NamedPlan, columns: number): Line[] {
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

function keyLines(): Line[] {
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

function footLines(screen: PlanScreen, { plans }: PlanFacts, columns: number): Line[] {
  const name = plans[screen.selected]!.name;
  if (screen.isAsking) {
    return [
      line(` Take ${planLetter(screen.selected)} (${name}) as the plan of this study?`, 'strong'),
      line(' y yes    n no'),
    ];
  }
  if (screen.view === 'keys') return [line(' any key back'), line()];
  const enter =
    screen.view === 'orders' ? 'take this order' : `choose ${planLetter(screen.selected)}`;
  const arrows = screen.view === 'slice' ? '← → factor' : '← → plan';
  if (columns < 60) return [line(` ${arrows}  enter ${enter}  ? keys`), line(' q leave')];
  return [
    line(` ${arrows}    ↑ ↓ scroll    enter ${enter}    q leave`),
    line(' p prediction    s slices    o orders    r cells    t cannot tell    ? all keys'),
  ];
}
