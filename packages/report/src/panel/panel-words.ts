import { shareWords } from '@strandwise/core';
import { decimalsFor, fixed, noNumber } from '../format/number.ts';
import { intervalDecimals } from '../format/uncertainty.ts';
import { nameInUnit, unbroken, withUnit } from '../format/unit.ts';
import { type Content, html, type Markup } from '../markup/markup.ts';
import { tableHtml } from '../table/table.ts';
import type { PanelModel } from './panel-model.ts';
import type { Interval, PanelPrediction, PanelReading } from './panel-prediction.ts';

type Predicted = Extract<PanelReading, { kind: 'predicted' }>;

/** The panel's readings as a table, the chance, and what speaks against the setting. */
export function readingMarkup(reading: PanelReading, model: PanelModel): Markup {
  if (reading.kind === 'refused') {
    return html`<p><strong>These settings may not be run, so nothing is predicted for them.</strong></p>\n${warningList(reading.reasons)}`;
  }
  const confidence = unbroken(
    withUnit(String(Number((100 * model.confidence).toPrecision(4))), '%'),
  );
  const hasLimits = reading.predictions.some(({ isWithin }) => isWithin !== null);
  const table = tableHtml({
    caption: 'Expected at these settings',
    columns: [
      { head: 'response', holds: 'words' },
      { head: 'mean', holds: 'numbers' },
      { head: `mean lies in, ${confidence}`, holds: 'numbers' },
      { head: `a new set-up falls in, ${confidence}`, holds: 'numbers' },
      ...(hasLimits ? [{ head: 'limits', holds: 'words' } as const] : []),
    ],
    rows: reading.predictions.map((prediction) => predictionCells(prediction, hasLimits)),
  });
  return html`${table}${chanceLine(reading, model)}${warningList(reading.warnings)}`;
}

function predictionCells(prediction: PanelPrediction, hasLimits: boolean): string[] {
  const { name, unit, estimate, mean, newRun, isWithin } = prediction;
  const { value, ends } = roundedBy(estimate, mean);
  return [
    nameInUnit(name, unit),
    value,
    mean ? ends(mean) : noNumber,
    newRun ? ends(newRun) : noNumber,
    ...(hasLimits ? [isWithin === null ? '' : isWithin ? 'kept' : 'broken'] : []),
  ];
}

/** The estimate, and any interval, with the digits that the interval of the mean deserves. */
function roundedBy(estimate: number, mean: Interval | null) {
  const decimals = mean ? intervalDecimals(mean.low, mean.high) : decimalsFor(estimate, 3);
  return {
    value: fixed(estimate, decimals),
    ends: ({ low, high }: Interval, to = ' … '): string =>
      `${fixed(low, decimals)}${to}${fixed(high, decimals)}`,
  };
}

const chanceLine = ({ chance }: Predicted, model: PanelModel): Content =>
  chance !== null &&
  model.chance &&
  html`<p class="chance">${model.chance.says}: <strong>${shareWords(chance)}</strong></p>\n`;

const warningList = (warnings: readonly string[]): Content =>
  warnings.length > 0 &&
  html`<ul class="try-warnings">${warnings.map((warning) => html`<li>${warning}</li>\n`)}</ul>\n`;

/** The same in one breath, for a screen reader. */
export function spokenReading(reading: PanelReading): string {
  if (reading.kind === 'refused') return ['Not allowed.', ...reading.reasons].join(' ');
  const { predictions, chance, warnings } = reading;
  const parts = predictions.map(({ name, unit, estimate, mean }) => {
    const { value, ends } = roundedBy(estimate, mean);
    return `${name} ${withUnit(value, unit)}${mean ? `, ${ends(mean, ' to ')}` : ''}`;
  });
  if (chance !== null) parts.push(`chance ${shareWords(chance)}`);
  return [`${parts.join('; ')}.`, ...warnings].join(' ');
}
