import { z } from 'zod';
import { DomainError } from '../../error/domain-error.ts';
import type { Factor } from '../../factor/factor.ts';
import { type Model, termOrder } from '../../term/term.ts';
import { withCentrePoints } from '../augment/centre-points.ts';
import { replicated } from '../augment/replicate.ts';
import type { Design } from '../design.ts';
import {
  assertFactorCount,
  assertTwoLevel,
  commonOptions,
  designFamily,
} from '../family-definition.ts';
import { factorPosition } from '../known-name.ts';
import { blocksOf } from './blocked.ts';
import { type ClearFraction, fractionWithClear } from './clear-interactions.ts';
import {
  columnSetOf,
  mostFractionFactors,
  mostFractionRank,
  resolutionOf,
  unitFirst,
} from './column-set.ts';
import { fractionFacts } from './fraction-facts.ts';
import { describeFraction } from './fraction-words.ts';
import type { FactorPair } from './labelled-search.ts';
import { roman } from './letter.ts';
import { minimumAberration } from './minimum-aberration.ts';
import { twoLevelRuns } from './two-level-runs.ts';

const family = 'fractional factorial';

/** A regular two-level fraction of least aberration, found by search. */
export const fractionalFactorial = designFamily({
  name: family,
  says: 'A chosen share of all two-level combinations: many factors in few runs, aliases known beforehand.',
  options: z.strictObject({
    ...commonOptions,
    /** A power of two. Without it the smallest that reaches the resolution. */
    runs: z.int().min(4).optional(),
    /** Least resolution. Without it and without `runs`: 4 for main effects, 5 with interactions. */
    resolution: z.int().min(3).max(15).optional(),
    /** Pairs of factors whose interaction must share its contrast with no other of the first two orders. */
    clear: z.array(z.tuple([z.string(), z.string()])).default([]),
    blocks: z.int().min(1).default(1),
  }),
  build: ({ factors, model, options }) => {
    assertFactorCount(family, factors, {
      least: 3,
      most: mostFractionFactors,
      instead:
        factors.length < 3
          ? 'Use "full factorial".'
          : 'Use "plackett-burman", or leave factors out.',
    });
    assertTwoLevel(family, factors);
    const pairs = options.clear.map((pair) => pairOf(pair, factors));
    const { columns, rank, note } = chosenFraction(factors, model, { ...options, pairs });
    const kept = pairs.map(([a, b]) => columns[a]! ^ columns[b]!);
    const set = columnSetOf(unitFirst(columns), rank);
    const { generators, notes: blockNotes } = blocksOf(set, options.blocks, kept);
    const runs = twoLevelRuns(columns, rank, factors, generators);
    const bare: Design = { family, factors, runs, notes: [] };
    const design = {
      ...bare,
      notes: [note, ...describeFraction(fractionFacts(bare)), ...blockNotes],
    };
    return replicated(withCentrePoints(design, options.centrePoints ?? 0), options.replicates);
  },
});

interface ChosenFraction {
  /** One vector a factor, in the order of the factors. */
  readonly columns: readonly number[];
  readonly rank: number;
  readonly note: string;
}

interface FractionWish {
  readonly runs?: number | undefined;
  readonly resolution?: number | undefined;
  readonly pairs: readonly FactorPair[];
}

function chosenFraction(
  factors: readonly Factor[],
  model: Model,
  { runs, resolution, pairs }: FractionWish,
): ChosenFraction {
  const k = factors.length;
  const least = resolution ?? (runs === undefined ? defaultResolution(model) : 3);
  const rank = runs === undefined ? smallestRank(k, least) : rankOf(runs, k);
  if (pairs.length === 0 || rank === k || least >= 5) return leastAberration(k, rank, least);
  const names = pairs.map(([a, b]) => `${factors[a]!.name} × ${factors[b]!.name}`).join(', ');
  for (let size = rank; ; size++) {
    if (size === k) return leastAberration(k, size, least);
    const answer = clearAnswer(k, size, pairs, least);
    if (answer.kind === 'met') return clearFraction(answer, size, names);
    if (runs !== undefined || size >= Math.min(mostFractionRank, k)) {
      throw notClear(answer, { names, k, rank: size, least });
    }
  }
}

/** Main effects clear as well when that is possible, mixed with other interactions when not. */
function clearAnswer(
  k: number,
  rank: number,
  pairs: readonly FactorPair[],
  least: number,
): ClearFraction {
  const strict = fractionWithClear(k, rank, pairs, 4);
  return strict.kind === 'met' || least >= 4 ? strict : fractionWithClear(k, rank, pairs, 3);
}

