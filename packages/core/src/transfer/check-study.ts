import { codedPoint, naturalPoint } from '../factor/coding.ts';
import { holdFor, studyHold } from '../schedule/hold.ts';
import type { PlannedRun } from '../schedule/planned-run.ts';
import type { AdoptedPlan, StudyOpened } from '../study/event.ts';
import { studyDefaults, studyResponses } from '../study/run-table.ts';
import type { CellState, StudyState } from '../study/state.ts';
import { pointFromSettings, settingsOf } from '../surface/polynomial.ts';
import { pointOf, setPointsOf } from '../trade/limits.ts';
import type { Line } from '../trade/line.ts';
import type { CheckRuns } from './check-runs.ts';
import type { CheckReading } from './shift-estimate.ts';
import { usualMetres } from './shifted-model.ts';

/** Name of the plan that check runs make; a study with it is a check of another. */
export const checkFamily = 'check runs';

/** The study in which a recipe is checked on another lot or line: the same factors and product. */
export function checkStudy(
  from: StudyState,
  { lot, line, name }: { readonly lot?: string; readonly line?: Line; readonly name: string },
): StudyOpened {
  const { opened } = from;
  return {
    ...opened,
    kind: 'study opened',
    name,
    grade: { ...opened.grade, ...(lot === undefined ? {} : { lot }) },
    line: line ?? opened.line,
  };
}

/** The check runs as the plan of that study, each a set-up of its own. */
export function checkPlan(runs: CheckRuns, from: StudyState, opened: StudyOpened): AdoptedPlan {
  const { factors, line, grade, product } = opened;
  let before: PlannedRun['setPoints'] = null;
  const planned = runs.places.map(({ settings }, i): PlannedRun => {
    const wanted = naturalPoint(pointFromSettings(settings, factors), factors);
    const setPoints = setPointsOf(wanted, factors, line, studyDefaults(from));
    const natural = pointOf(setPoints, factors, line);
    const { seconds } = holdFor({
      from: before ?? { kind: 'cold', roomCelsius: 23, soakMinutes: 20 },
      to: setPoints,
      line,
      grade,
      diameterMm: product.diameterMm,
      rule: studyHold,
    });
    before = setPoints;
    return {
      runOrder: i + 1,
      designOrder: i + 1,
      block: 1,
      wholePlot: null,
      subWholePlot: null,
      kind: 'other',
      coded: codedPoint(natural, factors),
      natural,
      setPoints,
      holdSeconds: Math.ceil(seconds),
    };
  });
  const hours =
    planned.reduce((sum, run) => sum + (run.holdSeconds ?? 0) + 60 * line.measureMinutes, 0) / 3600;
  return {
    family: checkFamily,
    model: 'main',
    seed: opened.seed,
    order: 'sides in turn',
    runs: planned,
    hours,
    grams: null,
    notes: [runs.says],
  };
}

/** The walked check runs as readings; those without a strand are told by place. */
export function checkReadings(check: StudyState): {
  readings: CheckReading[];
  failed: Float64Array[];
} {
  const { factors, line } = check.opened;
  const responses = studyResponses(check);
  const settingsAt = ({ entered, run }: CellState): Float64Array =>
    settingsOf(
      codedPoint(entered ? pointOf(entered, factors, line) : run.natural, factors),
      factors,
    );
  const counted = responses.find(({ response }) => response.kind === 'count');
  const readings = check.cells
    .filter(({ status }) => status === 'done')
    .map(
      (cell): CheckReading => ({
        place: { settings: settingsAt(cell), metres: counted?.exposure?.(cell) ?? usualMetres },
        values: Object.fromEntries(
          responses.map(({ response, value }) => [response.name, value(cell)]),
        ),
      }),
    );
  const failed = check.cells
    .filter(
      ({ status, failures }) =>
        status === 'failed' &&
        failures.some(({ direction }) => direction !== 'blocked' && direction !== 'other'),
    )
    .map(settingsAt);
  return { readings, failed };
}
