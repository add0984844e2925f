import { backOnScale, isNumeric, surfacePrediction } from '@strandwise/core';
import type { CaptionedFigure } from '@strandwise/report';
import { chanceMaps } from './chance-map.ts';
import { axisOf, fittedPoint } from './interaction-figure.ts';
import { mapCaption } from './map-caption.ts';
import type { PagedResponse, PagedStudy } from './paged-study.ts';
import {
  importantPairs,
  numericPositions,
  type Pair,
  type Plane,
  pinned,
  plane,
  spanOver,
  steps,
} from './plane.ts';
import { chanceBorder, planeMarks } from './plane-marks.ts';
import { capital } from './sentence.ts';

/** Figures of where it is good: those that everyone should see, and further views. */
export interface SurfaceFigures {
  readonly first: readonly CaptionedFigure[];
  readonly more: readonly CaptionedFigure[];
}

/**
 * The chance map and each deciding response over the same two factors first, so that they can be
 * compared at a glance; then other pairs of factors.
 */
export function surfaceFigures(study: PagedStudy): SurfaceFigures {
  const deciding = study.responses.filter(({ decides, surface }) => decides && surface !== null);
  const shown =
    deciding.length > 0 ? deciding : study.responses.filter(({ surface }) => surface).slice(0, 1);
  const planes = new Map<string, Plane>();
  const planeOf = ([x, y]: Pair): Plane => {
    const key = `${x} ${y}`;
    const found = planes.get(key) ?? plane(study, [x, y]);
    planes.set(key, found);
    return found;
  };
  const [firstChance, ...moreChances] = chanceMaps(study, planeOf);
  const shared = firstChance?.pair;
  const views = shown.map((response) => viewsOf(study, response, planeOf, shared));
  return {
    first: [
      ...(firstChance ? [firstChance.figure] : []),
      ...views.flatMap(([first]) => first ?? []),
    ],
    more: [...moreChances.map(({ figure }) => figure), ...views.flatMap(([, ...more]) => more)],
  };
}

/** At most so many views of one response. */
const mostViews = 3;

/** A response over the pair that all share, then over the pairs that move it most. */
function viewsOf(
  study: PagedStudy,
  response: PagedResponse,
  planeOf: (pair: Pair) => Plane,
  shared: Pair | undefined,
): CaptionedFigure[] {
  const pairs = importantPairs(study, response.surface!);
  if (pairs.length === 0) return lineFigure(study, response);
  const span = (pair: Pair): number => spanOver(pinned(study), pair, response.surface!.mean);
  // A response that hardly moves over the shared pair is drawn over its own.
  const isTelling = shared !== undefined && span(shared) >= 0.1 * span(pairs[0]!);
  const isShared = ([x, y]: Pair): boolean => x === shared?.[0] && y === shared?.[1];
  const ordered = isTelling ? [shared, ...pairs.filter((pair) => !isShared(pair))] : pairs;
  return ordered.slice(0, mostViews).map((pair) => contourOf(study, response, planeOf(pair)));
}

function contourOf(study: PagedStudy, response: PagedResponse, on: Plane): CaptionedFigure {
  const surface = response.surface!;
  const values = on.grid.map((at) => backOnScale(surface, surface.mean(at)));
  const { x, y } = on;
  const levels = contourLevels(values);
  return {
    caption: mapCaption(values, on, steps, response),
    note: `The fitted ${response.name}, deeper is more.`,
    figure: {
      kind: 'contour',
      size: 'half',
      title: `${response.name} over ${x.factor.name} and ${y.factor.name}`,
      description: `Fitted ${response.name} with the other factors held at the ${study.recipe ? 'recommended settings' : 'centre'}, runs drawn in. The caption names the best place.`,
      value: axisOf(response.name, response.unit),
      field: { columns: steps, rows: steps, values },
      ...(levels ? { levels } : {}),
      ...planeMarks(study, on),
      ...chanceBorder(study, on),
    },
  };
}

/** Lines at a ratio where values span more than a factor of five; evenly spaced round values else. */
function contourLevels(values: readonly number[]): number[] | undefined {
  const low = Math.min(...values);
  const high = Math.max(...values);
  if (!(low > 0) || high / low < 5) return undefined;
  const decades = Math.log10(high / low);
  const multiples = decades > 3 ? [1] : decades > 1.6 ? [1, 3] : [1, 1.5, 2, 3, 5, 7];
  const out: number[] = [];
  for (let power = Math.floor(Math.log10(low)); power <= Math.log10(high); power++)
    for (const multiple of multiples) {
      const level = Number(`${multiple}e${power}`);
      if (level > low && level < high) out.push(level);
    }
  return out;
}

/** With one numeric factor there is no plane: the response along it, with its interval. */
function lineFigure(study: PagedStudy, response: PagedResponse): CaptionedFigure[] {
  const { factors } = study.state.opened;
  const surface = response.surface!;
  const [i] = numericPositions(study.state);
  const factor = i === undefined ? undefined : factors[i];
  if (i === undefined || !factor || !isNumeric(factor)) return [];
  if (!surface.terms.some((powers) => powers[factor.name] !== undefined)) return [];
  const points = Array.from({ length: steps }, (_, k) => {
    const at = pinned(study);
    at[i] = (2 * k) / (steps - 1) - 1;
    const { mean } = surfacePrediction(surface, at);
    return fittedPoint(factor.low + ((factor.high - factor.low) * k) / (steps - 1), mean);
  });
  return [
    {
      caption: `${capital(response.name)} along ${factor.name}`,
      note: `Fitted mean with its 95${'\u202f'}% interval.`,
      figure: {
        kind: 'interaction',
        title: `${response.name} over ${factor.name}`,
        description: 'The fitted mean with its interval.',
        x: axisOf(factor.name, factor.unit),
        y: axisOf(response.name, response.unit),
        series: [{ name: 'mean', points }],
      },
    },
  ];
}