function defaultResolution(model: Model): number {
  const order =
    typeof model === 'string'
      ? { main: 1, interactions: 2, quadratic: 2 }[model]
      : Math.max(0, ...model.terms.map(termOrder));
  return order > 1 ? 5 : 4;
}

function rankOf(runs: number, k: number): number {
  const rank = Math.log2(runs);
  const smallest = Math.ceil(Math.log2(k + 1));
  const largest = Math.min(mostFractionRank, k);
  if (Number.isInteger(rank) && rank >= smallest && rank <= largest) return rank;
  const allowed = Array.from({ length: largest - smallest + 1 }, (_, i) => 2 ** (smallest + i));
  throw new DomainError(
    'bad_run_count',
    `designOf: runs of a two-level fraction of ${k} factors must be one of ${allowed.join(', ')}; got ${runs}. Choose one of these.`,
    { runs, allowed },
  );
}

function smallestRank(k: number, resolution: number): number {
  const largest = Math.min(mostFractionRank, k);
  for (let rank = Math.ceil(Math.log2(k + 1)); rank <= largest; rank++) {
    const reached = resolutionOf(minimumAberration(k, rank).best) ?? Infinity;
    if (reached >= resolution) return rank;
  }
  throw impossible(k, largest, resolution);
}

function leastAberration(k: number, rank: number, least: number): ChosenFraction {
  const { best, proof } = minimumAberration(k, rank);
  if ((resolutionOf(best) ?? Infinity) < least) throw impossible(k, rank, least);
  const standing =
    proof.kind === 'proven'
      ? 'least aberration, proven by a complete search'
      : 'best aberration found; a complete search was out of reach';
  const shape = rank === k ? `2^${k}` : `2^(${k}−${k - rank})`;
  const note = `Fraction ${shape}: ${1 << rank} runs, ${rank === k ? 'all combinations' : standing}.`;
  return { columns: best.columns, rank, note };
}

function impossible(k: number, rank: number, asked: number): DomainError {
  const { best, proof } = minimumAberration(k, rank);
  const reached = roman(resolutionOf(best) ?? k + 1);
  const how = proof.kind === 'proven' ? 'proven by a complete search' : 'the best found';
  const next =
    rank < Math.min(mostFractionRank, k)
      ? `Ask for more runs, or accept resolution ${reached}.`
      : `Accept resolution ${reached}, use fewer factors, or use "optimal".`;
  return new DomainError(
    'resolution_impossible',
    `designOf: resolution of ${k} factors in ${1 << rank} runs must be at most ${reached} (${how}); got ${roman(asked)}. ${next}`,
    { factors: k, runs: 1 << rank, asked, best: resolutionOf(best) },
  );
}

function clearFraction(
  { columns, proof }: Extract<ClearFraction, { kind: 'met' }>,
  rank: number,
  names: string,
): ChosenFraction {
  const k = columns.length;
  const standing =
    proof === 'proven'
      ? 'with the least aberration of any fraction of this size'
      : 'with the least aberration found for this request (not proven least)';
  const note = `Fraction 2^(${k}−${k - rank}): ${1 << rank} runs, ${standing}. Kept clear as asked: ${names}.`;
  return { columns, rank, note };
}

function notClear(
  answer: Exclude<ClearFraction, { kind: 'met' }>,
  asked: {
    readonly names: string;
    readonly k: number;
    readonly rank: number;
    readonly least: number;
  },
): DomainError {
  const { names, k, rank, least } = asked;
  const why =
    answer.kind === 'impossible'
      ? answer.why
      : `none found among ${answer.examined} tried, none excluded`;
  const next =
    answer.enoughRuns === null
      ? 'Ask for fewer clear interactions, or use "optimal".'
      : `${answer.enoughRuns} runs can do it.`;
  return new DomainError(
    'interactions_not_clear',
    `designOf: the fraction must keep ${names} clear; got ${k} factors in ${1 << rank} runs${least >= 4 ? ' at resolution IV' : ''} (${why}). ${next}`,
    { factors: k, runs: 1 << rank, enoughRuns: answer.enoughRuns, kind: answer.kind },
  );
}

function pairOf(pair: readonly [string, string], factors: readonly Factor[]): FactorPair {
  const [a, b] = pair.map((name) =>
    factorPosition(name, factors, 'designOf: factor in option "clear"'),
  );
  if (a !== b) return [a!, b!];
  throw new DomainError(
    'same_factor',
    `designOf: an interaction to keep clear must have two different factors; got "${pair[0]}" twice. Name two.`,
    { name: pair[0] },
  );
}
