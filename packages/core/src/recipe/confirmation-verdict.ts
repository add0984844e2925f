import type { SetPoints } from '../trade/line.ts';
import type { ConfirmationBound, ConfirmationBounds } from './confirmation-bounds.ts';
import { type FreshSetUp, freshSetUps } from './fresh-set-up.ts';
import type { Predictor } from './predictor.ts';
import { setPointsSame } from './same-set-points.ts';

/** One response that came out as it should not have. */
export interface ConfirmationMiss {
  readonly response: string;
  /** Cells of the set-ups that fell outside on their own. */
  readonly cells: readonly number[];
  readonly isMeanOutside: boolean;
  /** On the wanted side, on the unwanted one, or neither side is wanted. */
  readonly side: 'worse' | 'better' | 'off';
  readonly mean: number;
  readonly expected: number;
  readonly says: string;
  readonly whatToDo: string;
}

export type ConfirmationVerdict =
  | {
      readonly kind: 'not yet';
      readonly done: number;
      readonly wanted: number;
      readonly says: string;
    }
  | { readonly kind: 'holds'; readonly setUps: readonly FreshSetUp[]; readonly says: string }
  | {
      readonly kind: 'misses';
      readonly setUps: readonly FreshSetUp[];
      readonly misses: readonly ConfirmationMiss[];
      /** Cells at the recipe in which no strand formed. */
      readonly failed: readonly number[];
      readonly says: string;
    };

/**
 * What the confirmation cells of a study say of a recipe: it holds when every fresh set-up and their
 * mean fall inside their bounds. Cells entered one after another at the same set points are one
 * set-up: several readings of one hold prove nothing about the next.
 */
export function confirmationVerdict(
  predictor: Predictor,
  setPoints: SetPoints,
  expected: ConfirmationBounds,
): ConfirmationVerdict {
  const { state } = predictor;
  const failed = state.cells
    .filter(({ purpose, status, failures }) =>
      purpose === 'confirm' && status === 'failed'
        ? failures.some(
            (failure) => failure.setPoints && setPointsSame(failure.setPoints, setPoints),
          )
        : false,
    )
    .map(({ cell }) => cell);
  const setUps = freshSetUps(state, setPoints);
  if (failed.length === 0 && setUps.length < expected.setUps) {
    const says = `${setUps.length} of ${expected.setUps} fresh set-ups are in.`;
    return { kind: 'not yet', done: setUps.length, wanted: expected.setUps, says };
  }
  const misses = expected.bounds.flatMap((bound) => missOf(predictor, bound, setUps) ?? []);
  if (failed.length === 0 && misses.length === 0) {
    const says = `The recipe holds: ${setUps.length} fresh set-ups and their mean fell where they were predicted.`;
    return { kind: 'holds', setUps, says };
  }
  const stopped =
    failed.length > 0 ? [`No strand formed in cell ${failed.join(', ')}: do not release.`] : [];
  const says = [...stopped, ...misses.map((miss) => `${miss.says} ${miss.whatToDo}`)].join(' ');
  return { kind: 'misses', setUps, misses, failed, says };
}

function missOf(
  { state }: Predictor,
  bound: ConfirmationBound,
  setUps: readonly FreshSetUp[],
): ConfirmationMiss | null {
  const { response: name, each, mean: meanBound, expected } = bound;
  const response = state.opened.responses.find((one) => one.name === name);
  const seen = setUps.flatMap(({ cells, values }) => {
    const value = values[name];
    return value === undefined ? [] : [{ cells, value }];
  });
  if (seen.length === 0) return null;
  const outside = seen.filter(({ value }) => value < each.low || value > each.high);
  const values = seen.map(({ value }) => value);
  const mean =
    response?.kind === 'spread'
      ? Math.exp(values.reduce((sum, value) => sum + Math.log(value), 0) / values.length)
      : values.reduce((sum, value) => sum + value, 0) / values.length;
  const isMeanOutside = mean < meanBound.low || mean > meanBound.high;
  if (outside.length === 0 && !isMeanOutside) return null;
  const side = sideOf(
    response?.goal?.aim ?? (response?.kind === 'continuous' ? 'target' : 'smallest'),
    mean - expected,
  );
  const cells = outside.flatMap((one) => one.cells);
  const shown = (value: number): string => String(Number(value.toPrecision(3)));
  const range = `${shown(meanBound.low)} … ${shown(meanBound.high)}`;
  const says = isMeanOutside
    ? `${name} came out at ${shown(mean)} on average, predicted was ${range}.`
    : `${name} is right on average, but cell ${cells.join(', ')} stands out (predicted of each ${shown(each.low)} … ${shown(each.high)}).`;
  return {
    response: name,
    cells,
    isMeanOutside,
    side,
    mean,
    expected,
    says,
    whatToDo: advice(isMeanOutside, side),
  };
}

function sideOf(aim: 'smallest' | 'largest' | 'target', gap: number): ConfirmationMiss['side'] {
  if (aim === 'target') return 'off';
  return (aim === 'smallest') === gap < 0 ? 'better' : 'worse';
}

function advice(isMeanOutside: boolean, side: ConfirmationMiss['side']): string {
  if (!isMeanOutside)
    return 'Set-ups differ more than the study showed: look for a cause (drying, lot, who set it) before you repeat it.';
  if (side === 'better')
    return 'Better than predicted: the recipe may be used, but the model is off there; fit again with these cells.';
  return 'Do not release. Check set points, drying and the gauge against a pin; if they are right, take these cells into the fit and recommend again.';
}
