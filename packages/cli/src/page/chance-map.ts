import type { CaptionedFigure } from '@strandwise/report';
import type { PagedStudy } from './paged-study.ts';
import {
  numericPositions,
  orderedPairs,
  type Pair,
  type Plane,
  pairsOf,
  pinned,
  spanOver,
  steps,
} from './plane.ts';
import { chanceBorder, planeMarks } from './plane-marks.ts';

/** A map with the pair of factors it is drawn over. */
export interface ChanceMap {
  readonly pair: Pair;
  readonly figure: CaptionedFigure;
}

/** The chance of conforming over the pair it depends on most, and over another. */
export function chanceMaps(study: PagedStudy, planeOf: (pair: Pair) => Plane): ChanceMap[] {
  const { chance, state } = study;
  const positions = numericPositions(state);
  if (!chance || positions.length < 2) return [];
  const pairs = orderedPairs(pairsOf(positions), (pair) => spanOver(pinned(study), pair, chance));
  return pairs.slice(0, 2).flatMap((pair): ChanceMap[] => {
    const on = planeOf(pair);
    const values = on.chance!;
    if (Math.max(...values) - Math.min(...values) < 0.005) return [];
    return [{ pair, figure: chanceMap(study, on) }];
  });
}

function chanceMap(study: PagedStudy, on: Plane): CaptionedFigure {
  const { asked } = study;
  const values = on.chance!;
  return {
    caption: chanceCaption(values, on, asked),
    note: 'Deeper is more likely. The chance holds the doubt of the fits and the scatter from set-up to set-up.',
    figure: {
      kind: 'conformance-map',
      size: 'half',
      title: `Chance of conforming over ${on.x.factor.name} and ${on.y.factor.name}`,
      description: `Chance that a new set-up conforms, the other factors held at the recommended settings. The caption says where it is ${asked} or more.`,
      field: { columns: steps, rows: steps, values: [...values] },
      ...planeMarks(study, on),
      ...chanceBorder(study, on),
    },
  };
}

function chanceCaption(values: readonly number[], { x, y, room }: Plane, asked: number): string {
  const allowed = values.filter((_, k) => room[k]! >= 0);
  const kept = allowed.filter((value) => value >= asked).length;
  const over = `${x.factor.name} and ${y.factor.name}`;
  if (allowed.length === 0) return `No setting of ${over} is allowed here`;
  if (kept === 0)
    return `Nowhere over ${over} does the chance of conforming reach ${asked}; it is ${Math.max(...allowed).toFixed(2)} at best`;
  const share = Math.round((100 * kept) / allowed.length);
  if (share >= 99) return `All over ${over} the chance of conforming is ${asked} or more`;
  return `The chance of conforming is ${asked} or more over ${share < 1 ? 'less than 1' : share}${'\u202f'}% of what is allowed in ${over}`;
}
