import { isNumeric } from '../../factor/factor.ts';
import { termName } from '../../term/term.ts';
import { definitiveScreeningFit } from '../definitive-screening-fit.ts';
import type { CannotSay } from './fit-result.ts';
import type { Prepared } from './prepared.ts';
import type { ScreeningReport } from './screening-result.ts';

/** What the plan's own two stages say, or what keeps them from it. */
export interface Screened {
  readonly report: ScreeningReport | null;
  readonly cannotSay: readonly CannotSay[];
}

const nothing: Screened = { report: null, cannotSay: [] };

/** The two-stage reading of a definitive screening plan; nothing for any other plan. */
export function screeningReport(prepared: Prepared): Screened {
  const { factors, runs, y, weights, model } = prepared;
  const isPlain = !weights && model.columns.every(({ isAside }) => !isAside);
  if (!isPlain || !factors.every(isNumeric)) return nothing;
  const names = factors.map(({ name }) => name);
  const coded = runs.map((run) => names.map((name) => Number(run.coded[name])));
  const found = definitiveScreeningFit(coded, y, names);
  if (found.kind === 'another-plan') return nothing;
  if (found.kind === 'no-error-estimate') {
    const says =
      'The plan mirrors its runs, but leaves nothing over to judge main effects by: its two stages need spare columns or repeated centre runs. Add centre runs.';
    return { report: null, cannotSay: [{ kind: 'not-replicated', says }] };
  }
  const { errorSd, errorDf, threshold, mainEffects, secondOrder, terms } = found;
  const active = mainEffects.flatMap(({ name, isActive }) => (isActive ? [name] : []));
  const second = secondOrder.map(termName);
  const first =
    active.length === 0
      ? 'no main effect stands out'
      : `${active.join(', ')} ${active.length === 1 ? 'stands' : 'stand'} out`;
  const then =
    active.length === 0
      ? ''
      : second.length === 0
        ? '; the sums of mirrored runs ask for no square or product of them'
        : `; of their squares and products the runs ask for ${second.join(', ')}`;
  const report: ScreeningReport = {
    says: `By the plan’s own two stages ${first} (p below ${threshold} on error free of squares and products)${then}.`,
    errorSd,
    errorDf,
    threshold,
    mainEffects: [...mainEffects],
    secondOrder: second,
    terms: [...terms],
  };
  return { report, cannotSay: [] };
}
