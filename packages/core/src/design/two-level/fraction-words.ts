import type { AliasChain, FractionFacts, SignedWord } from './fraction-facts.ts';
import { roman } from './letter.ts';

/** A word as written: "−ABD", or "ABD". */
export function signedLetters({ letters, sign }: SignedWord): string {
  return sign < 0 ? `−${letters}` : letters;
}

/** A chain as written: "AB = CE = −DF". */
export function chainWords(chain: AliasChain): string {
  return chain.map(signedLetters).join(' = ');
}

/** What a resolution means for the reader. */
export function resolutionMeaning(resolution: number | null): string {
  if (resolution === null) return 'every effect is estimated apart from every other';
  if (resolution <= 2) return 'some main effects cannot be told from one another';
  if (resolution === 3) return 'main effects are mixed with two-factor interactions';
  if (resolution === 4) {
    return 'main effects are clear of two-factor interactions, which are mixed with one another';
  }
  return 'main effects and two-factor interactions are all told apart';
}

/** The facts as plain sentences, the most useful first. */
export function describeFraction(facts: FractionFacts): string[] {
  switch (facts.kind) {
    case 'regular':
      return regularSentences(facts);
    case 'non-regular': {
      const [, , three = 0] = facts.generalisedWordLengthPattern;
      const share = facts.largestThreeFactorAlias.toFixed(2);
      return [
        three > 0
          ? `Aliasing is partial: a two-factor interaction leaks into other main effects with a weight of up to ${share}.`
          : 'Main effects are clear of two-factor interactions; the interactions leak into one another in part.',
      ];
    }
    case 'too-many-factors':
      return [`Aliases are not listed past ${facts.most} factors; got ${facts.factors}.`];
    case 'not-two-level':
      return [`Two-level facts do not apply: ${facts.why}.`];
  }
}

function regularSentences(facts: Extract<FractionFacts, { kind: 'regular' }>): string[] {
  const { resolution, words, letters, clearInteractions, confoundedWithBlocks } = facts;
  const key = letters.map(({ letter, factor }) => `${letter} ${factor}`).join(', ');
  if (resolution === null) {
    return [`Full factorial: ${resolutionMeaning(null)}.`, ...blockSentences(confoundedWithBlocks)];
  }
  const sentences = [
    `Resolution ${roman(resolution)}: ${resolutionMeaning(resolution)}.`,
    `Letters: ${key}. Generators: ${facts.generators.join(', ')}.`,
    definingRelation(words),
  ];
  if (resolution <= 4) {
    const mixed = facts.aliasChains.filter((chain) => chain.length > 1).map(chainWords);
    if (mixed.length > 0) sentences.push(`Mixed together: ${mixed.join('; ')}.`);
    const clear = clearInteractions.map((word) => word.letters).join(', ');
    sentences.push(`Clear two-factor interactions: ${clear || 'none'}.`);
  }
  return [...sentences, ...blockSentences(confoundedWithBlocks)];
}

const mostListed = 31;

/** All words when they are few, else the shortest and the number of the rest. */
function definingRelation(words: readonly SignedWord[]): string {
  const shortest = words.filter(({ letters }) => letters.length === words[0]!.letters.length);
  const shown = words.length <= mostListed ? words : shortest;
  const rest = words.length - shown.length;
  const tail = rest > 0 ? `, and ${rest} longer words` : '';
  return `Defining relation: I = ${shown.map(signedLetters).join(' = ')}${tail}.`;
}

/** Main effects whose chain, up to order two, holds nothing else. */
export function clearMainEffects(chains: readonly AliasChain[]): string[] {
  return chains
    .filter((chain) => chain.length === 1 && chain[0]!.factors.length === 1)
    .map((chain) => chain[0]!.letters);
}

function blockSentences(confounded: readonly SignedWord[]): string[] {
  if (confounded.length === 0) return [];
  const words = confounded.map((word) => word.letters).join(', ');
  return [`Cannot be told from differences between blocks: ${words}.`];
}
