import { assurance } from '../surface/assurance.ts';
import { keepingProbability } from '../surface/conformance.ts';
import type { Predictor } from './predictor.ts';

/** How likely a new set-up at one place makes a conforming spool, and how sure that is. */
export interface Chance {
  readonly probability: number;
  /** Standard error of its computation. */
  readonly error: number;
  /** The least it can be, with `confidence`, given what the data leave open. */
  readonly notBelow: number;
  readonly notAbove: number;
  readonly confidence: number;
  /** If the estimates were the truth: what the process allows, free of doubt about the model. */
  readonly estimatesTrue: number;
  /** Each requirement alone, and that a strand forms; least likely first. */
  readonly parts: readonly { readonly says: string; readonly probability: number }[];
  /** The least likely part. */
  readonly binding: string;
  /** In words: "0.93 (not below 0.86)". */
  readonly says: string;
}

/** The chance at coded settings; null when some requirement cannot be judged. */
export function chanceAt(predictor: Predictor, settings: Float64Array): Chance | null {
  const { conformance, judged, strand, state } = predictor;
  if (!conformance) return null;
  const { probability, error } = conformance.at(settings);
  const sure = assurance(conformance.parts, { seed: state.opened.seed })(settings);
  const parts = [
    ...judged.map((each) => ({
      says: each.requirement.says,
      probability: keepingProbability(each, settings) ?? 0,
    })),
    { says: 'a strand forms', probability: strand.probability(settings) },
  ].sort((a, b) => a.probability - b.probability);
  // The promise comes from draws of its own: rounding must not lift it above the chance itself.
  const notBelow = Math.min(sure.notBelow, probability);
  return {
    probability,
    error,
    notBelow,
    notAbove: Math.max(sure.notAbove, probability),
    confidence: sure.confidence,
    estimatesTrue: sure.estimatesTrue,
    parts,
    binding: parts[0]!.says,
    says: `${shareWords(probability)} (not below ${notBelow >= 0.995 ? '0.99' : shareWords(notBelow)})`,
  };
}

/** A probability in two decimals, never rounded up to certainty or down to nothing. */
export const shareWords = (share: number): string =>
  share >= 0.995 ? 'over 0.99' : share < 0.005 ? 'under 0.01' : share.toFixed(2);

/** Why no setting conforms as asked, in the words of an answer rather than of an error. */
export interface Shortfall {
  readonly kind: 'not with these data';
  readonly asked: number;
  /** Best probability that could be found, or that of the settings told. */
  readonly best: number;
  /** The requirement that holds it down. */
  readonly binding: string;
  /**
   * `doubt`: the estimates, if true, would do; more runs may show it. `process`: they would not; the
   * scatter or the mean must change. `strand`: no strand is sure to form there.
   */
  readonly cause: 'doubt' | 'process' | 'strand';
  readonly says: string;
}

/**
 * The shortfall at one place.
 *
 * @param options - `isBest`: no place found has a better chance (default); else one has, at a price
 */
export function shortfallOf(
  chance: Chance,
  asked: number,
  { isBest = true }: { readonly isBest?: boolean } = {},
): Shortfall {
  const { probability, binding, estimatesTrue } = chance;
  const cause =
    binding === 'a strand forms' ? 'strand' : estimatesTrue >= asked ? 'doubt' : 'process';
  const why = {
    doubt: `If the estimates were exact it would be ${shareWords(estimatesTrue)}: more runs can show it.`,
    process: `Even if the estimates were exact it would be only ${shareWords(estimatesTrue)}: the process must change, or what is asked of it.`,
    strand: 'There a strand is not sure to form.',
  }[cause];
  const place = isBest
    ? 'Not with these data: the best chance found'
    : 'The chance at these settings';
  const says = `${place} is ${shareWords(probability)}, asked is ${asked}. What binds is "${binding}". ${why}`;
  return { kind: 'not with these data', asked, best: probability, binding, cause, says };
}
