import type { DesignRun } from '../design/design.ts';
import { type DfBudget, dfBudget } from '../design/properties/degrees-of-freedom.ts';
import {
  type DesignInformation,
  designInformation,
} from '../design/properties/design-information.ts';
import { lostCells } from '../design/properties/lost-cell.ts';
import { termPrecisions } from '../design/properties/term-precision.ts';
import { codedPoint } from '../factor/coding.ts';
import { modelTerms, termKey } from '../term/term.ts';
import { pointOf } from '../trade/limits.ts';
import type { CellState, StudyState } from './state.ts';

/** Degrees of freedom left to judge effects by, with a cell and without it. */
export interface DfChange {
  readonly stratum: string;
  readonly before: number;
  readonly after: number;
}

/** A term whose chance of being found falls most. */
export interface PowerChange {
  readonly term: string;
  readonly before: number;
  readonly after: number;
}

/** What the plan can no longer tell when a cell is lost. */
export type CellLoss =
  /** The cell is no part of what the fit looks at. */
  | { readonly kind: 'none'; readonly says: string }
  | {
      readonly kind: 'costs';
      readonly df: readonly DfChange[];
      /** Average variance of prediction without the cell over that with it; null when terms go. */
      readonly growth: number | null;
      /** Terms that no other cell can tell. */
      readonly termsLost: readonly string[];
      /** For a change of two noise SDs from low to high at a risk of 0.05; null when none falls. */
      readonly worst: PowerChange | null;
    };

/** The change that power is stated for: one noise SD as a coefficient, at the usual risk. */
const stated = { coefficient: 1, sigma: 1, alpha: 0.05 };

/**
 * The cost of losing one cell, against the plan's own model and the cells that are done or still to
 * do. Settings count as entered where they were.
 */
export function cellLoss(state: StudyState, number: number): CellLoss {
  const lost = state.cells[number - 1];
  if (!state.plan || !lost) return { kind: 'none', says: 'There is no such cell in a plan.' };
  if (lost.purpose === 'confirm') {
    const says = 'It confirms the recipe; the model rests on other cells.';
    return { kind: 'none', says };
  }
  const cells = state.cells.filter(
    ({ cell, status, purpose }) =>
      cell === number || (purpose !== 'confirm' && status !== 'failed' && status !== 'left out'),
  );
  const at = cells.indexOf(lost);
  const before = informationOf(state, cells);
  const rest = cells.filter((cell) => cell !== lost);
  if (rest.length === 0) {
    return { kind: 'costs', df: [], growth: null, termsLost: before.names, worst: null };
  }
  const after = informationOf(state, rest);
  const [budgetBefore, budgetAfter] = [dfBudget(before), dfBudget(after)];
  const loss = lostCells(before)[at]!;
  return {
    kind: 'costs',
    df: dfChanges(budgetBefore, budgetAfter),
    growth: loss.kind === 'grows' ? loss.growth : null,
    termsLost: loss.kind === 'loses-terms' ? loss.terms : [],
    worst: worstPower(before, budgetBefore, after, budgetAfter),
  };
}

function informationOf(state: StudyState, cells: readonly CellState[]): DesignInformation {
  const { factors, line } = state.opened;
  const runs: DesignRun[] = cells.map(({ run, entered }) => ({
    coded: entered ? codedPoint(pointOf(entered, factors, line), factors) : run.coded,
    kind: run.kind,
    block: run.block,
    wholePlot: run.wholePlot,
    subWholePlot: run.subWholePlot,
  }));
  const has = (plot: 'wholePlot' | 'subWholePlot'): 0 | 1 =>
    runs.some((run) => run[plot] !== null) ? 1 : 0;
  return designInformation({
    factors,
    terms: modelTerms(state.plan!.model, factors),
    runs,
    varianceRatios: [has('wholePlot'), has('subWholePlot')],
  });
}

function dfChanges(before: DfBudget, after: DfBudget): DfChange[] {
  return before.strata.map(({ name, error }) => ({
    stratum: name,
    before: error,
    after: after.strata.find((stratum) => stratum.name === name)?.error ?? 0,
  }));
}

function worstPower(
  before: DesignInformation,
  budgetBefore: DfBudget,
  after: DesignInformation,
  budgetAfter: DfBudget,
): PowerChange | null {
  const now = new Map(
    termPrecisions(after, budgetAfter, stated).map((term) => [termKey(term.powers), term.power]),
  );
  let worst: PowerChange | null = null;
  for (const { name, powers, power } of termPrecisions(before, budgetBefore, stated)) {
    if (name === 'intercept' || power === null) continue;
    const left = now.get(termKey(powers)) ?? 0;
    if (power - left > (worst ? worst.before - worst.after : 0.005)) {
      worst = { term: name, before: power, after: left };
    }
  }
  return worst;
}

/** The cost in sentences, the gravest first. */
export function describeCellLoss(loss: CellLoss): string[] {
  if (loss.kind === 'none') return [loss.says];
  const { termsLost, df, worst, growth } = loss;
  const out: string[] = [];
  if (termsLost.length > 0) {
    const more = termsLost.length > 4 ? ` and ${termsLost.length - 4} more` : '';
    out.push(`No other cell can tell ${termsLost.slice(0, 4).join(', ')}${more}.`);
  }
  for (const { stratum, before, after } of df) {
    if (after === before) continue;
    const left = after <= 0 ? 'none: nothing there can be judged' : String(after);
    out.push(`Error df between ${stratum}: ${before} → ${left}.`);
  }
  if (worst) {
    out.push(
      `Chance to see a change of two noise SDs in ${worst.term}: ${worst.before.toFixed(2)} → ${worst.after.toFixed(2)}.`,
    );
  }
  if (growth !== null) {
    const percent = Math.round(100 * (Math.sqrt(growth) - 1));
    out.push(
      percent < 1
        ? 'Predictions stay as sure as they are.'
        : `Predictions become about ${percent} % less sure on average.`,
    );
  }
  return out;
}
