import { guessLineFormat, type LineFormat } from '@strandwise/gauge';
import { formatFromWords, formatWords } from '../../reading/format-words.ts';

/** Lines looked at before a guess is offered. */
export const linesWanted = 10;

/** Describing a gauge once: its lines as they come, a guess, what the person makes of it. */
export interface GaugeScreen {
  readonly place: string;
  readonly lines: readonly string[];
  /** What the gauge has to say about being reached. */
  readonly trouble: string | null;
  readonly unsure: readonly string[];
  readonly draft: string;
  readonly notice: string | null;
  readonly outcome: { readonly format: LineFormat } | 'left' | null;
}

export const openingGauge = (place: string): GaugeScreen => ({
  place,
  lines: [],
  trouble: null,
  unsure: [],
  draft: '',
  notice: null,
  outcome: null,
});

export type GaugeIntent =
  | { readonly kind: 'line'; readonly raw: string }
  | { readonly kind: 'trouble'; readonly says: string }
  | { readonly kind: 'typed'; readonly text: string }
  | { readonly kind: 'erased' }
  | { readonly kind: 'accept' }
  | { readonly kind: 'leave' };

export function reduceGauge(screen: GaugeScreen, intent: GaugeIntent): GaugeScreen {
  switch (intent.kind) {
    case 'line': {
      if (intent.raw.trim() === '') return screen;
      const heard = { ...screen, trouble: null };
      if (screen.lines.length >= linesWanted) return heard;
      return guessed({ ...heard, lines: [...screen.lines, intent.raw] });
    }
    case 'trouble':
      return { ...screen, trouble: intent.says };
    case 'typed':
      return { ...screen, notice: null, draft: screen.draft + intent.text };
    case 'erased':
      return { ...screen, notice: null, draft: [...screen.draft].slice(0, -1).join('') };
    case 'leave':
      return { ...screen, outcome: 'left' };
    case 'accept': {
      if (screen.draft.trim() === '')
        return { ...screen, notice: 'There are no lines to go by yet.' };
      const read = formatFromWords(screen.draft);
      return read.kind === 'wrong'
        ? { ...screen, notice: read.says }
        : { ...screen, outcome: { format: read.format } };
    }
  }
}

/** A new guess with each line, while nothing has been changed by hand. */
function guessed(screen: GaugeScreen): GaugeScreen {
  const before = guessOf(screen.lines.slice(0, -1));
  if (screen.draft !== before.draft) return screen;
  return { ...screen, ...guessOf(screen.lines) };
}

function guessOf(lines: readonly string[]): Pick<GaugeScreen, 'draft' | 'unsure'> {
  if (lines.length < 3) return { draft: '', unsure: [] };
  const guess = guessLineFormat(lines);
  return guess.kind === 'guess'
    ? { draft: formatWords({ ...guess.format, headerLines: 0 }), unsure: guess.unsure }
    : { draft: '', unsure: [guess.says] };
}
