import { modelChange, type ResponseFit, type SetPoints } from '@strandwise/core';
import { type Line, line, span } from '../../terminal/line.ts';
import { decimalsFor, figures, pValue } from '../../terminal/number.ts';
import type { Theme } from '../../theme.ts';
import { told } from '../../wording/told.ts';
import type { ScreenSize } from '../frame.ts';
import type { AnalyseFacts, AnalyseScreen, OfferedTerm } from './screen.ts';

/** The terms that can stand in the model, those that do with their estimates, and what trying did. */
export function modelLines(
  screen: AnalyseScreen,
  facts: AnalyseFacts,
  { columns, rows }: ScreenSize,
  theme: Theme,
): Line[] {
  const fit = facts.result.responses[screen.response]!;
  const below = changeText(fit, facts, columns, theme);
  const room = Math.max(3, rows - below.length - 2);
  const first = Math.max(
    0,
    Math.min(screen.term - Math.floor(room / 2), facts.offered.length - room),
  );
  const shown = facts.offered.slice(first, first + room);
  const longest = Math.max(4, ...facts.offered.map(({ name }) => [...name].length));
  const width = Math.min(24, longest, columns - 28);
  const isNarrow = columns < 60;
  const head = `     ${'term'.padEnd(width + 4)}${'estimate'.padStart(10)} ${isNarrow ? '' : '± error'.padStart(9)}  p`;
  const more = facts.offered.length > room ? ` (${facts.offered.length} terms)` : '';
  return [
    line(`${head}${isNarrow ? '' : more}`, 'quiet'),
    ...shown.map((term, i) =>
      termLine(term, fit, { isAt: first + i === screen.term, width, isNarrow, theme }),
    ),
    line(),
    ...below,
  ];
}

interface TermLook {
  readonly isAt: boolean;
  readonly width: number;
  readonly isNarrow: boolean;
  readonly theme: Theme;
}

function termLine(term: OfferedTerm, fit: ResponseFit, look: TermLook): Line {
  const { isAt, width, isNarrow, theme } = look;
  const pointer = isAt ? (theme.isUnicode ? '▸' : '>') : ' ';
  const mark = term.isIn ? `[${theme.isUnicode ? '×' : 'x'}]` : '[ ]';
  const name =
    [...term.name].length > width ? `${[...term.name].slice(0, width - 1).join('')}…` : term.name;
  const text = term.isIn ? estimateText(term, fit, isNarrow) : '';
  return [
    span(`  ${pointer} `, 'strong'),
    span(`${mark} ${name.padEnd(width)}`, term.isIn ? 'strong' : 'quiet'),
    span(text),
  ];
}

/** A numeric term by itself; a factor with named levels by its joint test. */
function estimateText({ name, powers }: OfferedTerm, fit: ResponseFit, isNarrow: boolean): string {
  const own = fit.terms.find((term) => term.name === name);
  if (own) {
    const { estimate, standardError, p } = own;
    const isJudged = p !== null && standardError !== null && standardError > 0;
    const decimals = isJudged ? decimalsFor(standardError) : 3;
    const value = isJudged ? estimate.toFixed(decimals) : figures(estimate, 4);
    const error = isNarrow ? '' : (isJudged ? standardError.toFixed(decimals) : '').padStart(9);
    return `${value.padStart(10)} ${error}  ${pValue(p)}`;
  }
  const joint = fit.sourceTests.find(({ source }) => source === name);
  if (joint)
    return `${`${powers.length} levels`.padStart(10)} ${isNarrow ? '' : ''.padStart(9)}  ${pValue(joint.p)}`;
  return '  cannot be estimated';
}

/** The figures of the fit; of a model tried, beside those of the model in use. */
function changeText(fit: ResponseFit, facts: AnalyseFacts, columns: number, theme: Theme): Line[] {
  const { before, models, kept } = facts;
  const old = before.responses.find(({ name }) => name === fit.name);
  const isTried = models[fit.name] !== kept[fit.name];
  if (!isTried || !old)
    return [
      ...told(figureWords(fit), columns),
      ...(fit.alternatives ? told(fit.alternatives.says, columns) : []),
    ];
  const { says } = modelChange(old, fit);
  return [
    ...comparedLines(comparedRows(old, fit, facts, theme), columns),
    ...told(`Tried, not recorded: ${says.join(' ')}`, columns, { role: 'changed' }),
  ];
}

