import { binomialUpper } from '../distribution/binomial.ts';
import { normalUpperQuantile } from '../distribution/normal.ts';
import { naturalPoint } from '../factor/coding.ts';
import { isNumeric } from '../factor/factor-kind.ts';
import type { Predictor } from '../recipe/predictor.ts';
import { studyDefaults } from '../study/run-table.ts';
import { pointFromSettings } from '../surface/polynomial.ts';
import { pointOf, setPointsOf } from '../trade/limits.ts';
import type { Line, SetPoints } from '../trade/line.ts';
import { refusals } from '../trade/refusal.ts';
import { chanceUnder, isWorse } from './moved-chance.ts';
import { type CheckReading, type ShiftEstimate, shiftEstimate } from './shift-estimate.ts';
import { shiftedModel, type WatchedFactor } from './shifted-model.ts';

/** How one watched factor has moved, with its 95 % interval; natural units. */
export interface FactorShift {
  readonly name: string;
  readonly unit: string;
  readonly by: number;
  readonly low: number;
  readonly high: number;
  readonly isSeen: boolean;
}

/** What check runs say of a recipe on a new lot or line. */
export type TransferVerdict = {
  readonly shifts: readonly FactorShift[];
  /** Change of each response as a whole: a ratio on a logarithmic scale, else in its unit. */
  readonly offsets: readonly {
    readonly response: string;
    readonly change: number;
    readonly isRatio: boolean;
  }[];
  readonly failed: number;
  readonly misfitP: number | null;
  /** Chance that a new set-up conforms at the recipe as it stands, and at the set points advised. */
  readonly chanceAsIs: number | null;
  readonly chanceAdvised: number | null;
  readonly says: string;
} & (
  | { readonly kind: 'recipe holds'; readonly setPoints: SetPoints }
  | {
      readonly kind: 'shift';
      readonly setPoints: SetPoints;
      readonly changes: readonly {
        readonly name: string;
        readonly unit: string;
        readonly by: number;
      }[];
    }
  | { readonly kind: 're-qualify'; readonly why: readonly string[] }
  /** Too few runs to say. */
  | { readonly kind: 'cannot tell' }
);

export interface TransferOf {
  readonly predictor: Predictor;
  readonly recipe: Float64Array;
  readonly watched: readonly WatchedFactor[];
  readonly readings: readonly CheckReading[];
  /** Places of check runs without a strand, coded settings. */
  readonly failed: readonly Float64Array[];
  /** Chance of conforming that is asked. */
  readonly asked: number;
  /** The line that the recipe goes to, when it is another. */
  readonly line?: Line;
}

const significance = 0.05;
/** A surface that has changed its shape is told by a misfit rarer than this. */
const misfitSignificance = 0.01;
/** A recipe may lose this much of the chance asked before it no longer holds. */
const tolerated = 0.15;

/**
 * Judges check runs. The recipe holds when no shift is seen and it still conforms about as asked; it is
 * to be shifted when a shift is seen, the shifted place lies inside the studied ranges and conforms;
 * otherwise the grade is to be qualified anew.
 */
export function transferVerdict(options: TransferOf): TransferVerdict {
  const { predictor, watched, readings, asked } = options;
  const failed = options.failed.length;
  const isWindowMoved = failedTooOften(options);
  const estimate = shiftEstimate(readings, shiftedModel(predictor, watched));
  const enough = readings.length >= watched.length + 1;
  if (!estimate || !enough) {
    const says = 'Too few check runs were measured to tell a shift from scatter.';
    return {
      kind: isWindowMoved ? 're-qualify' : 'cannot tell',
      ...(isWindowMoved ? { why: [failedWords(failed)] } : {}),
      shifts: [],
      offsets: [],
      failed,
      misfitP: null,
      chanceAsIs: null,
      chanceAdvised: null,
      says: isWindowMoved ? failedWords(failed) : says,
    } as TransferVerdict;
  }
  return judged(options, estimate, asked);
}

/** A strand fails now and then in any lot: this is a failure that the old window does not explain. */
const leastFailure = 0.02;

/** True when more check runs gave no strand than the old study lets expect, at 5 %. */
function failedTooOften({ predictor, readings, failed }: TransferOf): boolean {
  if (failed.length === 0) return false;
  const places = [...readings.map(({ place }) => place.settings), ...failed];
  const expected = places.reduce((sum, at) => sum + 1 - predictor.strand.probability(at), 0);
  const chance = Math.max(leastFailure, expected / places.length);
  return binomialUpper(failed.length - 1, places.length, chance) < significance;
}

const failedWords = (failed: number): string =>
  `${failed} check run${failed === 1 ? '' : 's'} gave no strand: the window has moved.`;

