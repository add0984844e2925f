import type { ComparisonRow, OrderRow, PlanProperties, StatedChange } from '@strandwise/core';

/** A chance of 0 to 1 with two digits, never a false certainty. */
export function chance(power: number | null): string {
  if (power === null) return 'cannot tell';
  if (power > 0.995) return '> 0.99';
  return power < 0.005 ? '< 0.01' : power.toFixed(2);
}

/** What is assumed of effect and noise, as the head of a table of chances. */
export function assumedWords({ scale, effect, noise, plotRatio }: StatedChange): string {
  const unit = scale === 'percent' ? ' %' : '';
  const resets =
    plotRatio === 0
      ? ''
      : `; variance of resets ${plotRatio === 1 ? 'the same' : `${plotRatio} times its`}`;
  return `a change of ${effect}${unit} (cell noise ${noise}${unit}${resets})`;
}

/** A value of a comparison as a short word. */
export function rowValue({ key, values }: ComparisonRow, plan: number): string {
  const value = values[plan] ?? null;
  if (key.startsWith('power ')) return chance(value as number | null);
  if (value === null) return '–';
  if (typeof value === 'string') return value;
  if (key === 'hours' || key === 'holdHours') return value.toFixed(1);
  if (key === 'grams')
    return value >= 1000 ? `${(value / 1000).toFixed(1)} kg` : `${value.toFixed(0)} g`;
  if (key.startsWith('efficiency')) return value.toFixed(0);
  return Number.isInteger(value) ? String(value) : value.toFixed(2);
}

/** The unit that a row's numbers need, where the value itself does not carry it. */
export const rowLabel = ({ label, unit, key }: ComparisonRow): string =>
  unit === '' || key.startsWith('power ') || key === 'grams' ? label : `${label}, ${unit}`;

/** "4 between whole plots, 11 between cells". */
export const dfWords = ({ df }: Pick<PlanProperties, 'df'>): string =>
  df
    .map(({ name, error, pureError }) => {
      const repeats = pureError > 0 ? ` (${pureError} from repeats)` : '';
      return `${error} between ${name}${repeats}`;
    })
    .join(', ');

export const lossWords = ({ worstLoss }: Pick<PlanProperties, 'worstLoss'>): string => {
  if (worstLoss === null) return '';
  if (worstLoss.kind === 'grows')
    return `cell ${worstLoss.runOrder}: average prediction variance +${(100 * (worstLoss.growth - 1)).toFixed(0)} %`;
  const shown = worstLoss.terms.slice(0, 3).join(', ');
  return `cell ${worstLoss.runOrder}: ${shown}${worstLoss.terms.length > 3 ? ' and others' : ''} could no longer be told`;
};

export const orderWords: Readonly<Record<OrderRow['order'], string>> = {
  complete: 'complete randomisation',
  'within-plots': 'whole plots at random',
  'trend-robust': 'robust to drift',
  'fewest-hours': 'fewest hours',
};
