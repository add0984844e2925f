import { codedPoint, type NumericFactor, type Point, type SetPoints } from '@strandwise/core';
import type { Border, ContourData } from '../figure/contour.ts';
import { fixed } from '../format/number.ts';
import { withUnit } from '../format/unit.ts';
import type { PanelModel, PanelResponse } from './panel-model.ts';
import { panelMeans, panelPoint } from './panel-prediction.ts';

const steps = 31;

/** The contour of the panel at given set points; null when the model names none. */
export function panelMap(model: PanelModel, setPoints: SetPoints): ContourData | null {
  const { map } = model;
  const response = model.responses.find(({ name }) => name === map?.response);
  const x = numericFactor(model, map?.x);
  const y = numericFactor(model, map?.y);
  if (!map || !response || !x || !y) return null;
  const natural = panelPoint(model, setPoints);
  const coded = gridPoints(codedPoint(natural, model.factors), x.name, y.name);
  const window = windowBorder(model, coded);
  const limit = limitBorder(model, coded);
  return {
    title: `${response.name} over ${x.name} and ${y.name}, at the settings above`,
    description: `Fitted ${response.name} with the other factors held where the controls stand. The table above gives the numbers.`,
    x: axisOf(x),
    y: axisOf(y),
    value:
      response.unit === undefined
        ? { label: response.name }
        : { label: response.name, unit: response.unit },
    field: { columns: steps, rows: steps, values: panelMeans(response, coded, model) },
    ...(map.levels ? { levels: map.levels } : {}),
    ...(window ? { window } : {}),
    ...(limit ? { limit } : {}),
    ...whereNow(natural, x, y),
    heldAt: heldWords(natural, model, [x.name, y.name]),
  };
}

function numericFactor(
  { factors }: PanelModel,
  name: string | undefined,
): NumericFactor | undefined {
  return factors.find((factor): factor is NumericFactor => factor.name === name && 'low' in factor);
}

const axisOf = ({ name, unit, low, high }: NumericFactor): ContourData['x'] =>
  unit === undefined ? { label: name, low, high } : { label: name, unit, low, high };

function gridPoints(coded: Point, x: string, y: string): Point[] {
  const at = (i: number): number => (2 * i) / (steps - 1) - 1;
  return Array.from({ length: steps * steps }, (_, k) => ({
    ...coded,
    [x]: at(k % steps),
    [y]: at(Math.floor(k / steps)),
  }));
}

/** Where the nearest limit of any response is met, as a share of that limit. */
function windowBorder(model: PanelModel, coded: readonly Point[]): Border | null {
  const limited = model.responses.filter(({ limits }) => limits !== undefined);
  if (limited.length === 0) return null;
  const means = limited.map((response) => panelMeans(response, coded, model));
  const margin = coded.map((_, k) =>
    Math.min(...limited.map((response, j) => limitMargin(means[j]![k]!, response))),
  );
  return { margin, says: 'all fitted means keep their limits' };
}

function limitMargin(value: number, { limits }: PanelResponse): number {
  const { low, high } = limits ?? {};
  const below =
    high === undefined ? Number.POSITIVE_INFINITY : (high - value) / (Math.abs(high) || 1);
  const above = low === undefined ? Number.POSITIVE_INFINITY : (value - low) / (Math.abs(low) || 1);
  return Math.min(below, above);
}

function limitBorder({ limits }: PanelModel, coded: readonly Point[]): Border | null {
  if (limits.length === 0) return null;
  const margin = coded.map((point) =>
    Math.min(
      ...limits.map(({ coefficients, atMost }) =>
        Object.entries(coefficients).reduce(
          (rest, [name, weight]) => rest - weight * Number(point[name]),
          atMost,
        ),
      ),
    ),
  );
  return { margin, says: 'not allowed' };
}

function whereNow(
  natural: Point,
  x: NumericFactor,
  y: NumericFactor,
): Pick<ContourData, 'recommended' | 'recommendedSays'> {
  const at = { x: Number(natural[x.name]), y: Number(natural[y.name]) };
  const isInside = at.x >= x.low && at.x <= x.high && at.y >= y.low && at.y <= y.high;
  return isInside ? { recommended: at, recommendedSays: 'the settings above' } : {};
}

function heldWords(natural: Point, { factors }: PanelModel, across: readonly string[]): string {
  return factors
    .filter(({ name }) => !across.includes(name))
    .map((factor) => {
      const value = natural[factor.name]!;
      if (typeof value === 'string' || !('low' in factor)) return `${factor.name} ${value}`;
      const decimals = factor.high - factor.low >= 20 ? 0 : 1;
      return `${factor.name} ${withUnit(fixed(value, decimals), factor.unit)}`;
    })
    .join(', ');
}
