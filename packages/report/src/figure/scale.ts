import { fixed, significantFigures } from '../format/number.ts';

export interface Tick {
  readonly value: number;
  readonly label: string;
}

/** A way from values to pixels, with the ticks an axis shows. */
export interface Scale {
  readonly low: number;
  readonly high: number;
  readonly from: number;
  readonly to: number;
  readonly ticks: readonly Tick[];
  at(value: number): number;
}

export interface ScaleRange {
  readonly low: number;
  readonly high: number;
  /** Pixel of `low` and of `high`. */
  readonly from: number;
  readonly to: number;
  /** About how many ticks; default 5. */
  readonly ticks?: number;
}

/** A linear scale over exactly [low, high]. */
export function linearScale({ low, high, from, to, ticks = 5 }: ScaleRange): Scale {
  const [a, b] = widened(low, high);
  return {
    low: a,
    high: b,
    from,
    to,
    ticks: niceTicks(a, b, ticks),
    at: (value) => from + ((value - a) / (b - a)) * (to - from),
  };
}

/** A linear scale whose ends are moved outward to the next ticks. */
export function roomyScale(range: ScaleRange): Scale {
  const [a, b] = widened(range.low, range.high);
  const step = niceStep((b - a) / (range.ticks ?? 5));
  return linearScale({
    ...range,
    low: Math.floor(a / step + 1e-9) * step,
    high: Math.ceil(b / step - 1e-9) * step,
  });
}

/** A logarithmic scale over [low, high], both above 0. */
export function logScale({ low, high, from, to }: ScaleRange): Scale {
  const a = Math.log(low);
  const b = Math.log(high > low ? high : low * 2);
  return {
    low,
    high,
    from,
    to,
    ticks: logTicks(low, high),
    at: (value) => from + ((Math.log(value) - a) / (b - a)) * (to - from),
  };
}

/** The step 1, 2 or 5 times a power of ten that is nearest above `rough`. */
export function niceStep(rough: number): number {
  const power = 10 ** Math.floor(Math.log10(rough) + 1e-9);
  const multiple = rough / power;
  const nice = multiple <= 1 + 1e-9 ? 1 : multiple <= 2 + 1e-9 ? 2 : multiple <= 5 + 1e-9 ? 5 : 10;
  return nice * power;
}

/** Round values inside [low, high], about `count` of them, labelled with the digits their step needs. */
export function niceTicks(low: number, high: number, count: number): Tick[] {
  if (!isRange(low, high)) return [{ value: low, label: significantFigures(low, 3) }];
  const step = niceStep((high - low) / Math.max(1, count));
  const decimals = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  const ticks: Tick[] = [];
  const last = Math.floor(high / step + 1e-9);
  for (let i = Math.ceil(low / step - 1e-9); i <= last; i++) {
    const value = Number((i * step).toPrecision(12));
    ticks.push({ value, label: fixed(value, decimals) });
  }
  return ticks;
}

/** Ticks 1, 2, 5 a decade; 1 alone when that would be more than eight. */
export function logTicks(low: number, high: number): Tick[] {
  const wanted = Math.log10(high / low) > 2.5 ? [1] : [1, 2, 5];
  const ticks: Tick[] = [];
  for (let decade = Math.floor(Math.log10(low)); decade <= Math.log10(high) + 1e-9; decade++) {
    for (const multiple of wanted) {
      const value = Number(`${multiple}e${decade}`);
      if (value >= low * (1 - 1e-9) && value <= high * (1 + 1e-9)) {
        ticks.push({ value, label: significantFigures(value, 1) });
      }
    }
  }
  return ticks;
}

/** Smallest and largest of the finite values, or [0, 1] when there are none. */
export function extent(values: Iterable<number>): readonly [number, number] {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (const value of values) {
    if (!Number.isFinite(value)) continue;
    if (value < low) low = value;
    if (value > high) high = value;
  }
  return low <= high ? [low, high] : [0, 1];
}

/** Ends that differ by more than the rounding of their arithmetic: no step is finer than that. */
const isRange = (low: number, high: number): boolean =>
  high - low > 1e-12 * Math.max(Math.abs(low), Math.abs(high));

function widened(low: number, high: number): readonly [number, number] {
  if (isRange(low, high)) return [low, high];
  const half = Math.abs(low) > 0 ? Math.abs(low) * 0.05 : 0.5;
  return [low - half, low + half];
}
