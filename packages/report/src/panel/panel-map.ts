import {
  codedPoint,
  type NumericFactor,
  type Point,
  type SetPoints,
  settingsOf,
} from '@strandwise/core';
import { chanceLevels } from '../figure/conformance-map.ts';
import type { Border, ContourData } from '../figure/contour.ts';
import { fixed } from '../format/number.ts';
import { withUnit } from '../format/unit.ts';
import type { LivePanel } from './live-panel.ts';
import type { PanelModel } from './panel-model.ts';
import { fittedValue, panelPoint, requirementMargin } from './panel-prediction.ts';

const steps = 31;
/** The chance takes longer to compute than a fitted value, so that its grid is coarser. */
const chanceSteps = 21;

/** What the map shows: a response, or the chance of conforming where `response` is null. */
export interface MapView {
  readonly response: string | null;
  readonly x: string;
  readonly y: string;
}

/** The contour of the panel at given set points; null when there is nothing to show. */
export function panelMap(
  panel: LivePanel,
  setPoints: SetPoints,
  view: MapView | undefined = panel.model.map,
): ContourData | null {
  const { model } = panel;
  const shown = view && shownValue(panel, view);
  const x = numericFactor(model, view?.x);
  const y = numericFactor(model, view?.y);
  if (!view || !shown || !x || !y) return null;
  const natural = panelPoint(model, setPoints);
  const coded = gridPoints(codedPoint(natural, model.factors), [x.name, y.name], shown.steps);
  const settings = coded.map((point) => settingsOf(point, model.factors));
  const window = windowBorder(panel, settings);
  const limit = limitBorder(model, coded);
  const { label } = shown.axis;
  return {
    size: 'half',
    title: `${label} over ${x.name} and ${y.name}, at the settings above`,
    description: `Fitted ${label} with the other factors held where the controls stand. The table above gives the numbers.`,
    x: axisOf(x),
    y: axisOf(y),
    value: shown.axis,
    field: { columns: shown.steps, rows: shown.steps, values: settings.map(shown.value) },
    ...shown.levels,
    ...(window ? { window } : {}),
    ...(limit ? { limit } : {}),
    ...whereNow(natural, x, y),
    heldAt: heldWords(natural, model, [x.name, y.name]),
  };
}

interface ShownValue {
  readonly axis: ContourData['value'];
  readonly value: (settings: Float64Array) => number;
  readonly steps: number;
  readonly levels: Pick<ContourData, 'levels' | 'levelLabels'>;
}

/** What a view shows as a function of settings; null when the panel knows nothing of it. */
function shownValue({ model, surfaces, chance }: LivePanel, view: MapView): ShownValue | null {
  if (view.response === null)
    return (
      chance && {
        axis: { label: 'chance of conforming' },
        value: chance,
        steps: chanceSteps,
        levels: { levels: chanceLevels, levelLabels: chanceLevels.map(String) },
      }
    );
  const shown = surfaces.find(({ surface }) => surface.name === view.response);
  if (!shown) return null;
  const { name } = shown.surface;
  const levels = model.map?.response === name ? model.map.levels : undefined;
  return {
    axis: shown.unit === undefined ? { label: name } : { label: name, unit: shown.unit },
    value: (settings) => fittedValue(shown, settings),
    steps,
    levels: levels ? { levels } : {},
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

function gridPoints(coded: Point, [x, y]: readonly [string, string], count: number): Point[] {
  const at = (i: number): number => (2 * i) / (count - 1) - 1;
  return Array.from({ length: count * count }, (_, k) => ({
    ...coded,
    [x]: at(k % count),
    [y]: at(Math.floor(k / count)),
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
