import type { Check } from '../report/fit-result.ts';
import { type CheckedFit, CONCERN, HINT, pText } from './checked-fit.ts';

/** Did the response wander with the place in the run order, the settings allowed for? */
export function orderDriftCheck(given: CheckedFit): Check | null {
  const words = given.isOrderKnown
    ? { over: 'the run order', axis: 'run order' }
    : { over: 'the order of the rows, if they stand as they were run', axis: 'order of the rows' };
  return driftCheck(given, 'drift over run order', given.order, words);
}

/** The same over clock time, where it was kept. */
export function clockDriftCheck(given: CheckedFit): Check | null {
  const { hours } = given;
  const words = { over: 'the clock', axis: 'hours since the first run' };
  return hours && driftCheck(given, 'drift over the clock', hours, words);
}

function driftCheck(
  given: CheckedFit,
  kind: 'drift over run order' | 'drift over the clock',
  time: Float64Array,
  { over, axis }: { readonly over: string; readonly axis: string },
): Check | null {
  const { runs, scaleName, isOrderKnown } = given;
  if (runs.length === 0) return null;
  const low = Math.min(...time);
  const high = Math.max(...time);
  const picture = {
    x: axis,
    y: 'residual',
    points: runs.map(({ row, residual }, i) => ({ row, x: time[i]!, y: residual })),
    guides: [{ at: 0, says: '' }],
  };
  const tried =
    high > low
      ? given.tryColumn(time.map((value) => (2 * value - low - high) / (high - low)))
      : null;
  if (!tried) {
    const says = `Whether ${scaleName} drifted over ${over} cannot be told apart from the settings.`;
    return { kind, standing: 'unknown', says, rows: [], statistic: null, p: null, picture };
  }
  const { change, p, statistic } = tried;
  const size = `${change > 0 ? 'up' : 'down'} by ${Math.abs(change).toPrecision(2)} on ${scaleName} from first to last`;
  const says =
    p >= HINT
      ? `No drift over ${over}: ${size}, which is within error (${pText(p)}).`
      : `${p < CONCERN ? 'There is' : 'There may be'} a drift over ${over}: ${size} (${pText(p)}). Settings run early and late are not compared fairly; think of moisture, gauge zero, warming up.`;
  return {
    kind,
    standing: p >= CONCERN ? 'sound' : isOrderKnown ? 'concern' : 'unknown',
    says,
    rows: [],
    statistic,
    p,
    picture,
  };
}
