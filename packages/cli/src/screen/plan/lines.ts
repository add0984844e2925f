import type { ComparisonRow, NamedPlan } from '@strandwise/core';
import { cutLine, ends, type Line, line, span, wrapped } from '../../terminal/line.ts';
import type { Theme } from '../../theme.ts';
import { runTableLines } from '../../wording/plan-text.ts';
import { assumedWords, rowLabel, rowValue } from '../../wording/plan-word.ts';
import {
  curves,
  doubtBody,
  keyLines,
  orderLines,
  type PlanSize,
  planLetter,
  slices,
} from './detail-lines.ts';
import { openingPlanScreen, type PlanFacts, type PlanScreen } from './state.ts';

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
