import { type GaugeLog, seededUniform, type Uniform } from '@strandwise/core';

/** Standard normal draws by Box and Muller's transform. */
export function normalSource(seed: number): () => number {
  const uniform: Uniform = seededUniform(seed, 'measurement tests');
  let spare: number | undefined;
  return () => {
    if (spare !== undefined) {
      const value = spare;
      spare = undefined;
      return value;
    }
    const r = Math.sqrt(-2 * Math.log(1 - uniform()));
    const angle = 2 * Math.PI * uniform();
    spare = r * Math.sin(angle);
    return r * Math.cos(angle);
  };
}

/** First-order autoregressive noise of unit variance, started in its stationary law. */
export function autoregressive(n: number, phi: number, normal: () => number): Float64Array {
  const fresh = Math.sqrt(1 - phi * phi);
  let value = normal();
  return Float64Array.from({ length: n }, (_, i) => {
    if (i > 0) value = phi * value + fresh * normal();
    return value;
  });
}

/** A 1 Hz log of these diameters. */
export function logOf(diameterMm: Float64Array, more: Partial<GaugeLog> = {}): GaugeLog {
  return {
    seconds: Float64Array.from({ length: diameterMm.length }, (_, i) => i),
    diameterMm,
    ...more,
  };
}

export function average(x: readonly number[]): number {
  return x.reduce((sum, value) => sum + value, 0) / x.length;
}

export function varianceOf(x: readonly number[]): number {
  const centre = average(x);
  return x.reduce((sum, value) => sum + (value - centre) ** 2, 0) / (x.length - 1);
}
