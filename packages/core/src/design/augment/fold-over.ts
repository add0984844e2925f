import { DomainError } from '../../error/domain-error.ts';
import type { Point } from '../../factor/coding.ts';
import { type Factor, isNamed } from '../../factor/factor.ts';
import type { Design } from '../design.ts';
import { factorPosition } from '../known-name.ts';
import { type FractionFacts, fractionFacts } from '../two-level/fraction-facts.ts';
import { clearMainEffects, resolutionMeaning } from '../two-level/fraction-words.ts';
import { roman } from '../two-level/letter.ts';

/** What to reverse, and which of the reversed runs to keep. */
export interface FoldOver {
  /** Factors whose signs are reversed: all of them (full fold-over) or those named. */
  readonly reverse?: 'all' | readonly string[];
  /** Half fold-over: only new runs with this factor at this end are made. */
  readonly keep?: { readonly factor: string; readonly at: 'low' | 'high' };
}

/**
 * The design followed by its fold-over as new blocks: the same runs with signs reversed. All signs
 * reversed clears main effects of two-factor interactions; one factor reversed clears that factor
 * and its interactions; half of either saves runs and clears part. Centre runs are not repeated.
 *
 * @throws {DomainError} `unknown_factor` when a name is no factor of the design
 * @throws {DomainError} `cannot_fold` when a reversed factor has three or more named levels, or no
 * run is left to keep
 * @source NIST/SEMATECH e-Handbook, section 5.3.3.8 (mirror-image and alternative fold-over)
 */
export function foldOver(design: Design, { reverse = 'all', keep }: FoldOver = {}): Design {
  const { factors, runs } = design;
  const reversed = reverse === 'all' ? factors : reverse.map((name) => factorNamed(name, factors));
  assertReversible(reversed);
  const blocks = Math.max(0, ...runs.map(({ block }) => block));
  const added = runs
    .filter(({ kind }) => kind !== 'centre')
    .map((run) => ({
      ...run,
      coded: mirrored(run.coded, reversed),
      block: run.block + blocks,
      wholePlot: null,
      subWholePlot: null,
    }))
    .filter(({ coded }) => isKept(coded, keep, factors));
  if (reversed.length === 0 || added.length === 0) {
    throw new DomainError(
      'cannot_fold',
      `foldOver: the fold-over must add runs; got ${reversed.length} factors to reverse and ${added.length} runs to keep. Reverse at least one factor, and keep an end it is run at.`,
    );
  }
  const folded = { ...design, runs: [...runs, ...added] };
  return { ...folded, notes: [...design.notes, foldNote(design, folded, reversed, keep)] };
}

function factorNamed(name: string, factors: readonly Factor[]): Factor {
  return factors[factorPosition(name, factors, 'foldOver: factor')]!;
}

function assertReversible(factors: readonly Factor[]): void {
  const many = factors.find((factor) => isNamed(factor) && factor.levels.length > 2);
  if (!many || !isNamed(many)) return;
  throw new DomainError(
    'cannot_fold',
    `foldOver: a reversed factor must have two levels; got ${many.levels.length} (factor "${many.name}"). Leave it out of the reversal.`,
    { factor: many.name },
  );
}

function mirrored(coded: Point, reversed: readonly Factor[]): Point {
  const out: Record<string, number | string> = { ...coded };
  for (const factor of reversed) {
    const value = coded[factor.name];
    if (!isNamed(factor)) out[factor.name] = 0 - Number(value);
    else out[factor.name] = factor.levels[value === factor.levels[0] ? 1 : 0]!;
  }
  return out;
}

function isKept(coded: Point, keep: FoldOver['keep'], factors: readonly Factor[]): boolean {
  if (!keep) return true;
  const factor = factorNamed(keep.factor, factors);
  const value = coded[factor.name];
  // A named factor's first level is its high end, as in the coding of model terms.
  const isHigh = isNamed(factor) ? value === factor.levels[0] : Number(value) > 0;
  const isLow = isNamed(factor) ? value === factor.levels.at(-1) : Number(value) < 0;
  return keep.at === 'high' ? isHigh : isLow;
}

function foldNote(
  before: Design,
  after: Design,
  reversed: readonly Factor[],
  keep: FoldOver['keep'],
): string {
  const what =
    reversed.length === after.factors.length
      ? 'all factors reversed'
      : `${reversed.map(({ name }) => name).join(', ')} reversed`;
  const half = keep ? `, only runs with ${keep.factor} ${keep.at}` : '';
  const runs = `before ${before.runs.length} runs, after ${after.runs.length} (${what}${half}, as new blocks)`;
  return `Fold-over: ${runs}. Before: ${standing(fractionFacts(before))}. After: ${standing(fractionFacts(after))}.`;
}

function standing(facts: FractionFacts): string {
  switch (facts.kind) {
    case 'regular':
      return facts.resolution === null
        ? resolutionMeaning(null)
        : `resolution ${roman(facts.resolution)}, ${resolutionMeaning(facts.resolution)} (clear: ${clearCount(facts)})`;
    case 'non-regular':
      if (facts.largestThreeFactorAlias < 0.005)
        return 'main effects are clear of two-factor interactions';
      return `partial aliasing, a two-factor interaction reaches other main effects with a weight of up to ${facts.largestThreeFactorAlias.toFixed(2)}`;
    case 'too-many-factors':
      return `aliases not examined past ${facts.most} factors`;
    case 'not-two-level':
      return `not a two-level design (${facts.why})`;
  }
}

function clearCount(facts: Extract<FractionFacts, { kind: 'regular' }>): string {
  const mains = clearMainEffects(facts.aliasChains);
  const pairs = facts.clearInteractions.map(({ letters }) => letters);
  const shown = [...mains, ...pairs];
  if (shown.length === 0) return 'none';
  if (shown.length <= 16) return shown.join(', ');
  return `${mains.length} main effects and ${pairs.length} interactions`;
}
