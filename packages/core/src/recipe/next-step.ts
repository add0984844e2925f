import { DomainError } from '../error/domain-error.ts';
import { isNumeric, type NumericFactor } from '../factor/factor.ts';
import { floorStanding, gaugeFloor } from '../measurement/gauge-floor.ts';
import { confirmationPlan } from '../plan/confirmation-plan.ts';
import type { AdditionInput } from '../plan/extension/addition.ts';
import { type Extension, planExtension } from '../plan/extension/extension.ts';
import { spreadName } from '../study/line-response.ts';
import { studyDefaults } from '../study/run-table.ts';
import { settingsOf } from '../surface/polynomial.ts';
import { chanceBeyond, LEAST_MOVE, roomBeyond } from './beyond-range.ts';
import { shareWords } from './chance.ts';
import { confirmationBounds } from './confirmation-bounds.ts';
import { type ExpectedGain, expectedGain } from './expected-gain.ts';
import type { Predictor } from './predictor.ts';
import type { Recommended } from './recommendation.ts';
import { augmentation, axialBlock, replicates, type WishedAddition } from './wished-addition.ts';

/** One thing that could be done next, with what it is expected to bring and what it costs. */
export interface NextStep {
  readonly kind:
    | 'stop'
    | 'confirm'
    | 'replicate'
    | 'augment'
    | 'axial points'
    | 'shift range'
    | 'mend the gauge';
  /** What to add to the plan; null where nothing is run, or the confirmation does it. */
  readonly addition: AdditionInput | null;
  readonly cells: number;
  readonly hours: number;
  readonly grams: number;
  /** At the recipe; null where the step moves elsewhere or cannot be foretold. */
  readonly gain: ExpectedGain | null;
  /** Rise of what can be promised (or of the chance, where nothing can) per hour and per kilogram. */
  readonly perHour: number;
  readonly perKilogram: number;
  /** One plain sentence. */
  readonly says: string;
}

export interface NextStepsOf {
  readonly asked: number;
  /** Random starts of each search for new cells; default 4. */
  readonly starts?: number;
}

/** Cells in a moved range, when nothing else is said. */
const SOUGHT = 6;

/**
 * What to do next, best first: stop when what can be promised reaches what is asked; else steps by
 * the rise they are expected to bring per hour. A step that cannot be made for this plan is left out.
 */
export function nextSteps(
  predictor: Predictor,
  recommended: Recommended,
  { asked, starts = 4 }: NextStepsOf,
): NextStep[] {
  const at = settingsOf(recommended.coded, predictor.state.opened.factors);
  const isSure = (recommended.chance?.notBelow ?? 0) >= asked;
  const steps = [
    ...confirmStep(predictor, recommended, { at, isSure }),
    ...addedStep(predictor, at, 'replicate', replicates(predictor, at)),
    ...addedStep(predictor, at, 'augment', augmentation(predictor, starts)),
    ...addedStep(predictor, at, 'axial points', axialBlock(predictor)),
    ...rangeSteps(predictor, recommended, at),
    ...gaugeStep(predictor, recommended, at),
  ].sort((a, b) => b.perHour - a.perHour);
  return isSure ? [stopStep(recommended), ...steps] : steps;
}

const nothing = { addition: null, cells: 0, hours: 0, grams: 0, gain: null };

function stopStep({ chance }: Recommended): NextStep {
  const says = `Stop here: a spool conforms with a chance of ${chance!.says}, which is what was asked; confirm the recipe.`;
  return { kind: 'stop', ...nothing, perHour: 0, perKilogram: 0, says };
}

/** Fresh set-ups at the recipe: they also teach the model. */
function confirmStep(
  predictor: Predictor,
  recommended: Recommended,
  { at, isSure }: { readonly at: Float64Array; readonly isSure: boolean },
): NextStep[] {
  const { state } = predictor;
  const { factors, line, grade, product, seed } = state.opened;
  const expected = confirmationBounds(predictor, recommended);
  if (!expected || (recommended.shortfall && !isSure)) return [];
  return attempted(() => {
    const { ordered } = confirmationPlan(
      { factors, seed, surroundings: { line, grade, product, defaults: studyDefaults(state) } },
      recommended.coded,
      expected.setUps,
    );
    const runs = ordered.runs.map(({ coded }) => ({ coded, wholePlot: null }));
    const gain = expectedGain(predictor, at, runs);
    const cost = { hours: ordered.hours ?? 0, grams: ordered.grams ?? 0 };
    return [
      {
        kind: 'confirm',
        addition: null,
        cells: ordered.runs.length,
        ...cost,
        gain,
        ...rates(rise(gain), cost),
        says: `Confirm the recipe by ${expected.setUps} fresh set-ups: ${costWords(cost)}. ${gainWords(gain)}`,
      },
    ];
  });
}

function addedStep(
  predictor: Predictor,
  at: Float64Array,
  kind: NextStep['kind'],
  wish: WishedAddition | null,
): NextStep[] {
  if (!wish || !predictor.state.plan) return [];
  return attempted(() => {
    const extension = planExtension(predictor.state, wish.addition);
    if (extension.runs.length === 0) return [];
    const gain = expectedGain(predictor, at, extension.runs);
    const cost = costOf(extension);
    return [
      {
        kind,
        addition: wish.addition,
        cells: extension.runs.length,
        ...cost,
        gain,
        ...rates(rise(gain), cost),
        says: `${wish.words.replace('#', String(extension.runs.length))}: ${costWords(cost)}. ${gainWords(gain)}`,
      },
    ];
  });
}

