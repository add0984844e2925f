import { logGamma } from './gamma-function.ts';
import { normalDensity, normalLower } from './normal.ts';
import { tLower } from './student-t.ts';

/** Probability of at most a value. */
export type Cdf = (value: number) => number;

const NORMAL_REACH = 8.5;
const NORMAL_STEPS = 1088;

/** Cubic through values and slopes at equally spaced places; outside them the end values. */
function hermite({ from, step, values, slopes }: HermiteTable, x: number): number {
  const place = (x - from) / step;
  if (place <= 0) return values[0]!;
  const last = values.length - 1;
  if (place >= last) return values[last]!;
  const i = place | 0;
  const t = place - i;
  const a = values[i]!;
  const b = values[i + 1]!;
  const da = step * slopes[i]!;
  const db = step * slopes[i + 1]!;
  const rise = b - a;
  return a + t * (da + t * (3 * rise - 2 * da - db + t * (da + db - 2 * rise)));
}

interface HermiteTable {
  readonly from: number;
  readonly step: number;
  readonly values: Float64Array;
  readonly slopes: Float64Array;
}

function table(from: number, to: number, count: number, value: Cdf, slope: Cdf): HermiteTable {
  const step = (to - from) / count;
  const places = Float64Array.from({ length: count + 1 }, (_, i) => from + i * step);
  return { from, step, values: places.map(value), slopes: places.map(slope) };
}

let normalTable: HermiteTable | undefined;

/**
 * The normal distribution function from a table, for inner loops.
 *
 * @accuracy 1e-9 absolute against `normalLower`
 */
export function quickNormalLower(z: number): number {
  normalTable ??= table(-NORMAL_REACH, NORMAL_REACH, NORMAL_STEPS, normalLower, normalDensity);
  return hermite(normalTable, z);
}

/** Tables kept; each is some 10 kB, and every fit brings df of its own. */
const MOST_TABLES = 64;
const tTables = new Map<number, Cdf>();

/**
 * The t distribution function of one df from a table, for inner loops; the normal one of infinite df.
 *
 * Tabulated in x = t/√(df + t²), in which the density is a power of (1 − x²): smooth, and bounded.
 * Far tails come from the first terms of the series of the incomplete beta function in y = 1 − x²:
 * ½I_y(a, ½) = y^a/(2aB(a, ½))·Σ (½)ₙ/n!·a/(a + n)·yⁿ with a = df/2.
 *
 * @accuracy 1e-8 absolute against `tLower`
 */
export function quickTLower(df: number): Cdf {
  if (!(df < 1e6)) return quickNormalLower;
  const known = tTables.get(df);
  if (known) return known;
  const edge = Math.min(0.95, 9 / Math.sqrt(df + 81));
  const half = df / 2;
  const logFactor = logGamma(half + 0.5) - logGamma(half) - Math.log(Math.PI) / 2;
  const lower = (x: number): number => tLower((x * Math.sqrt(df)) / Math.sqrt(1 - x * x), df);
  const density = (x: number): number => Math.exp(logFactor + (half - 1) * Math.log1p(-x * x));
  const count = 2 * Math.ceil(72 * edge * Math.sqrt(df + 16));
  const inside = table(-edge, edge, count, lower, density);
  const series = tailSeries(half);
  const first = Math.exp(logFactor) / (2 * half);
  const upperTail = (y: number): number => {
    let sum = 0;
    for (let n = series.length - 1; n >= 0; n--) sum = sum * y + series[n]!;
    return first * y ** half * sum;
  };
  const cdf: Cdf = (t) => {
    const x = t / Math.sqrt(df + t * t);
    if (x > -edge && x < edge) return hermite(inside, x);
    if (Number.isNaN(x)) return t > 0 ? 1 : 0;
    const tail = upperTail(df / (df + t * t));
    return t > 0 ? 1 - tail : tail;
  };
  const [oldest] = tTables.keys();
  if (tTables.size >= MOST_TABLES && oldest !== undefined) tTables.delete(oldest);
  tTables.set(df, cdf);
  return cdf;
}

/** Terms that bring the series below 1e-9 at the edge of the table. */
const SERIES_TERMS = 12;

function tailSeries(a: number): Float64Array {
  const out = new Float64Array(SERIES_TERMS);
  let c = 1;
  for (let n = 0; n < SERIES_TERMS; n++) {
    out[n] = (c * a) / (a + n);
    c *= (0.5 + n) / (n + 1);
  }
  return out;
}
