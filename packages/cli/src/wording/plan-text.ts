import {
  type AssessedPlan,
  describeFraction,
  type Factor,
  fractionFacts,
  type OrderRow,
  type Plan,
  type PlannedRun,
  type PlannedTerm,
  type PlanProperties,
  pointKinds,
} from '@strandwise/core';
import { chartLines } from '../terminal/chart.ts';
import { painted, wrapped } from '../terminal/line.ts';
import { figures } from '../terminal/number.ts';
import type { Theme } from '../theme.ts';
import { assumedWords, chance, dfWords, lossWords, orderWords } from './plan-word.ts';

const WIDTH = 78;

/** A plan as text: what it is, what it costs, what it can tell, then one line a cell. */
export function planText({ plan, properties }: AssessedPlan, theme: Theme): string {
  const { request, design, ordered } = plan;
  return [
    theme.paint('strong', planHead(plan, properties)),
    `  order ${ordered.order}, seed ${request.seed}`,
    ...costLines(properties),
    ...[...new Set([...fractionWords(plan), ...properties.notes])].flatMap((note) =>
      wrapped(note, WIDTH, 2),
    ),
    '',
    ...powerLines(properties, theme),
    '',
    ...structureLines(properties),
    '',
    ...curveText(properties, theme),
    ...doubtLines(properties, theme),
    '',
    ...runTableLines(ordered.runs, design.factors, properties.underFlushed),
  ].join('\n');
}

/** One line: family, cells by kind, zone settings. */
export function planHead(
  { design, ordered, request }: Plan,
  { zoneSettings }: PlanProperties,
): string {
  const kinds = [...pointKinds(ordered.runs)].map(([kind, count]) => `${count} ${kind}`).join(', ');
  const what = request.surroundings ? 'zone settings' : 'whole plots';
  const settings = zoneSettings === null ? '' : `, ${zoneSettings} ${what}`;
  return `${design.family}, ${ordered.runs.length} cells (${kinds})${settings}`;
}

function costLines({ hours, holdHours, grams, spools, shifts, holds }: PlanProperties): string[] {
  if (hours === null) return [];
  return [
    `  ${hours.toFixed(1)} h, of which holds ${holdHours!.toFixed(1)} h (${holds} waits); ${shifts} ${shifts === 1 ? 'shift' : 'shifts'} of 8 h`,
    `  ${Math.round(grams ?? 0)} g of resin, ${spools} ${spools === 1 ? 'spool' : 'spools'}`,
  ];
}

/** Facts of a fraction, which its notes may hold already. */
const fractionWords = ({ design }: Plan): readonly string[] =>
  design.family.includes('factorial') ? describeFraction(fractionFacts(design)) : [];

function powerLines({ change, terms, namedFactors }: PlanProperties, theme: Theme): string[] {
  const told = terms.filter(({ powers }) => Object.keys(powers).length > 0);
  const width = Math.max(6, ...told.map(({ name }) => name.length));
  return [
    theme.paint('strong', 'CHANCE TO SEE'),
    `  ${assumedWords(change)}`,
    `  ${'term'.padEnd(width)}       chance  std. error  inflation  error df`,
    ...told.map((term) => termLine(term, width)),
    ...namedFactors.map(
      ({ factor, power }) =>
        `  ${factor}, all levels together: ${chance(power)} for the two levels seen worst`,
    ),
  ];
}

function termLine(term: PlannedTerm, width: number): string {
  const { name, power, standardError, varianceInflation, df, judgedBetween } = term;
  if (standardError === null) return `  ${name.padEnd(width)}  cannot tell`;
  const place = judgedBetween === 'cells' ? '' : ` between ${judgedBetween}`;
  const cells = [
    chance(power).padStart(11),
    standardError.toFixed(3).padStart(10),
    (varianceInflation === null ? '' : figures(varianceInflation)).padStart(9),
    `${df}${place}`.padStart(8),
  ];
  return `  ${name.padEnd(width)}  ${cells.join('  ')}`.trimEnd();
}

