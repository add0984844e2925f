import type { GaugeReading } from './log.ts';
import { FEWEST_AVERAGES, HARMLESS_DRIFT_SHARE, INDEPENDENT_ENOUGH } from './settled-stretch.ts';
import type { SettlingLight } from './settling-light.ts';
import { MOVING_RATIO, STEADY_RATIO, varianceRatio } from './variance-ratio.ts';
import { duration, lengthInMicrometres } from './words.ts';

/** Time over which a drift is looked for. */
const DRIFT_WINDOW_SECONDS = 600;
/** Without a screw speed, averages over this long. */
const PLAIN_AVERAGE_SECONDS = 12;
const CLEAR_DRIFT = 3;

export interface StrandLight {
  push(reading: GaugeReading): void;
  light(): SettlingLight;
}

interface Block {
  readonly at: number;
  readonly mean: number;
  readonly squares: number;
  readonly count: number;
}

/**
 * Whether the strand stands still, from averages over whole screw turns: the drift over the last ten
 * minutes, and the variance ratio on averages of one, two or four turns, whichever first no longer
 * repeat one another. Work is done once a turn on at most ten minutes of averages, so a reading costs
 * constant time.
 */
export function strandLight(screwRpm: number): StrandLight {
  const turnSeconds = screwRpm > 0 ? Math.max(60 / screwRpm, 2) : PLAIN_AVERAGE_SECONDS;
  const mostBlocks = Math.max(FEWEST_AVERAGES, Math.ceil(DRIFT_WINDOW_SECONDS / turnSeconds));
  const levels = [1, 2, 4].map((turns) => averagesOf(turns));
  const blocks: Block[] = [];
  let end = Number.NaN;
  let gathering = emptyGathering();
  let isSteady = false;
  let verdict: SettlingLight = tooEarly(0, turnSeconds);
  let total = 0;

  const close = (at: number): void => {
    const { count, sum, squares, origin } = gathering;
    if (count > 0) {
      const shift = sum / count;
      const mean = origin + shift;
      blocks.push({ at, mean, squares: squares - count * shift * shift, count });
      if (blocks.length > mostBlocks) blocks.shift();
      for (const level of levels) level.push(mean);
      total++;
      verdict = judge();
    }
    gathering = emptyGathering();
  };

  const judge = (): SettlingLight => {
    if (total < FEWEST_AVERAGES) {
      isSteady = false;
      return tooEarly(total, turnSeconds);
    }
    const drift = driftOf(blocks);
    const ratio = levels.find((level) => level.isIndependent())?.ratio();
    if (drift.isClear) {
      isSteady = false;
      return {
        isOn: false,
        says: `drift ${lengthInMicrometres(drift.perMinute)} a minute`,
        remainingSeconds: DRIFT_WINDOW_SECONDS / 2,
      };
    }
    if (ratio !== undefined && ratio > MOVING_RATIO) isSteady = false;
    else if (ratio === undefined || Number.isNaN(ratio) || ratio < STEADY_RATIO) isSteady = true;
    const said =
      ratio === undefined || Number.isNaN(ratio) ? '' : ` (variance ratio ${ratio.toFixed(1)})`;
    return isSteady
      ? { isOn: true, says: `strand stands still${said}` }
      : {
          isOn: false,
          says: `strand still wanders${said}`,
          remainingSeconds: FEWEST_AVERAGES * turnSeconds,
        };
  };

  return {
    push({ seconds, diameterMm }) {
      if (Number.isNaN(end)) end = seconds + turnSeconds;
      if (seconds >= end) {
        close(end - turnSeconds / 2);
        end += Math.ceil((seconds - end + 1e-9) / turnSeconds) * turnSeconds;
      }
      if (Number.isNaN(diameterMm)) return;
      if (gathering.count === 0) gathering.origin = diameterMm;
      const d = diameterMm - gathering.origin;
      gathering.count++;
      gathering.sum += d;
      gathering.squares += d * d;
    },
    light: () => verdict,
  };
}

function emptyGathering() {
  return { count: 0, sum: 0, squares: 0, origin: 0 };
}

function tooEarly(have: number, turnSeconds: number): SettlingLight {
  const remainingSeconds = (FEWEST_AVERAGES - have) * turnSeconds;
  return {
    isOn: false,
    says: `strand watched for ${have} of ${FEWEST_AVERAGES} screw turns, about ${duration(remainingSeconds)} more`,
    remainingSeconds,
  };
}

/** Averages of `turns` turns with their variance ratio and their lag-one correlation. */
function averagesOf(turns: number) {
  const ratio = varianceRatio();
  const recent: number[] = [];
  let sum = 0;
  let count = 0;
  let last = Number.NaN;
  return {
    push(mean: number): void {
      sum += mean;
      if (++count < turns) return;
      const average = sum / turns;
      sum = 0;
      count = 0;
      last = ratio.push(average);
      recent.push(average);
      if (recent.length > 40) recent.shift();
    },
    ratio: () => last,
    isIndependent: () =>
      recent.length >= FEWEST_AVERAGES && Math.abs(lagOne(recent)) < INDEPENDENT_ENOUGH,
  };
}

function lagOne(x: readonly number[]): number {
  const centre = x.reduce((sum, value) => sum + value, 0) / x.length;
  let zero = 0;
  let one = 0;
  for (let i = 0; i < x.length; i++) {
    const d = x[i]! - centre;
    zero += d * d;
    if (i > 0) one += d * (x[i - 1]! - centre);
  }
  return zero > 0 ? one / zero : 0;
}

/** Slope through the averages, clear when beyond two standard errors and a quarter of s in all. */
function driftOf(blocks: readonly Block[]): { perMinute: number; isClear: boolean } {
  const n = blocks.length;
  const at = blocks.reduce((sum, b) => sum + b.at, 0) / n;
  const centre = blocks.reduce((sum, b) => sum + b.mean, 0) / n;
  let tt = 0;
  let tx = 0;
  for (const b of blocks) {
    tt += (b.at - at) ** 2;
    tx += (b.at - at) * (b.mean - centre);
  }
  const slope = tt > 0 ? tx / tt : 0;
  const residuals = blocks.map((b) => b.mean - centre - slope * (b.at - at));
  const between = residuals.reduce((sum, r) => sum + r * r, 0);
  const within = blocks.reduce((sum, b) => sum + b.squares, 0);
  const readings = blocks.reduce((sum, b) => sum + b.count, 0);
  const s = Math.sqrt((within + (between * readings) / n) / Math.max(1, readings - 2));
  const rho = Math.min(0.9, Math.max(0, lagOne(residuals)));
  const variance = (between / Math.max(1, n - 2)) * ((1 + rho) / (1 - rho));
  const error = tt > 0 ? Math.sqrt(variance / tt) : 0;
  const change = Math.abs(slope) * (blocks[n - 1]!.at - blocks[0]!.at);
  return {
    perMinute: slope * 60,
    isClear: change > HARMLESS_DRIFT_SHARE * s && Math.abs(slope) > CLEAR_DRIFT * error,
  };
}
