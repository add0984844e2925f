import {
  codedPoint,
  type NumericFactor,
  type Point,
  type SetPoints,
  settingsOf,
} from '@strandwise/core';
import type { Border, ContourData } from '../figure/contour.ts';
import { fixed } from '../format/number.ts';
import { withUnit } from '../format/unit.ts';
import type { LivePanel } from './live-panel.ts';
import type { PanelModel } from './panel-model.ts';
import { fittedValue, panelPoint, requirementMargin } from './panel-prediction.ts';

const steps = 31;

/** The contour of the panel at given set points; null when the model names none. */
export function panelMap(panel: LivePanel, setPoints: SetPoints): ContourData | null {
  const { model, surfaces } = panel;
  const { map, factors } = model;
  const shown = surfaces.find(({ surface }) => surface.name === map?.response);
  const x = numericFactor(model, map?.x);
  const y = numericFactor(model, map?.y);
  if (!map || !shown || !x || !y) return null;
  const natural = panelPoint(model, setPoints);
  const coded = gridPoints(codedPoint(natural, factors), x.name, y.name);
  const settings = coded.map((point) => settingsOf(point, factors));
  const window = windowBorder(panel, settings);
  const limit = limitBorder(model, coded);
  const { name } = shown.surface;
  return {
    size: 'half',
    title: `${name} over ${x.name} and ${y.name}, at the settings above`,
    description: `Fitted ${name} with the other factors held where the controls stand. The table above gives the numbers.`,
    x: axisOf(x),
    y: axisOf(y),
    value: shown.unit === undefined ? { label: name } : { label: name, unit: shown.unit },
    field: { columns: steps, rows: steps, values: settings.map((at) => fittedValue(shown, at)) },
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

/** Where the nearest requirement of any response is just kept. */
function windowBorder({ surfaces }: LivePanel, settings: readonly Float64Array[]): Border | null {
  const required = surfaces.filter(({ requirements }) => requirements.length > 0);
  if (required.length === 0) return null;
  const margin = settings.map((at) =>
    Math.min(
      ...required.flatMap((surface) => {
        const value = fittedValue(surface, at);
        return surface.requirements.map((requirement) => requirementMargin(value, requirement));
      }),
    ),
  );
  return { margin, says: 'all fitted values keep their limits' };
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
