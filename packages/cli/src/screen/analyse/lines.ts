import { type ResponseFit, scaleName } from '@strandwise/core';
import { type Line, line, span } from '../../terminal/line.ts';
import type { Theme } from '../../theme.ts';
import { checkLines } from '../../wording/check-lines.ts';
import { cannotSayLines, mattersLines } from '../../wording/fit-text.ts';
import { cellLines, nextLines } from '../../wording/next-lines.ts';
import { lenthLines, twoStageLines } from '../../wording/screening-lines.ts';
import { sensitivityLines } from '../../wording/sensitivity-lines.ts';
import { told } from '../../wording/told.ts';
import { framed, keyLines, type ScreenSize, scrolled } from '../frame.ts';
import { footKeys, helpKeys, isOfAll, screenKeys } from './keys.ts';
import { modelLines } from './model-lines.ts';
import { residualLines } from './residual-lines.ts';
import type { AnalyseFacts, AnalyseScreen } from './screen.ts';
import { shareLines } from './share-lines.ts';
import { surfaceLines } from './surface-lines.ts';
import { tradeLines } from './trade-lines.ts';
import { windowScreenLines } from './window-screen-lines.ts';

/** The analyst's screen as lines, exactly as many as fit. */
export function analyseLines(
  screen: AnalyseScreen,
  facts: AnalyseFacts,
  size: ScreenSize,
  theme: Theme,
): Line[] {
  const foot = footLines(screen, size.columns);
  const room = bodyRoom(screen, size);
  const body = bodyLines(screen, facts, { columns: size.columns, rows: room }, theme);
  const first = Math.min(screen.scroll, Math.max(0, body.length - room));
  const parts = { head: headLine(screen, facts, size.columns), notice: screen.notice, foot };
  return framed({ ...parts, body: scrolled(body, first, theme) }, size, theme);
}

/** How far the screen can be scrolled before its end stands at the bottom. */
export function scrollRoom(
  screen: AnalyseScreen,
  facts: AnalyseFacts,
  size: ScreenSize,
  theme: Theme,
): number {
  const room = bodyRoom(screen, size);
  const body = bodyLines(screen, facts, { columns: size.columns, rows: room }, theme);
  return Math.max(0, body.length - room);
}

/** Lines that a screen has for its own between head and foot. */
export function bodyRoom(screen: AnalyseScreen, size: ScreenSize): number {
  const told = screen.notice ? Math.ceil(screen.notice.length / Math.max(8, size.columns - 6)) : 0;
  return Math.max(4, size.rows - 3 - footLines(screen, size.columns).length - told);
}

function headLine(
  { response, at }: AnalyseScreen,
  { result, study, asked }: AnalyseFacts,
  columns: number,
): Line {
  if (isOfAll(at)) return line(allWords({ study, asked }, columns), 'strong');
  const fit = result.responses[response]!;
  const place =
    result.responses.length > 1 ? ` (${response + 1} of ${result.responses.length})` : '';
  const name = ` fit · ${scaleName(fit)}${place}`;
  const words = [name, cellWords(fit), plotWords(fit, study)].filter((text) => text !== '');
  const whole = words.join(' · ');
  return line([...whole].length <= columns ? whole : words.slice(0, 2).join(' · '), 'strong');
}

/** The head of a screen about all responses. */
function allWords(
  { study, asked }: Pick<AnalyseFacts, 'study' | 'asked'>,
  columns: number,
): string {
  const done = study.cells.filter(({ status }) => status === 'done').length;
  const failed = study.cells.filter(({ status }) => status === 'failed').length;
  const words = [
    ` fit · ${study.opened.name}`,
    `${done} cells${failed > 0 ? `, ${failed} failed` : ''}`,
    `chance asked ${asked}`,
  ];
  const whole = words.join(' · ');
  return [...whole].length <= columns ? whole : words.slice(0, 2).join(' · ');
}

function cellWords({ cells }: ResponseFit): string {
  const failed = cells.failed.length > 0 ? `, ${cells.failed.length} failed` : '';
  return `${cells.used} cells${failed}`;
}

