import type { FittedTerm, ResponseFit } from './fit-result.ts';

/** One figure of a fit before and after a change of its model. */
export interface ChangedFigure {
  readonly name: string;
  readonly before: number | null;
  readonly after: number | null;
}

/** What changing a model did to its fit. */
export interface ModelChange {
  readonly added: readonly string[];
  readonly dropped: readonly string[];
  readonly figures: readonly ChangedFigure[];
  /** Plain sentences, the most telling first. */
  readonly says: readonly string[];
}

/** Two models this close by AICc cannot be told apart by these runs. */
const ALIKE = 2;

/**
 * What changed from one fit of a response to another: terms, information, scatter, and the terms whose
 * verdict or value moved.
 */
export function modelChange(before: ResponseFit, after: ResponseFit): ModelChange {
  const names = (fit: ResponseFit): string[] => fit.terms.map(({ name }) => name);
  const added = names(after).filter((name) => !names(before).includes(name));
  const dropped = names(before).filter((name) => !names(after).includes(name));
  const figures: ChangedFigure[] = [
    { name: 'AICc', before: before.aicc, after: after.aicc },
    { name: 'residual SD', before: before.residualSd, after: after.residualSd },
    { name: 'R²', before: before.rSquared, after: after.rSquared },
    { name: 'predictive R²', before: before.predictiveRSquared, after: after.predictiveRSquared },
    { name: 'df left', before: before.dfResidual, after: after.dfResidual },
  ].filter((figure) => figure.before !== null || figure.after !== null);
  const says = [
    ...exchanged(added, dropped),
    ...information(before.aicc, after.aicc),
    ...dropTests(before, dropped),
    ...verdicts(before, after),
    ...shifts(before, after),
  ];
  return { added, dropped, figures, says };
}

function exchanged(added: readonly string[], dropped: readonly string[]): string[] {
  if (added.length === 0 && dropped.length === 0) return ['The model is the same.'];
  const parts = [
    dropped.length > 0 ? `without ${dropped.join(', ')}` : '',
    added.length > 0 ? `with ${added.join(', ')}` : '',
  ].filter((part) => part !== '');
  return [`Now ${parts.join(', ')}.`];
}

function information(before: number | null, after: number | null): string[] {
  if (before === null || after === null) return [];
  const gain = before - after;
  if (Math.abs(gain) < ALIKE)
    return [
      `By AICc the two are alike (${gain >= 0 ? 'better' : 'worse'} by ${Math.abs(gain).toFixed(1)}).`,
    ];
  return [`By AICc it is ${gain > 0 ? 'better' : 'worse'} by ${Math.abs(gain).toFixed(1)}.`];
}

/** A dropped term that the larger model found clear of zero is missed. */
function dropTests({ terms }: ResponseFit, dropped: readonly string[]): string[] {
  const missed = terms.filter(({ name, p }) => dropped.includes(name) && p !== null && p < 0.05);
  if (missed.length === 0) return [];
  return [`${missed.map(({ name }) => name).join(', ')} was clear of zero before.`];
}

const isClear = ({ low, high }: FittedTerm): boolean | null =>
  low === null || high === null ? null : low * high > 0;

function verdicts(before: ResponseFit, after: ResponseFit): string[] {
  const now: string[] = [];
  const noLonger: string[] = [];
  for (const term of after.terms) {
    const old = before.terms.find(({ name }) => name === term.name);
    if (!old || term.name === 'intercept') continue;
    if (isClear(term) === true && isClear(old) === false) now.push(term.name);
    if (isClear(term) === false && isClear(old) === true) noLonger.push(term.name);
  }
  return [
    ...(now.length > 0 ? [`Clear of zero now: ${now.join(', ')}.`] : []),
    ...(noLonger.length > 0 ? [`No longer clear of zero: ${noLonger.join(', ')}.`] : []),
  ];
}

/** The estimate that moved most, in its own standard errors. */
function shifts(before: ResponseFit, after: ResponseFit): string[] {
  let most = { name: '', by: 0 };
  for (const term of after.terms) {
    const old = before.terms.find(({ name }) => name === term.name);
    if (!old?.standardError) continue;
    const by = Math.abs(term.estimate - old.estimate) / old.standardError;
    if (by > most.by) most = { name: term.name, by };
  }
  if (most.by < 0.5) return [];
  return [`${most.name} moved by ${most.by.toFixed(1)} of its standard errors.`];
}
