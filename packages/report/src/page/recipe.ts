import { fixed } from '../format/number.ts';
import { interval, intervalDecimals } from '../format/uncertainty.ts';
import { nameInUnit, unbroken } from '../format/unit.ts';
import { type Content, html } from '../markup/markup.ts';
import { type Table, tableHtml } from '../table/table.ts';
import type { Recipe, RecipePrediction, RecipeSetPoint } from './input.ts';
import { bulletList, factList } from './part.ts';

type Recommended = Extract<Recipe, { kind: 'recommended' }>;

/** The recipe: set points first and large, then what they should give, how sure, and how far they may go. */
export function recipePart(recipe: Recipe): Content {
  if (recipe.kind === 'none')
    return [html`<p>${recipe.sentence}</p>\n`, bulletList(recipe.reasons)];
  return [
    html`<ul class="set-points" aria-label="Recommended set points">\n${recipe.setPoints.map(setPoint)}</ul>\n`,
    html`<p>${recipe.sentence}</p>\n`,
    chanceLine(recipe),
    tableHtml(predictionTable(recipe)),
    recipe.wander && [
      html`<h3>How far the settings may wander</h3>\n<p>${recipe.wander.sentence}</p>\n`,
      factList(recipe.wander.amounts.map(({ name, amount }) => ({ name, value: amount }))),
    ],
    recipe.cautions.length > 0 && [html`<h3>Before running it</h3>\n`, bulletList(recipe.cautions)],
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
  return html`<p class="chance">${chance.says}: <strong>${fixed(chance.estimate, 2)}</strong> (not below ${fixed(chance.notBelow, 2)})</p>\n`;
}

function predictionTable({ predictions, confidence: given }: Recommended): Table {
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
  const decimals = intervalDecimals(mean.low, mean.high);
  return [
    nameInUnit(response, unit),
    fixed(mean.estimate, decimals),
    interval(mean.low, mean.high, decimals),
    newRun ? interval(newRun.low, newRun.high, decimals) : '—',
    ...(hasWanted ? [wanted ?? ''] : []),
  ];
}
