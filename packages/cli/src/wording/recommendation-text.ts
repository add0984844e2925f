import type { Recommendation, StudyState } from '@strandwise/core';
import { inLetters } from '../terminal/ascii.ts';
import { painted } from '../terminal/line.ts';
import type { Theme } from '../theme.ts';
import { windowLines } from './window-lines.ts';

/** The recommendation as text: set points first, then what to expect and how far it may wander. */
export const recommendationText = (
  recommendation: Recommendation,
  state: StudyState,
  theme: Theme,
  columns = 100,
): string => painted(inLetters(windowLines(recommendation, state, columns, theme), theme), theme);