function figureWords(fit: ResponseFit): string {
  return [
    fit.aicc === null ? null : `AICc ${fit.aicc.toFixed(1)}`,
    fit.residualSd === null ? null : `residual SD ${figures(fit.residualSd)}`,
    fit.predictiveRSquared === null ? null : `predictive R² ${figures(fit.predictiveRSquared, 2)}`,
    fit.dfResidual === null ? null : `${fit.dfResidual} df left`,
  ]
    .filter((text) => text !== null)
    .join(', ');
}

interface Compared {
  readonly name: string;
  readonly before: string;
  readonly now: string;
}

/** What an analyst weighs when a term goes in or out: how well it foretells, and what is recommended. */
function comparedRows(
  old: ResponseFit,
  fit: ResponseFit,
  { window, windowBefore }: AnalyseFacts,
  theme: Theme,
): Compared[] {
  const pair = (name: string, of: (each: ResponseFit) => string | null): Compared[] => {
    const [before, now] = [of(old), of(fit)];
    return before === null && now === null
      ? []
      : [{ name, before: before ?? '—', now: now ?? '—' }];
  };
  const share = (value: number | null): string | null => (value === null ? null : value.toFixed(2));
  return [
    ...pair('predictive R²', ({ predictiveRSquared }) => share(predictiveRSquared)),
    ...pair('AICc', ({ aicc }) => (aicc === null ? null : aicc.toFixed(1))),
    {
      name: 'chance to conform',
      before: chanceText(windowBefore),
      now: chanceText(window),
    },
    {
      name: 'recommended zones',
      before: placeText(windowBefore, (at) => zonesText(at, theme)),
      now: placeText(window, (at) => zonesText(at, theme)),
    },
    {
      name: 'screw, fan',
      before: placeText(windowBefore, otherText),
      now: placeText(window, otherText),
    },
  ];
}

const chanceText = (window: AnalyseFacts['window']): string => {
  if (window.kind === 'working') return '…';
  const found = window.value;
  if (found.kind !== 'found' && found.kind !== 'nowhere acceptable') return 'none';
  return found.chance?.says ?? found.probability?.toFixed(2) ?? 'not known';
};

function placeText(window: AnalyseFacts['window'], of: (setPoints: SetPoints) => string): string {
  if (window.kind === 'working') return '…';
  const found = window.value;
  return found.kind === 'found' || found.kind === 'nowhere acceptable'
    ? of(found.setPoints)
    : 'none';
}

const zonesText = ({ zonesCelsius }: SetPoints, { isUnicode }: Theme): string =>
  `${zonesCelsius.join(isUnicode ? '·' : '/')} °C`;

const otherText = ({ screwRpm, fanPercent, other }: SetPoints): string =>
  [`${screwRpm} rpm`, `${fanPercent} %`, ...Object.values(other)].join(', ');

/** Before and now in columns; under each other where the terminal is narrow. */
function comparedLines(rows: readonly Compared[], columns: number): Line[] {
  const name = Math.max(...rows.map((row) => [...row.name].length));
  const before = Math.max(8, ...rows.map((row) => [...row.before].length));
  const now = Math.max(3, ...rows.map((row) => [...row.now].length));
  if (3 + name + 2 + before + 2 + now > columns)
    return rows.flatMap((row) => told(`${row.name}: ${row.before}, now ${row.now}`, columns));
  return [
    line(`   ${''.padEnd(name)}  ${'in use'.padEnd(before)}  as tried`, 'quiet'),
    ...rows.map(
      (row): Line => [
        span(`   ${row.name.padEnd(name)}  ${row.before.padEnd(before)}  `),
        span(row.now, row.now === row.before ? 'plain' : 'changed'),
      ],
    ),
  ];
}
