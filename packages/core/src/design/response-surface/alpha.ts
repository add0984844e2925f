/** Rules for the axial distance. */
export const alphaRules = [
  'rotatable',
  'spherical',
  'face-centred',
  'orthogonal quadratics',
  'orthogonal blocks',
] as const;
export type AlphaRule = (typeof alphaRules)[number];

/** Counts that fix an axial distance. */
export interface CompositeCounts {
  readonly factors: number;
  /** Runs of the factorial part. */
  readonly cubeRuns: number;
  /** Centre runs beside the factorial part, and beside the axial part. */
  readonly cubeCentres: number;
  readonly axialCentres: number;
}

/**
 * Axial distance by rule, in coded units. With k factors and F factorial runs:
 * rotatable F^(1/4); spherical √k; face-centred 1; orthogonal quadratics
 * α² = (√(F·N) − F)/2 with N all runs; orthogonal blocks α² = k(1 + s0/2k)/(1 + c0/F) with c0 and s0
 * the centre runs of the factorial and the axial blocks.
 *
 * @source Box & Hunter (1957), Annals of Mathematical Statistics 28:195–241
 * @example alphaOf('rotatable', { factors: 2, cubeRuns: 4, cubeCentres: 5, axialCentres: 0 }) // √2
 */
export function alphaOf(rule: AlphaRule, counts: CompositeCounts): number {
  const { factors: k, cubeRuns: f, cubeCentres: c0, axialCentres: s0 } = counts;
  switch (rule) {
    case 'rotatable':
      return f ** 0.25;
    case 'spherical':
      return Math.sqrt(k);
    case 'face-centred':
      return 1;
    case 'orthogonal quadratics': {
      const n = f + 2 * k + c0 + s0;
      return Math.sqrt((Math.sqrt(f * n) - f) / 2);
    }
    case 'orthogonal blocks':
      return Math.sqrt((k * (1 + s0 / (2 * k))) / (1 + c0 / f));
  }
}
