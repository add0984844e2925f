/** What a person calls the numbers of a grade; a field that is not listed is called by its name. */
const words: Readonly<Record<string, string>> = {
  meltingCelsius: 'melting point',
  glassTransitionCelsius: 'glass transition',
  floorCelsius: 'coldest barrel setting',
  ceilingCelsius: 'hottest barrel setting',
  drying: 'drying',
  'drying.celsius': 'drying temperature',
  solidDensityGPerCm3: 'solid density',
  meltDensityGPerCm3: 'melt density',
  hazards: 'hazards',
};

/** A field of a grade in words: "coldest barrel setting" for `floorCelsius`. */
export const gradeWord = (field: string): string => words[field] ?? field;