/** "10 zone settings, so level, tilt rest on 4 df". */
function plotWords({ strata }: ResponseFit, { cells }: AnalyseFacts['study']): string {
  if (strata.length === 0) return '';
  const plots = new Set(cells.map(({ run }) => run.wholePlot)).size;
  const df = /(\d+) df/.exec(strata[0]!)?.[1];
  return df === undefined ? '' : `${plots} zone settings, so zones rest on ${df} df`;
}

function bodyLines(
  screen: AnalyseScreen,
  facts: AnalyseFacts,
  size: ScreenSize,
  theme: Theme,
): Line[] {
  if (screen.hasKeys) return helpLines(screen);
  // Plain letters take more room than the signs they stand for.
  const columns = theme.isUnicode ? size.columns : size.columns - 4;
  const room = { ...size, columns };
  const fit = facts.result.responses[screen.response]!;
  switch (screen.at) {
    case 'matters':
      return mattersScreen(fit, facts, columns, theme);
    case 'model':
      return modelLines(screen, facts, room, theme);
    case 'surface':
      return surfaceLines(screen, facts, room, theme);
    case 'residuals':
      return residualLines(screen, facts, room, theme);
    case 'window':
      return facts.window.kind === 'working'
        ? [line(), line('   Working the window out …', 'quiet')]
        : windowScreenLines(facts.window.value, facts, columns, theme);
    case 'next':
      return nextScreen(facts, columns);
    case 'trade':
      return tradeLines(screen, facts, room, theme);
  }
}

function mattersScreen(
  fit: ResponseFit,
  facts: AnalyseFacts,
  columns: number,
  theme: Theme,
): Line[] {
  const { factors, responses } = facts.study.opened;
  const { surfaces } = facts.predictor;
  const parts = [
    mattersLines(fit, factors, theme, { surfaces, responses, columns }),
    shareLines(fit.name, facts, columns, theme),
    influenceLines(facts, columns),
    lenthLines(fit, columns, theme),
    twoStageLines(fit, columns),
    checkLines(fit, columns),
    sensitivityLines(fit, columns),
    cannotSayLines(fit, columns),
    fit.remarks.flatMap((says) => told(says, columns, { role: 'quiet' })),
  ].filter((part) => part.length > 0);
  return parts.flatMap((part, i) => (i === 0 ? part : [line(), ...part]));
}

/** The cell that the recommendation hangs on most. */
function influenceLines({ influences }: AnalyseFacts, columns: number): Line[] {
  if (influences.kind === 'working') return [];
  const top = influences.value[0];
  return top ? told(top.says, columns) : [];
}

/** What to do next, best first. */
function nextScreen({ next, window, influences }: AnalyseFacts, columns: number): Line[] {
  if (next.kind === 'working' || window.kind === 'working')
    return [line(), line('   Working out what to run next …', 'quiet')];
  const said =
    next.value.length === 0
      ? told('Without a recommendation there is nothing to weigh next runs by.', columns)
      : nextLines(next.value, columns);
  const cells = influences.kind === 'known' ? cellLines(influences.value, columns) : [];
  return [line(), ...said, ...(cells.length > 0 ? [line(), ...cells] : [])];
}

function helpLines(screen: AnalyseScreen): Line[] {
  const width = 12;
  const row = ([key, says]: readonly [string, string]): Line => [
    span(`   ${key.padEnd(width)}`, 'strong'),
    span(says),
  ];
  return [
    line(),
    ...screenKeys.map(([digit, , , says]) => row([digit, says])),
    line(),
    ...helpKeys(screen).map(row),
  ];
}

/** Screens by their digits, the one shown in brackets; then its own keys. */
function footLines(screen: AnalyseScreen, columns: number): Line[] {
  const places = screenKeys.map(([digit, name, brief]) =>
    name === screen.at ? `[${digit} ${brief}]` : ` ${digit} ${brief} `,
  );
  return [...packed(places, columns), ...keyLines(footKeys(screen), columns)];
}

/** Pieces side by side, as many to a line as fit. */
function packed(pieces: readonly string[], columns: number): Line[] {
  const rows: string[] = [''];
  for (const piece of pieces) {
    const last = rows.at(-1)!;
    if (last !== '' && [...last, ...piece].length > columns) rows.push(piece);
    else rows[rows.length - 1] = last + piece;
  }
  return rows.map((text) => line(text));
}