/** A range moved half its width towards an edge that the recipe stands on. */
function rangeSteps(predictor: Predictor, recommended: Recommended, at: Float64Array): NextStep[] {
  const { state } = predictor;
  if (!state.plan) return [];
  return state.opened.factors.flatMap((factor, i) => {
    if (!isNumeric(factor) || !recommended.onEdge.includes(factor.name)) return [];
    return attempted(() => rangeStep(predictor, { factor, i, at }));
  });
}

function rangeStep(
  predictor: Predictor,
  {
    factor,
    i,
    at,
  }: { readonly factor: NumericFactor; readonly i: number; readonly at: Float64Array },
): NextStep[] {
  const { state, draft } = predictor;
  const side = at[i]! > 0 ? 1 : -1;
  const by = side * roomBeyond(predictor, { factor, i, side, at });
  if (Math.abs(by) < LEAST_MOVE * (factor.high - factor.low)) return [];
  const [low, high] = [factor.low + by, factor.high + by];
  const addition: AdditionInput = {
    kind: 'move range',
    factor: factor.name,
    low,
    high,
    runs: SOUGHT,
  };
  const extension = planExtension(state, addition);
  const cost = costOf(extension);
  const beyond = draft ? chanceBeyond(predictor, { i, side, at }) : null;
  const gained = beyond === null ? 0 : Math.max(0, beyond - draft!.at(at).probability);
  const seen =
    beyond === null
      ? ''
      : `; as the model sees it, untested, the chance there reaches ${shareWords(beyond)}`;
  const unit = factor.unit ? ` ${factor.unit}` : '';
  return [
    {
      kind: 'shift range',
      addition,
      cells: extension.runs.length,
      ...cost,
      gain: null,
      ...rates(gained, cost),
      says: `Move ${factor.name} to ${figure(low)} … ${figure(high)}${unit}, as the recipe stands at its edge${seen} (${costWords(cost)}).`,
    },
  ];
}

/** The gauge's own part of the spread taken away, where it is a large one. */
function gaugeStep(predictor: Predictor, recommended: Recommended, at: Float64Array): NextStep[] {
  const { state, judged } = predictor;
  const predicted = recommended.predictions.find(({ name }) => name === spreadName);
  if (!predicted) return [];
  const floor = gaugeFloor(state.opened.line.gauge);
  const standing = floorStanding(predicted.mean.value, floor);
  if (standing.kind === 'clear') return [];
  const share = Math.min(0.9, (floor.sdMm / predicted.mean.value) ** 2);
  const eased = judged.map(({ requirement, surface }) =>
    surface.name === spreadName && requirement.atMost !== undefined
      ? {
          surface,
          requirement: { ...requirement, atMost: requirement.atMost / Math.sqrt(1 - share) },
        }
      : { surface, requirement },
  );
  const { draft } = predictor;
  const before = draft?.at(at).probability ?? 0;
  const then = expectedGain({ ...predictor, judged: eased }, at, []).chance?.after ?? before;
  return [
    {
      kind: 'mend the gauge',
      ...nothing,
      hours: GAUGE_HOURS,
      ...rates(Math.max(0, then - before), { hours: GAUGE_HOURS, grams: 0 }),
      says: `${standing.says} Free of it the chance would be ${shareWords(then)}.`,
    },
  ];
}

/** A check of the gauge against a pin, or a second axis; common practice, no source. */
const GAUGE_HOURS = 1;

const costOf = ({ hours, grams }: Extension) => ({ hours, grams });

/** Rise of the promise; where nothing is judged, what part of the variance goes. */
const rise = ({ chance, varianceLeft }: ExpectedGain): number =>
  chance ? Math.max(0, chance.notBelowAfter - chance.notBelowBefore) : 1 - varianceLeft;

function rates(gained: number, { hours, grams }: { hours: number; grams: number }) {
  return {
    perHour: hours > 0 ? gained / hours : 0,
    perKilogram: grams > 0 ? (1000 * gained) / grams : 0,
  };
}

function gainWords({ chance, varianceLeft }: ExpectedGain): string {
  if (chance) {
    const { notBelowBefore: before, notBelowAfter: after } = chance;
    const [from, to] = [shareWords(before), shareWords(Math.max(before, after))];
    return from === to
      ? `What is sure of the chance would stay at ${from}.`
      : `What is sure of the chance would rise from ${from} to ${to}.`;
  }
  const percent = Math.round(100 * (1 - varianceLeft));
  return percent === 0
    ? 'The prediction at the recipe would be no surer.'
    : `The variance of prediction at the recipe would fall by ${percent} %.`;
}

const costWords = ({ hours, grams }: { hours: number; grams: number }): string =>
  `${hours.toFixed(1)} h, ${(grams / 1000).toFixed(1)} kg`;
const figure = (value: number): string => String(Number(value.toFixed(1)));

/** Steps of a plan that refuses them by name are no steps. */
function attempted(make: () => NextStep[]): NextStep[] {
  try {
    return make();
  } catch (error) {
    if (error instanceof DomainError) return [];
    throw error;
  }
}
