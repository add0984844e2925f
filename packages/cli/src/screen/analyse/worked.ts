import { cellInfluences, nextSteps, recommendation } from '@strandwise/core';
import { useEffect, useRef, useState } from 'react';
import { tradedSettings } from '../../analysis/traded-settings.ts';
import type { Analysis } from '../../command/fit/study-analysis.ts';
import type { AnalyseFacts, AnalyseScreen, Worked } from './screen.ts';

/** What takes longer than a key press to know. */
export type WorkedOut = Pick<AnalyseFacts, 'window' | 'influences' | 'next' | 'traded'>;

/** What a screen waits for of the model as it is tried, and of the one in use. */
export interface WorkWanted {
  readonly now: readonly (keyof WorkedOut)[];
  readonly before: readonly (keyof WorkedOut)[];
}

const working = { kind: 'working' } as const;
const nothing: WorkedOut = {
  window: working,
  influences: working,
  next: working,
  traded: working,
};

/** A model that is being edited is left in peace for so long before its window is sought, ms. */
const REST = 500;

/** What the screen shown cannot do without, in the order of need. */
export function workWanted({ at }: AnalyseScreen, isTried: boolean): WorkWanted {
  switch (at) {
    // What they show is known; working in the background would only keep their keys waiting.
    case 'matters':
    case 'surface':
    case 'residuals':
      return { now: [], before: [] };
    case 'model':
      return isTried ? { now: ['window'], before: ['window'] } : { now: [], before: [] };
    case 'trade':
      return { now: ['traded'], before: [] };
    default:
      return { now: ['window', 'influences', 'next'], before: [] };
  }
}

/** Works out piece by piece, after the screen is drawn, what it wants; known pieces of an analysis stay. */
export function useWorked(
  { now, before }: { readonly now: Analysis; readonly before: Analysis },
  asked: number,
  wanted: WorkWanted,
): { readonly now: WorkedOut; readonly before: WorkedOut } {
  const known = useRef(new Map<Analysis, WorkedOut>());
  const [, redraw] = useState(0);
  const of = (analysis: Analysis): WorkedOut => known.current.get(analysis) ?? nothing;
  useEffect(() => {
    const piece = firstMissing(before, wanted.before) ?? firstMissing(now, wanted.now);
    if (!piece) return;
    const timer = setTimeout(
      () => {
        // Of models tried and left again nothing is kept.
        const kept = [now, before].flatMap((analysis) => {
          const found = known.current.get(analysis);
          return found ? ([[analysis, found]] as const) : [];
        });
        known.current = new Map(kept);
        known.current.set(piece.of, workedPiece(of(piece.of), piece.key, piece.of, asked));
        redraw((count) => count + 1);
      },
      wanted.before.length > 0 ? REST : 20,
    );
    return () => clearTimeout(timer);
  });
  function firstMissing(analysis: Analysis, keys: readonly (keyof WorkedOut)[]) {
    const key = keys.find((each) => of(analysis)[each].kind === 'working');
    return key ? { of: analysis, key } : null;
  }
  return { now: of(now), before: of(before) };
}

const isKnown = <T>(value: T): Worked<T> => ({ kind: 'known', value });

function workedPiece(
  out: WorkedOut,
  key: keyof WorkedOut,
  { predictor }: Analysis,
  asked: number,
): WorkedOut {
  if (key === 'traded') return { ...out, traded: isKnown(tradedSettings(predictor)) };
  if (key === 'window') return { ...out, window: isKnown(recommendation(predictor, asked)) };
  const found = out.window.kind === 'known' ? out.window.value : null;
  const recipe = found?.kind === 'found' || found?.kind === 'nowhere acceptable' ? found : null;
  return key === 'influences'
    ? { ...out, influences: isKnown(recipe ? cellInfluences(predictor, recipe) : []) }
    : { ...out, next: isKnown(recipe ? nextSteps(predictor, recipe, { asked }) : []) };
}
