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
  steps,
} from './plane.ts';
import { chanceBorder, planeMarks } from './plane-marks.ts';
import { capital } from './sentence.ts';

/** Figures of where it is good: fitted surfaces over the pairs that matter, and the chance map. */
export function surfaceFigures(study: PagedStudy): CaptionedFigure[] {
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
  const maps = shown.flatMap((response, k) => {
    const pairs = importantPairs(study, response.surface!);
    if (pairs.length === 0) return lineFigure(study, response);
    // The first response gets three views, the others one each.
    return pairs.slice(0, k === 0 ? 3 : 1).map((pair) => contourOf(study, response, planeOf(pair)));
  });
  return [...maps, ...chanceMaps(study, planeOf)];
}

function contourOf(study: PagedStudy, response: PagedResponse, on: Plane): CaptionedFigure {
  const surface = response.surface!;
  const values = on.grid.map((at) => backOnScale(surface, surface.mean(at)));
  const { x, y } = on;
  const levels = contourLevels(values);
  return {
    caption: mapCaption(values, on, steps, response),
    note: `The fitted ${response.name}, deeper is more. Runs stand where they were in these two factors; their other settings differ.`,
    figure: {
      kind: 'contour',
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
