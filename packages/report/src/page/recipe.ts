import { shareWords } from '@strandwise/core';
import { decimalsFor, fixed, noNumber } from '../format/number.ts';
import { interval, intervalDecimals } from '../format/uncertainty.ts';
import { nameInUnit, unbroken } from '../format/unit.ts';
import { type Content, html } from '../markup/markup.ts';
import { type Table, tableHtml } from '../table/table.ts';
import type { Recipe, RecipePrediction, RecipeSetPoint } from './input.ts';
import { bulletList, factList } from './part.ts';

/** A recipe with set points. */
export type Recommended = Extract<Recipe, { kind: 'recommended' }>;

/** The recipe: set points first and large, then what they should give, how sure, and how far they may go. */
export function recipePart(recipe: Recipe): Content {
  if (recipe.kind === 'none')
    return [html`<p>${recipe.sentence}</p>\n`, bulletList(recipe.reasons)];
  return [
    html`<ul class="set-points" aria-label="Recommended set points">\n${recipe.setPoints.map(setPoint)}</ul>\n`,
    chanceLine(recipe),
    recipe.windowSays !== undefined && html`<p class="quiet">${recipe.windowSays}</p>\n`,
    recipe.cautions.length > 0 && [html`<h3>Before running it</h3>\n`, bulletList(recipe.cautions)],
    tableHtml(predictionTable(recipe)),
    recipe.wander && [
      html`<h3>How far the settings may wander</h3>\n<p>${recipe.wander.sentence}</p>\n`,
      factList((recipe.wander.amounts ?? []).map(({ name, amount }) => ({ name, value: amount }))),
      recipe.wander.table && tableHtml(recipe.wander.table),
    ],
    html`<p class="quiet">${recipe.sentence}</p>\n`,
  ];
}

function setPoint({ name, value, unit, decimals = 0, window }: RecipeSetPoint): Content {
  const shown = typeof value === 'number' ? fixed(value, decimals) : value;
  return html`<li><span class="name">${name}</span>
<span class="value">${shown}${unit && html`<span class="unit">\u202f${unit}</span>`}</span>
${window && html`<span class="window">${interval(window.low, window.high, decimals)}</span>`}</li>\n`;
}

function chanceLine({ chance }: Recommended): Content {
  if (!chance) return null;
  const { says, estimate, notBelow, parts = [] } = chance;
  const floor = notBelow !== undefined && notBelow < 0.995 && ` (not below ${fixed(notBelow, 2)})`;
  return [
    html`<p class="chance">${says}: <strong>${shareWords(estimate)}</strong>${floor}</p>\n`,
    factList(parts),
  ];
}

/** What the set points should give, for the page and for export. */
export function predictionTable({ predictions, confidence: given }: Recommended): Table {
  const confidence = unbroken(given);
  const hasWanted = predictions.some(({ wanted }) => wanted !== undefined);
  return {
    caption: 'What these settings should give',
    columns: [
      { head: 'response', holds: 'words' },
      { head: 'mean', holds: 'numbers' },
      { head: `mean lies in, ${confidence}`, holds: 'numbers' },
      { head: `a new set-up falls in, ${confidence}`, holds: 'numbers' },
      ...(hasWanted ? [{ head: 'wanted', holds: 'words' } as const] : []),
    ],
    rows: predictions.map((prediction) => predictionRow(prediction, hasWanted)),
  };
}

function predictionRow(
  { response, unit, mean, newRun, wanted }: RecipePrediction,
  hasWanted: boolean,
): string[] {
  const { estimate, low, high } = mean;
  const isJudged = low !== null && high !== null;
  const decimals = isJudged ? intervalDecimals(low, high) : decimalsFor(estimate, 3);
  return [
    nameInUnit(response, unit),
    fixed(estimate, decimals),
    isJudged ? interval(low, high, decimals) : noNumber,
    newRun ? interval(newRun.low, newRun.high, decimals) : noNumber,
    ...(hasWanted ? [wanted ?? ''] : []),
  ];
}