function structureLines(properties: PlanProperties): string[] {
  const { efficiencies, correlations, aliases, leverages, averageError, fractionOfRegion } =
    properties;
  const percent = (value: number | null): string =>
    value === null ? 'none' : `${value.toFixed(1)} %`;
  const { d, a, i, g } = efficiencies;
  const pairs = correlations
    .slice(0, 4)
    .map(({ first, second, correlation }) => `${first} and ${second} ${correlation.toFixed(2)}`);
  const shares = aliases
    .slice(0, 6)
    .map(({ term, leftOut, share }) => `${term} carries ${share.toFixed(2)} × ${leftOut}`);
  const more = (shown: readonly string[], all: readonly unknown[]): string =>
    all.length > shown.length ? `, and ${all.length - shown.length} more` : '';
  return [
    `error df       ${dfWords(properties)}`,
    `efficiencies   D ${percent(d)}, A ${percent(a)}, I ${percent(i)}, G ${percent(g)}`,
    '               of all coefficients together, of their mean variance, of the average and',
    '               of the worst prediction; orthogonal columns of ±1 have D and A 100 %',
    `prediction     standard error ${averageError.toFixed(2)} × cell SD on average, ${fractionOfRegion.standardErrors.at(-1)!.toFixed(2)} at worst`,
    `leverage       largest ${Math.max(...leverages).toFixed(2)}, mean ${(leverages.reduce((sum, value) => sum + value, 0) / leverages.length).toFixed(2)}`,
    `worst loss     ${lossWords(properties)}`,
    ...headed(
      'correlated',
      pairs.length === 0
        ? 'no pair of terms by 0.3 or more'
        : `${pairs.join('; ')}${more(pairs, correlations)}`,
    ),
    ...headed(
      'left out',
      shares.length === 0
        ? 'no term left out leaks into the estimates'
        : `${shares.join('; ')}${more(shares, aliases)}`,
    ),
  ];
}

function headed(head: string, text: string): string[] {
  return wrapped(text, WIDTH, 15).map((row, i) =>
    i === 0 ? head.padEnd(15) + row.slice(15) : row,
  );
}

/** The fraction-of-region curve of one plan. */
function curveText({ fractionOfRegion }: PlanProperties, theme: Theme): string[] {
  return [
    theme.paint('strong', 'ERROR OF PREDICTION OVER THE REGION, × cell SD'),
    painted(
      chartLines(
        [{ mark: theme.isUnicode ? '•' : 'o', values: fractionOfRegion.standardErrors }],
        { width: 60, height: 7 },
        { left: '0 %', right: '100 %', below: 'share of the region', decimals: 2 },
        theme,
      ),
      theme,
    ),
    '',
  ];
}

function doubtLines({ cannotTell }: PlanProperties, theme: Theme): string[] {
  if (cannotTell.length === 0) return ['Nothing that was asked is out of its reach.'];
  return [
    theme.paint('strong', 'CANNOT TELL'),
    ...cannotTell.flatMap(({ words }) => wrapped(words, WIDTH, 2)),
  ];
}

/** One line a cell: run order, plot, settings, set points, hold. */
export function runTableLines(
  runs: readonly PlannedRun[],
  factors: readonly Factor[],
  underFlushed: readonly number[] = [],
): string[] {
  const heads = [
    'cell',
    'block',
    'setting',
    ...factors.map(({ name }) => name),
    'zones °C',
    'hold min',
    '',
  ];
  const blocks = new Set(runs.map(({ block }) => block)).size;
  const rows = runs.map((run) => [
    String(run.runOrder),
    blocks === 1 ? '' : String(run.block),
    run.wholePlot === null ? '' : String(run.wholePlot),
    ...factors.map(({ name }) => settingText(run.natural[name])),
    run.setPoints ? run.setPoints.zonesCelsius.join(' ') : '',
    run.holdSeconds === null ? '' : (run.holdSeconds / 60).toFixed(0),
    underFlushed.includes(run.runOrder) ? 'under-flushed' : '',
  ]);
  return tableLines(heads, rows);
}

/** Columns set right, empty ones left out. */
export function tableLines(
  heads: readonly string[],
  rows: readonly (readonly string[])[],
): string[] {
  const used = heads.map((_, i) => rows.some((row) => row[i] !== ''));
  const widths = heads.map((head, i) =>
    Math.max(head.length, ...rows.map((row) => row[i]!.length)),
  );
  const line = (cells: readonly string[]): string =>
    `  ${cells.flatMap((cell, i) => (used[i] ? [cell.padStart(widths[i]!)] : [])).join('  ')}`.trimEnd();
  return [line(heads), ...rows.map(line)];
}

const settingText = (value: number | string | undefined): string =>
  typeof value === 'number' ? String(Number(value.toFixed(2))) : (value ?? '');

/** Every order of one plan: hours against power and drift. */
export function orderTableText(rows: readonly OrderRow[]): string {
  const number = (value: number | null, digits = 0): string =>
    value === null ? '–' : value.toFixed(digits);
  const body = rows.map((row) => [
    orderWords[row.order],
    number(row.hours, 1),
    row.zoneSettings === null ? 'each cell' : String(row.zoneSettings),
    chance(row.hardPower),
    chance(row.otherPower),
    `${number(row.hardDf)} / ${number(row.otherDf)}`,
    `${row.drift.toFixed(2)} ${row.driftFactor}`,
  ]);
  const heads = ['order', 'hours', 'resets', 'hard', 'other', 'error df', 'follows time'];
  return [
    'The same cells in each order. Chance: to see the stated change in a main effect, the worst of',
    'the hard factors and of the others. Follows time: largest correlation with a drift.',
    '',
    ...tableLines(heads, body),
    '',
    'Fewest hours leaves settings together that a random order would separate: accept it only if',
    'the line does not drift.',
  ].join('\n');
}
