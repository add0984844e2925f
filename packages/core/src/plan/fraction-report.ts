import { z } from 'zod';
import type { Design } from '../design/design.ts';
import {
  type FractionFacts,
  fractionFacts,
  type SignedWord,
} from '../design/two-level/fraction-facts.ts';

/** A product of factors: its letters, with a minus in front where it carries one. */
const Word = z.string();

/**
 * What a two-level design, or the two-level part of another, can and cannot tell apart. Words and
 * chains are in letters, one a factor (`letters`). `wordLengthPattern`: words of length 3, 4, …
 * Where no fraction is regular, as in most Plackett–Burman plans, lengths count by their squared
 * correlation, and chains have no meaning.
 */
export const FractionReport = z.strictObject({
  kind: z.enum(['full', 'regular', 'non-regular']),
  letters: z.array(z.strictObject({ letter: z.string(), factor: z.string() })),
  /** Length of the shortest word; null when all combinations are run. */
  resolution: z.int().nullable(),
  wordLengthPattern: z.array(z.number()),
  /** Each generated factor by the basic ones, such as "E = ABC". */
  generators: z.array(z.string()),
  /** Words equal to I. */
  definingWords: z.array(Word),
  /** Effects of one and two factors that share a contrast. */
  aliasChains: z.array(z.array(Word)),
  /** Interactions that share their contrast with no main effect and no other interaction of two. */
  clearInteractions: z.array(Word),
  /** Effects that a difference between blocks moves. */
  confoundedWithBlocks: z.array(Word),
});
export type FractionReport = z.infer<typeof FractionReport>;

/** The facts of the corner runs; null when the design is no two-level one. */
export function fractionReport(design: Design): FractionReport | null {
  const facts = fractionFacts(design);
  if (facts.kind === 'regular') return regular(facts);
  if (facts.kind !== 'non-regular') return null;
  // Products of 1, 2, 3, … factors; a part of lengths 1 and 2 means unbalanced or correlated columns.
  const pattern = facts.generalisedWordLengthPattern;
  const first = pattern.findIndex((value) => value > 1e-9);
  return {
    kind: 'non-regular',
    letters: [...facts.letters],
    resolution: first < 0 ? null : first + 1,
    wordLengthPattern: pattern.slice(2),
    generators: [],
    definingWords: [],
    aliasChains: [],
    clearInteractions: [],
    confoundedWithBlocks: [],
  };
}

function regular(facts: Extract<FractionFacts, { kind: 'regular' }>): FractionReport {
  return {
    kind: facts.resolution === null ? 'full' : 'regular',
    letters: [...facts.letters],
    resolution: facts.resolution,
    wordLengthPattern: [...facts.wordLengthPattern],
    generators: [...facts.generators],
    definingWords: facts.words.map(text),
    aliasChains: facts.aliasChains.filter((chain) => chain.length > 1).map((c) => c.map(text)),
    clearInteractions: facts.clearInteractions.map(text),
    confoundedWithBlocks: facts.confoundedWithBlocks.map(text),
  };
}

const text = ({ letters, sign }: SignedWord): string => (sign < 0 ? `−${letters}` : letters);
