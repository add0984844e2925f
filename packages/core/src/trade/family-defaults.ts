import { nearestName } from '../error/domain-error.ts';
import { polymerFamilies, polymerFamily } from './family-table.ts';
import { Grade, type GradeSheet } from './grade.ts';
import { gradeWord } from './grade-words.ts';
import type { PolymerFamily } from './polymer-family.ts';

/** A number of the sheet that does not sit with its family: to be looked at, never overwritten. */
export interface SheetConflict {
  readonly field: string;
  readonly given: number;
  readonly usual: readonly [number, number];
  readonly says: string;
}

/** What a person has typed in so far. */
export type PartialGrade = Omit<GradeSheet, 'sources'> & Partial<Pick<GradeSheet, 'sources'>>;

export type FilledGrade =
  | {
      readonly kind: 'filled';
      readonly grade: Grade;
      /** Fields taken from the family; `grade.sources` marks them `assumed`. */
      readonly assumed: readonly string[];
      readonly conflicts: readonly SheetConflict[];
    }
  | {
      readonly kind: 'incomplete';
      readonly missing: readonly string[];
      /** The known family nearest in spelling. */
      readonly nearest: string | undefined;
      readonly says: string;
    };

/** Kept between a study's hottest set point and the family's short-exposure limit, °C. */
const ceilingMarginCelsius = 15;
/** Lift of the melting floor over the melting point, and over the glass transition, °C. */
const overMelting = 10;
const overGlass = 80;

/**
 * Fills the gaps of a grade from its family and marks them `assumed`; keeps what the sheet says and
 * reports where it leaves the family's usual range.
 *
 * Floor: 10 °C over the sheet's melting point (semicrystalline) or 80 °C over its glass transition
 * (amorphous), else the family's coldest usual set point. Ceiling: the family's short-exposure limit
 * less 15 °C (common practice, no source).
 */
export function withFamilyDefaults(given: PartialGrade): FilledGrade {
  const family = polymerFamily(given.family);
  const filled: Record<string, unknown> = { ...given };
  const assumed: string[] = [];
  const fill = (field: string, value: unknown): void => {
    if (filled[field] !== undefined || value === undefined) return;
    filled[field] = value;
    assumed.push(field);
  };
  if (family) {
    fill('meltingCelsius', middle(family.meltingCelsius));
    fill('glassTransitionCelsius', middle(family.glassTransitionCelsius));
    fill('floorCelsius', floorOf(given, family));
    fill('ceilingCelsius', family.ceilingCelsius - ceilingMarginCelsius);
    fill('drying', family.drying);
    fill('solidDensityGPerCm3', middle(family.solidDensityGPerCm3));
    fill('meltDensityGPerCm3', middle(family.meltDensityGPerCm3));
    fill('hazards', [...family.hazards]);
  }
  const needed = ['floorCelsius', 'ceilingCelsius', 'solidDensityGPerCm3', 'meltDensityGPerCm3'];
  const missing = needed.filter((field) => filled[field] === undefined);
  if (missing.length > 0) {
    const nearest = nearestName(
      given.family,
      polymerFamilies.flatMap((one) => [one.family, ...one.alsoCalled]),
    );
    const says = `No generic values are held for "${given.family}"${nearest ? `; did you mean ${nearest}?` : '.'} Give ${missing.map(gradeWord).join(', ')} from the data sheet.`;
    return { kind: 'incomplete', missing, nearest, says };
  }
  const sources = { ...given.sources };
  for (const field of assumed) sources[field] = 'assumed';
  const grade = Grade.parse({ ...filled, sources });
  return { kind: 'filled', grade, assumed, conflicts: family ? conflictsOf(given, family) : [] };
}

function floorOf(given: PartialGrade, family: PolymerFamily): number | undefined {
  if (family.structure === 'semicrystalline' && given.meltingCelsius !== undefined)
    return given.meltingCelsius + overMelting;
  if (family.structure === 'amorphous' && given.glassTransitionCelsius !== undefined)
    return given.glassTransitionCelsius + overGlass;
  return family.barrelCelsius?.[0];
}

function conflictsOf(given: PartialGrade, family: PolymerFamily): SheetConflict[] {
  const out: SheetConflict[] = [];
  const check = (
    field: string,
    value: number | undefined,
    [low, high]: readonly [number, number],
    unit: string,
    why = '',
  ): void => {
    if (value === undefined || (value >= low && value <= high)) return;
    const usual = low === Number.NEGATIVE_INFINITY ? `at most ${high}` : `${low} to ${high}`;
    const says = `${capitalised(gradeWord(field))} ${value} ${unit} is outside what is usual for ${family.family}, ${usual} ${unit}.${why} Check the sheet.`;
    out.push({ field, given: value, usual: [low, high], says });
  };
  const around = ([low, high]: readonly [number, number], by: number) =>
    [low - by, high + by] as const;
  if (family.meltingCelsius)
    check('meltingCelsius', given.meltingCelsius, around(family.meltingCelsius, 10), '°C');
  if (family.glassTransitionCelsius) {
    const usual = around(family.glassTransitionCelsius, 10);
    check('glassTransitionCelsius', given.glassTransitionCelsius, usual, '°C');
  }
  if (family.barrelCelsius)
    check('floorCelsius', given.floorCelsius, around(family.barrelCelsius, 15), '°C');
  const most = [Number.NEGATIVE_INFINITY, family.ceilingCelsius] as const;
  const why = ' Above it the family degrades within minutes.';
  check('ceilingCelsius', given.ceilingCelsius, most, '°C', why);
  check(
    'solidDensityGPerCm3',
    given.solidDensityGPerCm3,
    spread(family.solidDensityGPerCm3),
    'g/cm³',
  );
  check('meltDensityGPerCm3', given.meltDensityGPerCm3, spread(family.meltDensityGPerCm3), 'g/cm³');
  if (family.drying && given.drying) {
    const hottest =
      family.structure === 'amorphous' && family.glassTransitionCelsius
        ? family.glassTransitionCelsius[1]
        : family.drying.celsius + 25;
    const sticky = ' Hotter, the pellets stick or yellow.';
    check(
      'drying.celsius',
      given.drying.celsius,
      [Number.NEGATIVE_INFINITY, hottest],
      '°C',
      sticky,
    );
  }
  return out;
}

const capitalised = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

const middle = (range: readonly [number, number] | undefined): number | undefined =>
  range && Number(((range[0] + range[1]) / 2).toFixed(3));
/** Densities may differ a tenth: fillers and fibres change them. */
const spread = ([low, high]: readonly [number, number]): readonly [number, number] => [
  Number((0.9 * low).toFixed(3)),
  Number((1.1 * high).toFixed(3)),
];
