import type { AdditionInput } from '../plan/extension/addition.ts';
import { settingsOf } from '../surface/polynomial.ts';
import type { Predictor } from './predictor.ts';

/** Cells to add and how to speak of them; # stands for their number. */
export interface WishedAddition {
  readonly addition: AdditionInput;
  readonly words: string;
}

/** Cells run again near the recipe, and new ones sought, when nothing else is said. */
const REPLICATED = 4;
const SOUGHT = 6;
const NEW_PLOTS = 3;

/** The whole plots, or the single cells, nearest to the recipe, again. */
export function replicates({ state }: Predictor, at: Float64Array): WishedAddition | null {
  const { factors } = state.opened;
  const done = state.cells
    .filter(({ status, purpose }) => status === 'done' && purpose !== 'confirm')
    .map(({ cell, run }) => ({
      cell,
      plot: run.wholePlot,
      away: distance(settingsOf(run.coded, factors), at),
    }))
    .sort((a, b) => a.away - b.away);
  const first = done[0];
  if (!first) return null;
  if (first.plot === null) {
    const cells = done.slice(0, REPLICATED).map(({ cell }) => cell);
    const words = `Run the # cells nearest to the recipe again (${cells.join(', ')})`;
    return { addition: { kind: 'replicates', cells } as const, words };
  }
  const plots = [...new Set(done.map(({ plot }) => plot))].slice(0, 2);
  const cells = done.filter(({ plot }) => plots.includes(plot)).map(({ cell }) => cell);
  const words = `Set up the ${plots.length} zone settings nearest to the recipe again, # cells`;
  return { addition: { kind: 'replicates', cells } as const, words };
}

const distance = (a: Float64Array, b: Float64Array): number =>
  Math.hypot(...a.map((value, i) => value - b[i]!));

/** New cells where they tell most: for a whole quadratic when terms are mixed up or missing. */
export function augmentation({ state, fits }: Predictor, starts: number): WishedAddition | null {
  if (!state.plan) return null;
  const mixed = fits.responses.flatMap(({ cannotSay }) =>
    cannotSay.flatMap(({ kind, terms }) => (kind === 'aliased' ? (terms ?? []) : [])),
  );
  const isBigger = mixed.length > 0 || state.plan.model === 'main';
  const model = isBigger ? 'quadratic' : state.plan.model;
  const hasPlots = state.cells.some(({ run }) => run.wholePlot !== null);
  const size = hasPlots ? { runs: 3 * NEW_PLOTS, wholePlots: NEW_PLOTS } : { runs: SOUGHT };
  const addition: AdditionInput = { kind: 'bigger model', model, criterion: 'I', starts, ...size };
  const where = hasPlots ? `${NEW_PLOTS} more zone settings, # cells,` : '# more cells';
  const words =
    mixed.length > 0
      ? `${where} that tell ${[...new Set(mixed)].slice(0, 3).join(', ')} apart`
      : `${where} where the model is least sure`;
  return { addition, words };
}

/** A composite's axial points, for a plan that has no squares yet. */
export function axialBlock({ state }: Predictor): WishedAddition | null {
  const model = state.plan?.model;
  if (model !== 'main' && model !== 'interactions') return null;
  const words = 'Add axial points, # cells: they show where the response bends';
  return { addition: { kind: 'axial block' } as const, words };
}