function judged(options: TransferOf, estimate: ShiftEstimate, asked: number): TransferVerdict {
  const { predictor, recipe } = options;
  const failed = options.failed.length;
  const shifts = factorShifts(estimate);
  const seen = shifts.filter(({ isSeen }) => isSeen);
  const moved = shiftedRecipe(options, shifts);
  const chanceAsIs = chanceUnder(predictor, recipe, estimate);
  const chanceAdvised = moved ? chanceUnder(predictor, moved.settings, estimate) : null;
  const shared = {
    shifts,
    offsets: offsetsOf(predictor, estimate),
    failed,
    misfitP: estimate.misfit.p,
    chanceAsIs,
    chanceAdvised,
  };
  // A low chance that comes from doubt alone speaks against nothing; more check runs would lift it.
  const worse = isWorse(predictor, estimate);
  const falls = (chance: number | null): boolean =>
    worse && chance !== null && chance < asked - tolerated;
  const why = [
    ...(failedTooOften(options) ? [failedWords(failed)] : []),
    ...(estimate.misfit.p < misfitSignificance
      ? [
          `What was measured is not the old surface moved (p ${estimate.misfit.p.toPrecision(2)}): it has another shape.`,
        ]
      : []),
  ];
  if (why.length === 0 && seen.length === 0) {
    if (!falls(chanceAsIs)) {
      const setPoints = setPointsAt(options, recipe);
      const says = `The recipe holds: no shift is seen (${shiftWords(shifts)})${chanceWords(chanceAsIs)}.`;
      return { kind: 'recipe holds', setPoints, ...shared, says };
    }
    why.push(
      `No shift is seen, but a new set-up conforms with chance ${chanceAsIs!.toFixed(2)} only; asked is ${asked}.`,
    );
  }
  if (why.length === 0 && seen.length > 0) {
    if (moved && !falls(chanceAdvised)) {
      const says = `Shift these set points: ${shiftWords(seen)}${chanceWords(chanceAdvised)}. Confirm with a fresh set-up.`;
      return { kind: 'shift', setPoints: moved.setPoints, changes: moved.changes, ...shared, says };
    }
    why.push(
      moved
        ? `After the shift (${shiftWords(seen)}) a set-up would conform with chance ${chanceAdvised!.toFixed(2)} only; asked is ${asked}.`
        : `The optimum has moved out of what was studied or allowed (${shiftWords(seen)}).`,
    );
  }
  return { kind: 're-qualify', why, ...shared, says: `Qualify anew. ${why.join(' ')}` };
}

function factorShifts({ shift, covariance, watched, responses }: ShiftEstimate): FactorShift[] {
  const p = watched.length + responses.length;
  const z = normalUpperQuantile(significance / 2);
  return watched.map(({ name, unit }, w) => {
    const half = z * Math.sqrt(covariance[w * p + w]!);
    const by = shift[w]!;
    return { name, unit, by, low: by - half, high: by + half, isSeen: Math.abs(by) > half };
  });
}

const shiftWords = (shifts: readonly FactorShift[]): string =>
  shifts
    .map(
      ({ name, unit, by, low, high }) =>
        `${name} by ${by.toFixed(1)} ${unit} (${low.toFixed(1)} … ${high.toFixed(1)})`,
    )
    .join(', ');
const chanceWords = (chance: number | null): string =>
  chance === null ? '' : `; a new set-up conforms with chance ${chance.toFixed(2)}`;

/** The recipe moved by the shifts that are seen; null when that leaves the studied or allowed. */
function shiftedRecipe(
  { predictor, recipe, watched, line: other }: TransferOf,
  shifts: readonly FactorShift[],
): {
  settings: Float64Array;
  setPoints: SetPoints;
  changes: { name: string; unit: string; by: number }[];
} | null {
  const { opened } = predictor.state;
  const settings = recipe.slice();
  for (const [w, { index, perCoded }] of watched.entries())
    if (shifts[w]!.isSeen) settings[index]! += shifts[w]!.by / perCoded;
  // Half a range beyond the studied is a guess, not a transfer.
  const isNear = opened.factors.every(
    (factor, i) => !isNumeric(factor) || Math.abs(settings[i]!) <= 1.5,
  );
  if (!isNear) return null;
  const line = other ?? opened.line;
  const setPoints = setPointsAt({ predictor, line }, settings);
  if (refusals(setPoints, line, opened.grade, opened.product).length > 0) return null;
  const before = pointOf(setPointsAt({ predictor, line }, recipe), opened.factors, line);
  const after = pointOf(setPoints, opened.factors, line);
  const changes = watched
    .map(({ name, unit }) => ({ name, unit, by: Number(after[name]) - Number(before[name]) }))
    .filter(({ by }) => Math.abs(by) > 1e-9);
  return { settings, setPoints, changes };
}

function setPointsAt(
  { predictor, line }: Pick<TransferOf, 'predictor' | 'line'>,
  settings: Float64Array,
): SetPoints {
  const { state } = predictor;
  const { factors } = state.opened;
  return setPointsOf(
    naturalPoint(pointFromSettings(settings, factors), factors),
    factors,
    line ?? state.opened.line,
    studyDefaults(state),
  );
}

function offsetsOf({ surfaces }: Predictor, { offset }: ShiftEstimate): TransferVerdict['offsets'] {
  return Object.entries(offset).map(([response, change]) => {
    const isRatio = surfaces.find(({ name }) => name === response)?.scale !== 'response';
    return { response, change: isRatio ? Math.exp(change) : change, isRatio };
  });
}
