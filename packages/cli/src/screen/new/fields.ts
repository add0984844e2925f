/** One question of the form. Values are kept as typed, so that nothing typed is lost. */
export interface Field {
  readonly key: string;
  readonly section: string;
  readonly label: string;
  readonly unit: string;
  readonly kind: 'text' | 'number' | 'whole';
  readonly isOptional: boolean;
  /** Shown under the form while the field is in hand. */
  readonly help: string;
  readonly initial: string;
}

const field = (
  section: string,
  key: string,
  label: string,
  initial: string,
  help: string,
  more: Partial<Pick<Field, 'unit' | 'kind' | 'isOptional'>> = {},
): Field => ({
  section,
  key,
  label,
  initial,
  help,
  unit: '',
  kind: 'number',
  isOptional: false,
  ...more,
});

/** The questions in order. What has a common default carries it; what a data sheet must say is empty. */
export const fields: readonly Field[] = [
  field(
    'study',
    'name',
    'name of the study',
    '',
    'A short name that you will recognise next month.',
    { kind: 'text' },
  ),
  field('grade', 'grade', 'grade', '', 'The name on the bag.', { kind: 'text' }),
  field(
    'grade',
    'family',
    'family',
    '',
    'The polymer: PLA, PETG, PP, … Its usual numbers, in brackets below, stand for what you leave empty and are marked as assumed.',
    { kind: 'text' },
  ),
  field(
    'grade',
    'melting',
    'melting point',
    '',
    'From the data sheet; leave it empty for an amorphous grade.',
    { unit: '°C', isOptional: true },
  ),
  field(
    'grade',
    'floor',
    'coldest barrel setting',
    '',
    'Coldest set point at which it is melted: for a semicrystalline grade 10 to 20 °C above its melting point.',
    { unit: '°C', isOptional: true },
  ),
  field(
    'grade',
    'ceiling',
    'hottest barrel setting',
    '',
    'Hottest set point it stands for a barrel’s residence time; the data sheet’s maximum or less.',
    { unit: '°C', isOptional: true },
  ),
  field('grade', 'dryCelsius', 'dry at', '', 'Drying temperature of the data sheet.', {
    unit: '°C',
    isOptional: true,
  }),
  field('grade', 'dryHours', 'dry for', '', 'Drying time of the data sheet.', {
    unit: 'h',
    isOptional: true,
  }),
  field('grade', 'moisture', 'moisture allowed', '', 'Most moisture at the hopper.', {
    unit: 'ppm',
    isOptional: true,
  }),
  field('grade', 'solidDensity', 'solid density', '', 'At room temperature, from the data sheet.', {
    unit: 'g/cm³',
    isOptional: true,
  }),
  field(
    'grade',
    'meltDensity',
    'melt density',
    '',
    'At processing temperature; about 0.86 of the solid density when the sheet is silent.',
    { unit: 'g/cm³', isOptional: true },
  ),
  field('line', 'line', 'line', 'bench line', 'A name for the machine.', { kind: 'text' }),
  field('line', 'zones', 'heated zones', '4', 'From 1 to 8, counted from the feed end.', {
    kind: 'whole',
  }),
  field('line', 'heaterLimit', 'heater limit', '350', 'Of every zone, from the machine’s manual.', {
    unit: '°C',
  }),
  field('line', 'screwDiameter', 'screw diameter', '16', 'Outside diameter.', { unit: 'mm' }),
  field('line', 'lowRpm', 'slowest screw', '1', 'Slowest speed at which the drive runs evenly.', {
    unit: 'rpm',
  }),
  field('line', 'highRpm', 'fastest screw', '15', 'Fastest allowed speed.', { unit: 'rpm' }),
  field('target', 'diameter', 'diameter', '1.75', 'Target of the strand.', { unit: 'mm' }),
  field(
    'target',
    'tolerance',
    'tolerance, plus or minus',
    '0.05',
    'Half the width between the limits.',
    { unit: 'mm' },
  ),
  field(
    'target',
    'bubbles',
    'bubbles allowed',
    '1',
    'Most bubbles a metre that a good spool may have.',
    { unit: 'per metre' },
  ),
  field(
    'target',
    'output',
    'output wished',
    '',
    'Least output that you would like; empty: none. A spool made more slowly conforms all the same.',
    { unit: 'kg/h', isOptional: true },
  ),
  field(
    'factors',
    'levelLow',
    'level from',
    '',
    'Level: mean of all zones. Empty: proposed from the grade.',
    { unit: '°C', isOptional: true },
  ),
  field(
    'factors',
    'levelHigh',
    'level to',
    '',
    'Aim to cover 60 to 80 % of the window that makes filament (common practice).',
    { unit: '°C', isOptional: true },
  ),
  field('factors', 'tiltLow', 'tilt from', '', 'Tilt: die end less feed end.', {
    unit: '°C',
    isOptional: true,
  }),
  field('factors', 'tiltHigh', 'tilt to', '', 'Empty: proposed.', { unit: '°C', isOptional: true }),
  field(
    'factors',
    'humpLow',
    'hump from',
    '',
    'Hump: middle less ends; positive when the middle is hottest.',
    { unit: '°C', isOptional: true },
  ),
  field('factors', 'humpHigh', 'hump to', '', 'Empty: proposed.', { unit: '°C', isOptional: true }),
  field('factors', 'screwLow', 'screw from', '', 'Empty: proposed.', {
    unit: 'rpm',
    isOptional: true,
  }),
  field(
    'factors',
    'screwHigh',
    'screw to',
    '',
    'Slow cells cost the most time: the barrel takes longest to flush.',
    { unit: 'rpm', isOptional: true },
  ),
  field('factors', 'fanLow', 'fan from', '', 'Empty: proposed.', { unit: '%', isOptional: true }),
  field('factors', 'fanHigh', 'fan to', '', 'Empty: proposed.', { unit: '%', isOptional: true }),
];

/** What is wrong with a typed value, or null. */
export function fieldProblem({ label, kind, isOptional }: Field, value: string): string | null {
  const text = value.trim();
  if (text === '') return isOptional ? null : `${label} is needed.`;
  if (kind === 'text') return null;
  const number = numberOf(text);
  if (!Number.isFinite(number)) return `${label} must be a number; got "${text}".`;
  return kind === 'whole' && !Number.isInteger(number)
    ? `${label} must be a whole number; got "${text}".`
    : null;
}

/** A typed number; a decimal comma is taken as a point. */
export const numberOf = (text: string): number => Number(text.trim().replace(',', '.'));

export type Values = Readonly<Record<string, string>>;
