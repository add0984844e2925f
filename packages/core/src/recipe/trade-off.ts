import { naturalPoint, type Point } from '../factor/coding.ts';
import { bubbleName, outputName, spreadName } from '../study/line-response.ts';
import { linearLimits } from '../surface/linear-limits.ts';
import { pointFromSettings } from '../surface/polynomial.ts';
import { backOnScale } from '../surface/response-surface.ts';
import { type FrontObjective, tradeOffFront } from '../surface/trade-off-front.ts';
import type { Predictor } from './predictor.ts';

/** One setting of a trade-off: nothing found is better in all of the responses. */
export interface TradeOffPoint {
  readonly natural: Point;
  readonly coded: Point;
  /** Fitted value of each response, its own unit. */
  readonly values: Readonly<Record<string, number>>;
  /** Chance of conforming there; null when it cannot be judged. */
  readonly probability: number | null;
}

/** What giving way in one response buys in another, over the settings worth having. */
export interface TradeOff {
  readonly responses: readonly { readonly name: string; readonly aim: 'smallest' | 'largest' }[];
  readonly points: readonly TradeOffPoint[];
  readonly says: string;
}

const wishes: Readonly<Record<string, FrontObjective['aim']>> = {
  [spreadName]: 'smallest',
  [bubbleName]: 'smallest',
  [outputName]: 'largest',
};

/** The front between spread, bubbles and output, as far as they were fitted; null with fewer than two. */
export function tradeOff(predictor: Predictor, most = 40): TradeOff | null {
  const { state, surfaces, constraints, draft } = predictor;
  const { factors, seed } = state.opened;
  const objectives = surfaces.flatMap((surface): FrontObjective[] => {
    const aim = wishes[surface.name];
    if (!aim) return [];
    const value = (at: Float64Array): number => backOnScale(surface, surface.mean(at));
    return [{ name: surface.name, aim, value }];
  });
  if (objectives.length < 2) return null;
  const limits = linearLimits(factors, constraints);
  const points = tradeOffFront({ objectives, factors, limits, seed, most }).map(
    ({ settings, values }): TradeOffPoint => {
      const coded = pointFromSettings(settings, factors);
      return {
        coded,
        natural: naturalPoint(coded, factors),
        values: Object.fromEntries(objectives.map(({ name }, o) => [name, values[o]!])),
        probability: draft ? draft.at(settings).probability : null,
      };
    },
  );
  return {
    responses: objectives.map(({ name, aim }) => ({ name, aim })),
    points,
    says: frontWords(objectives, points),
  };
}

function frontWords(
  objectives: readonly FrontObjective[],
  points: readonly TradeOffPoint[],
): string {
  if (points.length === 0) return 'No setting keeps the limits of line and grade.';
  if (points.length === 1)
    return 'One setting is best in every response: there is nothing to trade.';
  const parts = objectives.map(({ name }) => {
    const values = points.map((point) => point.values[name]!);
    const text = (value: number): string => String(Number(value.toPrecision(3)));
    return `${name} ${text(Math.min(...values))} … ${text(Math.max(...values))}`;
  });
  return `${points.length} settings that nothing betters: ${parts.join(', ')}.`;
}
