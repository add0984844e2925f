import type { FieldUnit } from './line-format.ts';

/** A value turned to mm, mm/s or °C. Division by 1000 keeps 1752 µm at exactly 1.752 mm. */
export function inOwnUnit(value: number, unit: FieldUnit): number {
  switch (unit) {
    case 'mm':
    case 'mm/s':
    case '°C':
      return value;
    case 'µm':
      return value / 1000;
    case 'inch':
    case 'inch/s':
      return value * 25.4;
    case 'mm/min':
      return value / 60;
    case 'm/min':
      return (value * 1000) / 60;
    case 'm/s':
      return value * 1000;
    case '°F':
      return ((value - 32) * 5) / 9;
    case 'K':
      return value - 273.15;
  }
}

const SPELLINGS: readonly (readonly [RegExp, FieldUnit])[] = [
  [/^(mm\/s|mm\/sec|mmps|mm s-1|mm per s(econd)?)$/, 'mm/s'],
  [/^(mm\/min|mmpm|mm per min(ute)?)$/, 'mm/min'],
  [/^(m\/min|mpm|m per min(ute)?)$/, 'm/min'],
  [/^(m\/s|m\/sec|m per s(econd)?)$/, 'm/s'],
  [/^(in\/s|inch\/s|ips)$/, 'inch/s'],
  [/^(mm|millimet(er|re)s?)$/, 'mm'],
  [/^(um|µm|μm|microns?|micromet(er|re)s?|mikrometer)$/, 'µm'],
  [/^(in|inch|inches|zoll|")$/, 'inch'],
  [/^(°c|ºc|c|degc|celsius|grad c|deg c)$/, '°C'],
  [/^(°f|ºf|f|degf|fahrenheit|deg f)$/, '°F'],
  [/^(k|kelvin)$/, 'K'],
];

/** The unit that a text spells, or undefined. */
export function unitOf(text: string): FieldUnit | undefined {
  const plain = text.trim().toLowerCase();
  return SPELLINGS.find(([spelling]) => spelling.test(plain))?.[1];
}
