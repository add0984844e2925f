import { type Model, modelTerms, type Powers, termName } from '../term/term.ts';
import type { Plan } from './plan.ts';
import type { PlannedTerm, PlanProperties } from './plan-properties.ts';
import { type StatedChange, statedEffect, statedSigma } from './stated-change.ts';

/** Something that a plan cannot tell, in a whole sentence. */
export type PlannedDoubt = PlanProperties['cannotTell'][number];

/** Terms of the asked model that the plan has too few runs or levels for. */
export function droppedWords(
  dropped: readonly Powers[],
  assessed: Model,
  { design }: Plan,
): PlannedDoubt[] {
  if (dropped.length === 0) return [];
  const names = dropped.map(termName);
  const shown = names.slice(0, 4).join(', ');
  const more = names.length > 4 ? ` and ${names.length - 4} more` : '';
  const kept = modelTerms(assessed, design.factors).length;
  return [
    {
      kind: 'too-small-for-model',
      words: `Too few runs, or too few levels, to tell ${shown}${more} from the rest; what is said of the other ${kept} terms supposes that these are small.`,
    },
  ];
}

/** Correlation with time from which a drift can pass for a factor's effect; common practice. */
const TREND_WORTH_SAYING = 0.5;

/** Factors whose settings follow the run order. */
export function driftWords({ ordered }: Plan): PlannedDoubt[] {
  const risky = ordered.trends.filter(({ linear }) => linear > TREND_WORTH_SAYING);
  if (risky.length === 0) return [];
  const names = risky.map(({ factor, linear }) => `${factor} (${linear.toFixed(2)})`).join(', ');
  return [
    {
      kind: 'follows-time',
      words: `A drift over the day cannot be told from an effect of ${names}: the order follows time.`,
    },
  ];
}

/** Terms whose stated change is smaller than its standard error. */
export function noiseWords(terms: readonly PlannedTerm[], change: StatedChange): PlannedDoubt[] {
  const weak = terms.filter(({ powers, standardError, df }) => {
    if (standardError === null || df <= 0 || Object.keys(powers).length === 0) return false;
    return statedEffect(powers, change).coefficient < standardError * statedSigma(change);
  });
  if (weak.length === 0) return [];
  const names = weak.slice(0, 4).map(({ name }) => name);
  const more = weak.length > 4 ? ` and ${weak.length - 4} more` : '';
  return [
    {
      kind: 'below-noise',
      words: `The stated change in ${names.join(', ')}${more} is smaller than its own standard error: it will not show.`,
    },
  ];
}
