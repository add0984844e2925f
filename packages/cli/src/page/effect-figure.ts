import {
  backOnScale,
  centredRow,
  type FactorEffect,
  type InteractionEffect,
  isNumeric,
  naturalValue,
  type ResponseSurface,
} from '@strandwise/core';
import {
  type CaptionedFigure,
  type Effect,
  estimateWithInterval,
  fixed,
  significantFigures,
  withUnit,
} from '@strandwise/report';
import { effectRange, signedChange } from './effect-words.ts';
import type { ResponseEffects } from './response-effects.ts';
import { counted, tiedUnits } from './sentence.ts';
import { endDecimals } from './setting.ts';

const curveSteps = 24;

/** All effects of one response in one picture, in order of the part they have in it. */
export function effectFigure(effects: ResponseEffects): CaptionedFigure {
  const { response, alone, pairs, surface } = effects;
  const isRatio = surface.scale === 'ln response' || surface.scale === 'ln rate';
  const isOdds = surface.scale === 'log odds';
  const scale = isRatio ? 100 : 1;
  const unit = isRatio ? '%' : isOdds ? '' : (response.unit ?? '');
  const label = `change in ${isOdds ? `log odds of ${response.name}` : response.name}`;
  const rows = [
    ...alone.map((effect) => aloneRow(effect, effects, scale)),
    ...pairs.map((pair) => pairRow(pair, scale)),
  ];
  return {
    caption: effectCaption(effects),
    note: `The others at centre; bars are 95${'\u202f'}% intervals, open where they hold zero.${pairs.length > 0 ? ' Of a pair: how much the first one’s change differs between the low and the high of the second.' : ''}`,
    figure: {
      kind: 'effects',
      title: `What moves ${response.name}`,
      description: `${counted(alone.length, 'factor')} and ${counted(pairs.length, 'pair')} in order of their part in ${response.name}; the text above names them.`,
      change: { label, unit, isRatio },
      effects: rows,
    },
  };
}

/** The figure's answer: the largest clear effect. */
function effectCaption({ alone, pairs, response }: ResponseEffects): string {
  const [first] = alone.filter(({ reading }) => reading !== 'cannot tell');
  const pair = pairs.find(({ isClear }) => isClear);
  if (!first) {
    return pair
      ? `No factor alone tells where ${response.name} goes, but together: ${pair.says}`
      : `No single effect on ${response.name} is clear of nothing`;
  }
  if (first.reading === 'bends' && first.bend) return bendCaption(first, first.bend);
  return `From ${effectRange(first)} of ${first.factor}, ${response.name} changes by ${signedChange(first, response)}`;
}

/** "The bowl in level bottoms out at 194 °C (188 … 199)". */
function bendCaption(
  { factor, unit }: FactorEffect,
  { kind, at, low, high }: NonNullable<FactorEffect['bend']>,
): string {
  const head =
    kind === 'bowl' ? `The bowl in ${factor} bottoms out` : `The hill in ${factor} tops out`;
  const text =
    low === null || high === null
      ? withUnit(significantFigures(at, 3), unit)
      : estimateWithInterval({ estimate: at, low, high }, unit);
  return `${head} at ${text}`;
}

function aloneRow(
  effect: FactorEffect,
  { surface, factors }: ResponseEffects,
  scale: number,
): Effect {
  const { factor, low, high, unit, change, bend, reading, says } = effect;
  const decimals = endDecimals({ low, high });
  return {
    name: factor,
    range: `${fixed(low, decimals)} → ${withUnit(fixed(high, decimals), unit)}`,
    ...changeBar(change, scale),
    shape: [curve(surface, factors, factor)],
    ...(bend && reading === 'bends'
      ? {
          best: {
            at: bend.at,
            ...(bend.low === null || bend.high === null ? {} : { low: bend.low, high: bend.high }),
          },
        }
      : {}),
    reading: tiedUnits(says.replace(/\s*\(.*\)$/, '')),
  };
}

function changeBar(
  { value, low, high }: FactorEffect['change'],
  scale: number,
): Pick<Effect, 'change'> {
  if (low === null || high === null) return {};
  return { change: { estimate: scale * value, low: scale * low, high: scale * high } };
}

/** The fitted mean along one factor, the others at centre, in the response's unit. */
function curve(
  surface: ResponseSurface,
  factors: ResponseEffects['factors'],
  name: string,
): [number, number][] {
  const i = factors.findIndex((factor) => factor.name === name);
  const factor = factors[i]!;
  if (!isNumeric(factor)) return [];
  return Array.from({ length: curveSteps + 1 }, (_, s) => {
    const coded = -1 + (2 * s) / curveSteps;
    const settings = new Float64Array(factors.length);
    settings[i] = coded;
    const row = centredRow(surface, settings);
    const value = row.reduce((sum, x, j) => sum + x * surface.coefficients[j]!, 0);
    return [naturalValue(coded, factor), backOnScale(surface, value)];
  });
}

function pairRow(
  { factors: [along, held], change, lines, says }: InteractionEffect,
  scale: number,
): Effect {
  const ends = [lines[0], lines.at(-1)].filter((line) => line !== undefined);
  const shape = ends.map(({ points }) =>
    points.map(({ at, mean }, i): [number, number] => [
      typeof at === 'number' ? at : i,
      mean.value,
    ]),
  );
  return {
    name: `${along} × ${held}`,
    range: `at high over low ${held}`,
    ...changeBar(change, scale),
    shape,
    reading: says,
  };
}
