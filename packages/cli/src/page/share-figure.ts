import { type VarianceShare, varianceShares } from '@strandwise/core';
import type { CaptionedFigure, FactorShare } from '@strandwise/report';
import type { PagedResponse, PagedStudy } from './paged-study.ts';
import { capital, listed } from './sentence.ts';

/** More responses than these get no room beside each other. */
const mostResponses = 4;

/** Which factors move which response, as shares of what each does over the region; null without surfaces. */
export function shareFigure(study: PagedStudy): CaptionedFigure | null {
  const { state, predictor } = study;
  const { factors, seed } = state.opened;
  const told = study.responses
    .filter(({ decides, surface }) => decides && surface !== null)
    .slice(0, mostResponses)
    .map((response) => ({
      response,
      ...varianceShares({
        surface: response.surface!,
        factors,
        constraints: predictor.constraints,
        seed,
      }),
    }))
    .filter(({ surfaceSd }) => surfaceSd > 0);
  if (told.length === 0 || factors.length < 2) return null;
  const names = factors
    .map(({ name }) => name)
    .sort((a, b) => largestOf(b, told) - largestOf(a, told));
  const isCut = told.some(({ region }) => region === 'cut region, sampled');
  return {
    caption: capital(told.map(leaderWords).join('; ')),
    note: `Of all that the fitted response does over the settings allowed, the part that each factor has a hand in. Shares add to more than 100${'\u202f'}% where factors act together.${isCut ? ' Limits of line or grade cut the region, so these shares have no interval.' : ''}`,
    figure: {
      kind: 'shares',
      title: 'Which factors move which response',
      description: told.map(({ says }) => says).join(' '),
      factors: names,
      responses: told.map(({ response, shares }) => ({
        name: response.name,
        shares: names.map((name) => shownShare(shares.find(({ factor }) => factor === name)!)),
      })),
    },
  };
}

const largestOf = (
  name: string,
  told: readonly { readonly shares: readonly VarianceShare[] }[],
): number =>
  Math.max(...told.map(({ shares }) => shares.find(({ factor }) => factor === name)?.total ?? 0));

/** "SD of diameter is moved mostly by screw and level". */
function leaderWords({
  response,
  shares,
}: {
  readonly response: PagedResponse;
  readonly shares: readonly VarianceShare[];
}): string {
  const leaders = shares.filter(({ total }) => total >= 0.25).map(({ factor }) => factor);
  const named = leaders.length > 0 ? leaders : shares.slice(0, 1).map(({ factor }) => factor);
  return `${response.name} is moved mostly by ${listed(named)}`;
}

const shownShare = ({ reading, alone, total, low, high }: VarianceShare): FactorShare | null =>
  reading === 'not in the model'
    ? null
    : { alone, total, ...(low === null || high === null ? {} : { low, high }) };
