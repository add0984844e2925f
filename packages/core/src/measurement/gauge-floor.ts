import { lengthInMicrometres } from './words.ts';

/** What the gauge itself adds to a diameter spread. */
export interface GaugeFloor {
  readonly sdMm: number;
  readonly noiseVarianceMm2: number;
  readonly quantisationVarianceMm2: number;
  readonly ovalityVarianceMm2: number;
}

/** `sdMm` and `resolutionMm` are of one axis; `ovalityMm` is largest less smallest diameter. */
export interface GaugeTraits {
  readonly sdMm: number;
  readonly resolutionMm: number;
  readonly axes: 1 | 2;
  readonly ovalityMm?: number | undefined;
}

/**
 * The smallest diameter SD that the gauge can show: noise σ_g², rounding q²/12, and e²/8 that an oval
 * strand of (max − min) = e adds on one axis as it twists. Two axes halve noise and rounding, and
 * their mean takes the ovality out.
 *
 * @source q²/12: variance of a uniform rounding error. e²/8: ½e·cos 2ψ has mean square e²/8.
 */
export function gaugeFloor({ sdMm, resolutionMm, axes, ovalityMm = 0 }: GaugeTraits): GaugeFloor {
  const noiseVarianceMm2 = sdMm ** 2 / axes;
  const quantisationVarianceMm2 = resolutionMm ** 2 / 12 / axes;
  const ovalityVarianceMm2 = axes === 1 ? ovalityMm ** 2 / 8 : 0;
  return {
    sdMm: Math.sqrt(noiseVarianceMm2 + quantisationVarianceMm2 + ovalityVarianceMm2),
    noiseVarianceMm2,
    quantisationVarianceMm2,
    ovalityVarianceMm2,
  };
}

/** How an observed spread stands to the gauge floor; `processSdMm` is for reading only. */
export type FloorStanding =
  | { readonly kind: 'clear'; readonly processSdMm: number; readonly says: string }
  | { readonly kind: 'near-floor'; readonly processSdMm: number; readonly says: string }
  | { readonly kind: 'at-floor'; readonly says: string };

/** Below this many floors the spread is the gauge's; tells apart at 10 % of s. */
const AT_FLOOR = 1.1;

/**
 * Whether a diameter SD tells of the process or of the gauge. Fits use the raw ln s; the process part
 * √(s² − floor²) is for reading only.
 */
export function floorStanding(sdMm: number, { sdMm: floorMm }: GaugeFloor): FloorStanding {
  const seen = lengthInMicrometres(sdMm);
  const floor = lengthInMicrometres(floorMm);
  if (sdMm < AT_FLOOR * floorMm) {
    return {
      kind: 'at-floor',
      says: `s = ${seen} is what the gauge alone would show (${floor}): settings cannot be told apart here. Use a finer gauge or a second axis.`,
    };
  }
  const processSdMm = Math.sqrt(sdMm * sdMm - floorMm * floorMm);
  const share = Math.round((100 * floorMm ** 2) / sdMm ** 2);
  if (processSdMm < floorMm) {
    return {
      kind: 'near-floor',
      processSdMm,
      says: `s = ${seen} is close to the gauge floor ${floor}: ${share} % of the variance is the gauge's, so effects look smaller than they are.`,
    };
  }
  return {
    kind: 'clear',
    processSdMm,
    says: `s = ${seen} stands clear of the gauge floor ${floor} (${share} % of the variance).`,
  };
}
