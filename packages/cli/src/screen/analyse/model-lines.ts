import { modelChange, type ResponseFit } from '@strandwise/core';
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
  const below = changeText(fit, facts, columns);
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

function changeText(
  fit: ResponseFit,
  { before, models, kept }: AnalyseFacts,
  columns: number,
): Line[] {
  const facts = [
    fit.aicc === null ? null : `AICc ${fit.aicc.toFixed(1)}`,
    fit.residualSd === null ? null : `residual SD ${figures(fit.residualSd)}`,
    fit.predictiveRSquared === null ? null : `predictive R² ${figures(fit.predictiveRSquared, 2)}`,
    fit.dfResidual === null ? null : `${fit.dfResidual} df left`,
  ].filter((text) => text !== null);
  const isTried = models[fit.name] !== kept[fit.name];
  const old = before.responses.find(({ name }) => name === fit.name);
  const change =
    isTried && old ? modelChange(old, fit).says.join(' ') : (fit.alternatives?.says ?? '');
  return [
    ...told(facts.join(', '), columns),
    ...(change === ''
      ? []
      : told(isTried ? `Tried, not recorded: ${change}` : change, columns, {
          role: isTried ? 'changed' : 'plain',
        })),
  ];
}
