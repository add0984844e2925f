import { polymerFamily } from './family-table.ts';
import type { Grade } from './grade.ts';
import { heaterMarginCelsius } from './limits.ts';
import type { Line } from './line.ts';

/** Share of the melting point, in °C, that a start stands above it; common practice, no source. */
const meltingShare = 0.1;
/** Start of an amorphous grade above its glass transition, °C; common practice, no source. */
const overGlassCelsius = 100;
/** Kept between a start and the ceiling or the heaters' limit, °C; common practice, no source. */
const roomBelowCeiling = 10;

/** One temperature for every zone with which a grade is first melted. */
export interface StartTemperature {
  readonly celsius: number;
  readonly floorCelsius: number;
  /** Lower of the grade's ceiling and what the heaters of the line may be set to. */
  readonly ceilingCelsius: number;
  readonly basis: 'melting point' | 'glass transition' | 'middle of the window';
  /** Numbers of the grade that nobody has confirmed and that the start rests on. */
  readonly assumed: readonly string[];
  readonly says: string;
}

/**
 * Where to start: uniform, above melting by a tenth of the melting point in °C (semicrystalline) or
 * 100 °C above the glass transition (amorphous), never below the melting floor, and 10 °C below the
 * ceiling or the heaters' limit. In a window narrower than that the start is its middle.
 *
 * @source common practice, no source
 */
export function startTemperature(
  grade: Pick<
    Grade,
    | 'family'
    | 'meltingCelsius'
    | 'glassTransitionCelsius'
    | 'floorCelsius'
    | 'ceilingCelsius'
    | 'sources'
  >,
  line: Pick<Line, 'zones' | 'setPointStepCelsius'>,
): StartTemperature {
  const heaters = Math.min(...line.zones.map((zone) => zone.heaterLimitCelsius));
  const ceilingCelsius = Math.min(grade.ceilingCelsius, heaters - heaterMarginCelsius);
  const { floorCelsius } = grade;
  const wanted = wantedStart(grade);
  const hottest = ceilingCelsius - roomBelowCeiling;
  const middle = (floorCelsius + ceilingCelsius) / 2;
  const isNarrow = hottest < floorCelsius;
  const exact = isNarrow
    ? middle
    : Math.min(hottest, Math.max(floorCelsius, wanted?.celsius ?? middle));
  const celsius = Math.round(exact / line.setPointStepCelsius) * line.setPointStepCelsius;
  const basis: StartTemperature['basis'] =
    isNarrow || wanted === undefined ? 'middle of the window' : wanted.basis;
  const fields =
    basis === 'melting point'
      ? ['meltingCelsius']
      : basis === 'glass transition'
        ? ['glassTransitionCelsius']
        : [];
  const assumed = [...fields, 'floorCelsius', 'ceilingCelsius'].filter(
    (field) => grade.sources[field] === 'assumed',
  );
  return {
    celsius,
    floorCelsius,
    ceilingCelsius,
    basis,
    assumed,
    says: `Start with every zone at ${celsius} °C: ${reason(basis, celsius, wanted?.celsius)}, between the melting floor ${floorCelsius} °C and the limit ${ceilingCelsius} °C.`,
  };
}

function wantedStart(
  grade: Pick<Grade, 'family' | 'meltingCelsius' | 'glassTransitionCelsius'>,
): { celsius: number; basis: StartTemperature['basis'] } | undefined {
  const isAmorphous = polymerFamily(grade.family)?.structure === 'amorphous';
  const { meltingCelsius: melting, glassTransitionCelsius: glass } = grade;
  if (!isAmorphous && melting !== undefined)
    return { celsius: melting * (1 + meltingShare), basis: 'melting point' };
  if (glass !== undefined && isAmorphous)
    return { celsius: glass + overGlassCelsius, basis: 'glass transition' };
  return undefined;
}

function reason(
  basis: StartTemperature['basis'],
  celsius: number,
  wanted: number | undefined,
): string {
  if (basis === 'middle of the window') return 'the middle of its window';
  const rule =
    basis === 'melting point'
      ? 'about a tenth of the melting point above it'
      : `${overGlassCelsius} °C above its glass transition`;
  return wanted !== undefined && Math.abs(wanted - celsius) > 2
    ? `as near to ${rule} as the window allows`
    : rule;
}
