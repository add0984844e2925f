import type { FactorEffect } from '@strandwise/core';
import type { CaptionedFigure, Finding } from '@strandwise/report';
import { effectFigure } from './effect-figure.ts';
import { changeWords, effectRange } from './effect-words.ts';
import { interactionFigure, levelFigure } from './interaction-figure.ts';
import type { PagedResponse, PagedStudy } from './paged-study.ts';
import { type ResponseEffects, responseEffects } from './response-effects.ts';
import { capital, counted, listed, tiedUnits } from './sentence.ts';

/** With fewer cells nothing can be said of effects. */
const fewestCells = 3;
/** At most so many two-line plots a response; the effect plot names all pairs. */
const mostPairs = 4;

/** What matters, response by response. */
export function findings(study: PagedStudy): Finding[] {
  return study.responses.flatMap((response, i) => {
    const effects = responseEffects(study, response);
    if (!effects) return [];
    // The overview shows all; only the first response is drawn in full without asking.
    const isFirst = i === 0;
    return [
      {
        response: response.name,
        sentence: tiedUnits(findingWords(effects)),
        ...(isFirst
          ? { figures: effectFigures(effects), closer: closerFigures(effects) }
          : { figures: [], closer: [...effectFigures(effects), ...closerFigures(effects)] }),
      },
    ];
  });
}

function findingWords({ response, alone, pairs, named, idle }: ResponseEffects): string {
  const { used } = response.fit.cells;
  if (used < fewestCells)
    return `${counted(used, 'cell')} ${used === 1 ? 'is' : 'are'} too few to tell what moves it.`;
  if (alone.length === 0 && named.length === 0)
    return `No factor was seen to move it: it stayed the same within its scatter over the whole of what was run.`;
  const clear = alone.filter(({ reading }) => reading !== 'cannot tell');
  const together = new Set(
    pairs.filter(({ isClear }) => isClear).flatMap(({ factors }) => factors),
  );
  const unclear = alone
    .filter(({ reading }) => reading === 'cannot tell')
    .map(({ factor }) => factor);
  const onlyTogether = unclear.filter((name) => together.has(name));
  const untold = unclear.filter((name) => !together.has(name));
  const pairWords = pairs.filter(({ isClear }) => isClear).map(({ says }) => says);
  return [
    ...clear.map((effect) => sentenceOf(effect, response, effect === alone[0])),
    ...named.map(({ factor, says, widest }) =>
      widest.isClear ? `Of ${factor}, ${says}.` : `The levels of ${factor} cannot be told apart.`,
    ),
    ...(pairWords.length > 0 ? [`Together: ${pairWords.join('; ')}.`] : []),
    ...(onlyTogether.length > 0
      ? [
          `${capital(listed(onlyTogether))} ${onlyTogether.length === 1 ? 'matters' : 'matter'} by such pairs; alone the direction cannot be told.`,
        ]
      : []),
    ...(untold.length > 0
      ? [`What ${listed(untold)} ${untold.length === 1 ? 'does' : 'do'} cannot be told.`]
      : []),
    ...(idle.length > 0
      ? [
          `${capital(listed(idle))} ${idle.length === 1 ? 'is' : 'are'} not in the model: these runs do not tell ${idle.length === 1 ? 'it' : 'them'} from nothing.`,
        ]
      : []),
  ].join(' ');
}

function sentenceOf(effect: FactorEffect, response: PagedResponse, isLargest: boolean): string {
  const head = `${capital(effect.factor)}${isLargest ? ' matters most' : ''}`;
  if (effect.reading === 'bends') return `${head}: ${effect.says}.`;
  return `${head}: ${changeWords(effect, response)} from ${effectRange(effect)}.`;
}

function effectFigures(effects: ResponseEffects): CaptionedFigure[] {
  return effects.alone.length + effects.pairs.length > 0 ? [effectFigure(effects)] : [];
}

/** Named levels and clear pairs as lines. */
function closerFigures(effects: ResponseEffects): CaptionedFigure[] {
  const { pairs, named, response } = effects;
  const clearPairs = pairs.filter(({ isClear }) => isClear).slice(0, mostPairs);
  return [
    ...named.map((effect) => levelFigure(effect, response)),
    ...(response.decides ? clearPairs.map((pair) => interactionFigure(pair, effects)) : []),
  ];
}
