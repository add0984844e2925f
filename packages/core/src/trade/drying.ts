import { DomainError } from '../error/domain-error.ts';
import { polymerFamily } from './family-table.ts';
import type { Grade } from './grade.ts';

/**
 * Moisture of pellets that stand open: w(t) = w_eq − (w_eq − w₀) e^(−t/τ).
 *
 * @param hours - since they left the dryer; >= 0
 * @returns ppm
 */
export function moistureAfter(
  hours: number,
  {
    driedPpm,
    equilibriumPpm,
    uptakeHours,
  }: { readonly driedPpm: number; readonly equilibriumPpm: number; readonly uptakeHours: number },
): number {
  if (!(uptakeHours > 0 && hours >= 0)) {
    throw new DomainError(
      'uptake_time',
      `moistureAfter: times must not be negative and uptakeHours must exceed 0; got hours=${hours}, uptakeHours=${uptakeHours}. Give hours.`,
      { hours, uptakeHours },
    );
  }
  return equilibriumPpm - (equilibriumPpm - driedPpm) * Math.exp(-hours / uptakeHours);
}

/** How to dry a grade and how long that lasts. */
export type DryingAdvice =
  | { readonly kind: 'not-needed'; readonly says: string }
  | { readonly kind: 'unknown'; readonly says: string }
  | {
      readonly kind: 'dry';
      readonly celsius: number;
      readonly hours: number;
      readonly mostMoisturePpm: number;
      /** Hours in an open hopper until the limit is reached; null when uptake is not known. */
      readonly staysDryHours: number | null;
      readonly cautions: readonly string[];
      readonly says: string;
    };

/** Pellets leave a good dryer at about half the allowed moisture; common practice, no source. */
const driedShare = 0.5;
/** Recycled material dries half as long again; common practice, no source. */
const recycledFactor = 1.5;

/**
 * Drying of a grade: at what, how long, to what, and how long pellets stay dry in an open hopper at
 * about 50 % relative humidity. In damper air it is less: measure where it matters.
 *
 * @param driedPpm - moisture out of the dryer, when measured; half the limit otherwise
 */
export function dryingAdvice(
  grade: Pick<Grade, 'name' | 'family' | 'drying' | 'glassTransitionCelsius'>,
  {
    driedPpm,
    isRecycled = false,
  }: { readonly driedPpm?: number; readonly isRecycled?: boolean } = {},
): DryingAdvice {
  const family = polymerFamily(grade.family);
  const drying = grade.drying ?? family?.drying;
  if (!drying) {
    return family
      ? {
          kind: 'not-needed',
          says: `${grade.name} takes up next to no water. Dry only what is wet to the touch.`,
        }
      : {
          kind: 'unknown',
          says: `No drying is on record for ${grade.name}. Take it from the data sheet before the plan is walked: moisture can rule every other effect.`,
        };
  }
  const hours = drying.hours * (isRecycled ? recycledFactor : 1);
  const start = driedPpm ?? driedShare * drying.mostMoisturePpm;
  const staysDryHours = family?.uptake
    ? hoursUntil(drying.mostMoisturePpm, start, family.uptake)
    : null;
  const lasts =
    staysDryHours === null
      ? 'How fast it takes up water again is not known: keep the hopper closed.'
      : `In an open hopper it stays below the limit for about ${inHours(staysDryHours)}; refill little and often, or dry in place.`;
  return {
    kind: 'dry',
    celsius: drying.celsius,
    hours,
    mostMoisturePpm: drying.mostMoisturePpm,
    staysDryHours,
    cautions: dryingCautions(grade, drying.celsius),
    says: `Dry ${grade.name} at ${drying.celsius} °C for ${hours} h, to below ${drying.mostMoisturePpm} ppm. ${lasts}`,
  };
}

function hoursUntil(
  mostPpm: number,
  startPpm: number,
  { equilibriumPpm, hours }: { readonly equilibriumPpm: number; readonly hours: number },
): number | null {
  if (startPpm >= mostPpm) return 0;
  if (equilibriumPpm <= mostPpm) return null;
  return hours * Math.log((equilibriumPpm - startPpm) / (equilibriumPpm - mostPpm));
}

function dryingCautions(
  grade: Pick<Grade, 'name' | 'family' | 'glassTransitionCelsius'>,
  celsius: number,
): string[] {
  const family = polymerFamily(grade.family);
  const glass = grade.glassTransitionCelsius ?? family?.glassTransitionCelsius?.[0];
  const out = ['The dryer is hot inside; spilt pellets are slippery.'];
  if (family?.structure === 'amorphous' && glass !== undefined && celsius > glass - 3) {
    out.push(
      `${celsius} °C is at or above the glass transition ${glass} °C: pellets will clump. Dry colder for longer.`,
    );
  }
  if (family?.family.startsWith('PA') === true)
    out.push('Polyamide yellows in hot air: use dry air or vacuum.');
  return out;
}

const inHours = (hours: number): string =>
  hours < 1 ? `${Math.round(hours * 60)} min` : `${hours.toFixed(1)} h`;
