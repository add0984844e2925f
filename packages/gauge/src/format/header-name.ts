import type { FieldMeaning, FieldUnit } from './line-format.ts';
import { unitOf } from './unit.ts';

/** What a header cell says about its column. */
export type HeaderName =
  | { readonly kind: 'time'; readonly unit?: 'seconds' | 'milliseconds' | 'minutes' }
  | { readonly kind: 'date' }
  | {
      readonly kind: 'field';
      readonly means: FieldMeaning;
      readonly unit?: FieldUnit;
      readonly zone?: number;
    }
  | { readonly kind: 'other' };

const OTHER: HeaderName = { kind: 'other' };

/** Set points, limits and statistics carry the same nouns as readings and are no readings. */
const NOT_A_READING =
  /\b(set|sp|setpoint|soll|sollwert|target|nominal|nenn|min|max|limit|tol|tolerance|toleranz|sd|std|stdev|sigma|error|alarm|cpk?)\b/;

const TIME =
  /^(time|zeit|uhrzeit|timestamp|time stamp|zeitstempel|datetime|date time|elapsed|elapsed time|t|clock|sec|secs|seconds|sekunden|ms|minutes|heure|temps|hora|tiempo)\b/;
const DATE = /^(date|datum|day|tag|fecha)$/;
const DIAMETER =
  /^((filament|strand|measured|mean|avg|average|actual|ist|outer|mittlerer) )*(diameter|diam|dia|durchmesser|diametre|diamètre|diametro|diámetro|od|d|ø|⌀)\b/;
const AXIS =
  /^((diameter|diam|dia|durchmesser|od|d|axis|achse) ?(x|y|a|b|1|2)|(x|y) ?(diameter|axis|achse))$/;
const OVALITY =
  /^(ovality|ovalität|ovalitaet|oval|out of round(ness)?|roundness deviation|unrundheit)\b/;
const PULLER =
  /^(puller|pull|haul off|hauloff|abzug|take up|line speed|strand speed|speed|geschwindigkeit|liniengeschwindigkeit|abzugsgeschwindigkeit|v)\b/;
const ZONE =
  /^(?:(?:barrel|heater|heating|heizung|temp|temperature|temperatur) ?)?(?:zone|heizzone|hz|z|t|temp|temperature|temperatur) ?([1-8])\b|^(?:zone|heizzone) ?([1-8])\b/;

/**
 * What a header cell means, by the words of the trade in English and German and a few neighbours'.
 * The unit may stand in brackets (`diameter (mm)`), after a comma or as a last word (`dia_um`).
 */
export function headerName(raw: string): HeaderName {
  const { name, unitText } = nameAndUnit(raw);
  if (name === '' || NOT_A_READING.test(name)) return OTHER;
  if (DATE.test(name)) return { kind: 'date' };
  const unit = unitText === undefined ? undefined : unitOf(unitText);
  const zone = ZONE.exec(name);
  if (zone) return field('zone', unit, Number(zone[1] ?? zone[2]));
  if (AXIS.test(name)) return field('axis', unit);
  if (DIAMETER.test(name)) return field('diameter', unit);
  if (OVALITY.test(name)) return field('ovality', unit);
  if (PULLER.test(name)) return field('puller', unit);
  if (TIME.test(name)) return timeName(name, unitText);
  return OTHER;
}

function field(means: FieldMeaning, unit?: FieldUnit, zone?: number): HeaderName {
  return {
    kind: 'field',
    means,
    ...(unit !== undefined && { unit }),
    ...(zone !== undefined && { zone }),
  };
}

function timeName(name: string, unitText: string | undefined): HeaderName {
  const said = unitText?.toLowerCase() ?? name;
  if (/^(ms|msec|milliseconds?)$/.test(said)) return { kind: 'time', unit: 'milliseconds' };
  if (/^(min|minutes?|minuten)$/.test(said)) return { kind: 'time', unit: 'minutes' };
  if (/^(s|secs?|seconds?|sekunden)$/.test(said)) return { kind: 'time', unit: 'seconds' };
  return { kind: 'time' };
}

function nameAndUnit(raw: string): { name: string; unitText?: string } {
  const text = raw
    .trim()
    .replace(/^"|"$/g, '')
    .replace(/^\uFEFF/, '');
  const bracketed = /^(.*?)\s*[([{<]\s*([^)\]}>]*)\s*[)\]}>]\s*$/.exec(text);
  if (bracketed) return { name: plain(bracketed[1]!), unitText: bracketed[2]!.trim() };
  const words = text.split(/[\s,_]+|\bin\b/).filter((word) => word !== '');
  const last = words.at(-1);
  if (words.length > 1 && last !== undefined && isUnitWord(last)) {
    return { name: plain(words.slice(0, -1).join(' ')), unitText: last };
  }
  // Names such as diameterMm, pullerMmPerSecond and zoneCelsius.
  const camel = /^([a-zA-Z]+?\d?)(Mm|Um|Inch|MmPerSecond|MPerMin|Celsius|Seconds|Ms)$/.exec(text);
  if (camel) return { name: plain(camel[1]!), unitText: CAMEL_UNITS[camel[2]!]! };
  return { name: plain(text) };
}

const CAMEL_UNITS: Readonly<Record<string, string>> = {
  Mm: 'mm',
  Um: 'um',
  Inch: 'inch',
  MmPerSecond: 'mm/s',
  MPerMin: 'm/min',
  Celsius: '°C',
  Seconds: 's',
  Ms: 'ms',
};

function isUnitWord(word: string): boolean {
  return unitOf(word) !== undefined || /^(s|ms|min|sec|msec|minutes|seconds)$/i.test(word);
}

function plain(text: string): string {
  return text
    .replace(/([a-z])([A-Z])/g, '$1 $2')
    .toLowerCase()
    .replace(/[_\-./:]+/g, ' ')
    .replace(/\s+/g, ' ')
    .trim();
}
