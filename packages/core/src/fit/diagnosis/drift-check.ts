import type { Check } from '../report/fit-result.ts';
import { type CheckedFit, CONCERN, HINT, pText } from './checked-fit.ts';

/** Did the response wander with the place in the run order, the settings allowed for? */
export function orderDriftCheck(given: CheckedFit): Check | null {
  return driftCheck(given, 'drift over run order', given.order, 'run order');
}

/** The same over clock time, where it was kept. */
export function clockDriftCheck(given: CheckedFit): Check | null {
  const { hours } = given;
  return hours && driftCheck(given, 'drift over the clock', hours, 'hours since the first run');
}

function driftCheck(
  given: CheckedFit,
  kind: 'drift over run order' | 'drift over the clock',
  time: Float64Array,
  timeName: string,
): Check | null {
  const { runs, scaleName } = given;
  if (runs.length === 0) return null;
  const low = Math.min(...time);
  const high = Math.max(...time);
  const picture = {
    x: timeName,
    y: 'residual',
    points: runs.map(({ row, residual }, i) => ({ row, x: time[i]!, y: residual })),
    guides: [{ at: 0, says: '' }],
  };
  const tried =
    high > low
      ? given.tryColumn(time.map((value) => (2 * value - low - high) / (high - low)))
      : null;
  const over = kind === 'drift over run order' ? 'the run order' : 'the clock';
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
    standing: p < CONCERN ? 'concern' : 'sound',
    says,
    rows: [],
    statistic,
    p,
    picture,
  };
}
