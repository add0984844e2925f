/**
 * Fast Fourier transform in place, radix 2.
 *
 * @param re - real parts, shape (n), n a power of two; overwritten
 * @param im - imaginary parts, shape (n); overwritten
 * @source Cooley & Tukey (1965), An algorithm for the machine calculation of complex Fourier series
 */
export function transformInto(re: Float64Array, im: Float64Array): void {
  const n = re.length;
  for (let i = 1, j = 0; i < n; i++) {
    let bit = n >> 1;
    for (; j & bit; bit >>= 1) j ^= bit;
    j ^= bit;
    if (i < j) {
      [re[i], re[j]] = [re[j]!, re[i]!];
      [im[i], im[j]] = [im[j]!, im[i]!];
    }
  }
  for (let size = 2; size <= n; size *= 2) butterfliesInto(re, im, size);
}

function butterfliesInto(re: Float64Array, im: Float64Array, size: number): void {
  const half = size / 2;
  for (let k = 0; k < half; k++) {
    const angle = (-2 * Math.PI * k) / size;
    const c = Math.cos(angle);
    const s = Math.sin(angle);
    for (let i = k; i < re.length; i += size) {
      const j = i + half;
      const x = re[j]! * c - im[j]! * s;
      const y = re[j]! * s + im[j]! * c;
      re[j] = re[i]! - x;
      im[j] = im[i]! - y;
      re[i]! += x;
      im[i]! += y;
    }
  }
}

/**
 * |Σ d·exp(−2πi f t)|² at f = k/N, k = 0 … N/2, where N is the power of two at or above four times
 * the length: a grid at least four times finer than the Fourier frequencies, so that no wave falls
 * between two of them.
 *
 * @param d - values about their mean, shape (n)
 * @returns power, shape (N/2 + 1); `size` is N
 */
export function finePowers(d: Float64Array): {
  readonly size: number;
  readonly power: Float64Array;
} {
  let size = 8;
  while (size < 4 * d.length) size *= 2;
  const re = new Float64Array(size);
  const im = new Float64Array(size);
  re.set(d);
  transformInto(re, im);
  const power = new Float64Array(size / 2 + 1);
  for (let k = 0; k < power.length; k++) power[k] = re[k]! ** 2 + im[k]! ** 2;
  return { size, power };
}
