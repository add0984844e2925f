/**
 * A gauge log, column by column; all columns share one length. `seconds` never decreases; it counts
 * from the first reading. A missing value is NaN, and only `diameterMm` is always present.
 */
export interface GaugeLog {
  readonly seconds: Float64Array;
  /** Mean of the axes when the gauge has two. */
  readonly diameterMm: Float64Array;
  /** Largest minus smallest axis; two-axis gauges only. */
  readonly ovalityMm?: Float64Array;
  readonly pullerMmPerSecond?: Float64Array;
  /** One column a zone, feed end first. */
  readonly zonesCelsius?: readonly Float64Array[];
  /** Time of the first reading, milliseconds since 1970-01-01 UTC, when the log says. */
  readonly startedAt?: number;
}

/** One reading as it arrives. */
export interface GaugeReading {
  readonly seconds: number;
  readonly diameterMm: number;
  readonly ovalityMm?: number;
  readonly pullerMmPerSecond?: number;
  readonly zonesCelsius?: readonly number[];
}
