import { DomainError } from '../error/domain-error.ts';
import { codedPoint, naturalPoint, type Point } from '../factor/coding.ts';
import { isNumeric, type NumericFactor } from '../factor/factor.ts';
import {
  confirmationHold,
  type HoldOf,
  type HoldRule,
  holdFor,
  studyHold,
} from '../schedule/hold.ts';
import type { PlannedRun } from '../schedule/planned-run.ts';
import type { HappeningOf } from '../study/event.ts';
import { studyDefaults } from '../study/run-table.ts';
import type { StudyState } from '../study/state.ts';
import { pointOf, setPointsOf } from '../trade/limits.ts';
import type { SetPoints } from '../trade/line.ts';
import { refusals } from '../trade/refusal.ts';

/** Least step away from a recipe that makes coming back a set-up of its own, °C; common practice, no source. */
const leastStepCelsius = 5;
/** Share of a factor's half-range that a step away takes. */
const asideShare = 0.5;

/**
 * Extensions of a plan that confirm its proposed recipe: fresh set-ups at the recipe, each but the
 * first reached from a cell beside it, since a setting that was not left cannot be set anew. The cells
 * beside are ordinary ones that the next fit may use; those at the recipe stand apart from it.
 *
 * @param setUps - fresh set-ups at the recipe
 * @returns extensions to record one after the other
 * @throws {DomainError} `no_recipe` when no recipe has been proposed
 * @throws {DomainError} `nowhere_aside` when no setting beside the recipe keeps the limits
 */
export function confirmationRuns(
  state: StudyState,
  setUps: number,
): HappeningOf<'plan extended'>[] {
  const { recipe, cells } = state;
  if (recipe === null) {
    throw new DomainError(
      'no_recipe',
      'confirmationRuns: a recipe must be proposed first; got none. Run "strandwise fit … --propose".',
    );
  }
  if (!(Number.isInteger(setUps) && setUps >= 1 && setUps <= 20)) {
    throw new DomainError(
      'set_ups',
      `confirmationRuns: setUps must be a whole number from 1 to 20; got ${setUps}. Three to six are usual.`,
      { setUps },
    );
  }
  const { setPoints } = recipe;
  const last = lastEntered(state);
  const asides = asideSetPoints(state, setPoints);
  // The line may still stand at the recipe: then the first set-up needs leaving, too.
  const startsHere = last !== null && isSameZones(last, setPoints);
  const steps = Array.from({ length: setUps }, (_, i) => i).flatMap((i) => {
    const isLeft = i > 0 || startsHere;
    return isLeft ? [asides[i % asides.length]!, setPoints] : [setPoints];
  });
  // A plan whose cells are all set anew knows no plots; then neither do these.
  const plots = cells.flatMap(({ run }) => run.wholePlot ?? []);
  let from = last;
  return steps.map((to, i) => {
    const run = runAt(state, to, {
      from,
      rule: to === setPoints ? confirmationHold : studyHold,
      place: cells.length + i + 1,
      wholePlot: plots.length > 0 ? Math.max(...plots) + i + 1 : null,
    });
    from = to;
    const isHere = to === setPoints;
    return {
      kind: 'plan extended',
      purpose: isHere ? 'confirm' : 'augment',
      runs: [run],
      says: isHere
        ? 'A fresh set-up at the proposed recipe.'
        : 'A cell beside the proposed recipe, so that the next set-up is a fresh one.',
    };
  });
}

function runAt(
  { opened }: StudyState,
  setPoints: SetPoints,
  {
    from,
    rule,
    place,
    wholePlot,
  }: {
    readonly from: SetPoints | null;
    readonly rule: HoldRule;
    readonly place: number;
    readonly wholePlot: number | null;
  },
): PlannedRun {
  const { factors, line, grade, product } = opened;
  const natural = pointOf(setPoints, factors, line);
  const start: HoldOf['from'] = from ?? { kind: 'cold', roomCelsius: 23, soakMinutes: 20 };
  const { seconds } = holdFor({
    from: start,
    to: setPoints,
    line,
    grade,
    diameterMm: product.diameterMm,
    rule,
  });
  return {
    runOrder: place,
    designOrder: place,
    block: 1,
    wholePlot,
    subWholePlot: null,
    kind: 'other',
    coded: codedPoint(natural, factors),
    natural,
    setPoints,
    holdSeconds: Math.ceil(seconds),
  };
}

/** Settings to either side in the factor that is dearest to change, those that keep the limits. */
function asideSetPoints(state: StudyState, at: SetPoints): SetPoints[] {
  const { factors, line, grade, product } = state.opened;
  const numeric = factors.filter(isNumeric);
  const stepped =
    numeric.find(({ acts }) => acts === 'level') ??
    numeric.find(({ changes }) => changes === 'hard') ??
    numeric[0];
  if (!stepped) throw nowhereAside();
  const natural = pointOf(at, factors, line);
  const out: SetPoints[] = [];
  for (const step of stepsOf(stepped, natural)) {
    const moved = { ...natural, [stepped.name]: Number(natural[stepped.name]) + step };
    const setPoints = setPointsOf(
      naturalPoint(codedPoint(moved, factors), factors),
      factors,
      line,
      studyDefaults(state),
    );
    if (refusals(setPoints, line, grade, product).length === 0) out.push(setPoints);
  }
  if (out.length === 0) throw nowhereAside();
  return out;
}

/** Steps to either side, those that stay inside the studied range first. */
function stepsOf(factor: NumericFactor, natural: Point): number[] {
  const half = (factor.high - factor.low) / 2;
  const size =
    factor.unit === '°C' ? Math.max(leastStepCelsius, asideShare * half) : asideShare * half;
  const from = Number(natural[factor.name]);
  const isInside = (step: number): boolean =>
    from + step >= factor.low && from + step <= factor.high;
  const both = [size, -size];
  const inside = both.filter(isInside);
  return inside.length > 0 ? inside : both;
}

const nowhereAside = (): DomainError =>
  new DomainError(
    'nowhere_aside',
    'confirmationRuns: some setting beside the recipe must keep the limits of line and grade; got none. Let the line cool and start each set-up afresh by hand.',
  );

function lastEntered({ cells }: StudyState): SetPoints | null {
  const entered = cells.filter((cell) => cell.entered !== null && cell.enteredAt !== null);
  const latest = entered.reduce<(typeof entered)[number] | null>(
    (best, cell) => (best === null || cell.enteredAt! > best.enteredAt! ? cell : best),
    null,
  );
  return latest?.entered ?? null;
}

const isSameZones = (a: SetPoints, b: SetPoints): boolean =>
  a.zonesCelsius.every((celsius, i) => celsius === b.zonesCelsius[i]);
