import {
  type Factor,
  isNumeric,
  type Line,
  type NumericFactor,
  type Point,
  type SetPoints,
} from '@strandwise/core';
import { decimalsFor, fixed, interval, withUnit } from '@strandwise/report';
import { listed } from './sentence.ts';

/** Decimals at which a factor's settings differ visibly: a tenth of its range, and its ends in full. */
export const factorDecimals = ({ low, high }: Pick<NumericFactor, 'low' | 'high'>): number =>
  Math.max(decimalsFor((high - low) / 10, 1), endDecimals({ low, high }));

/** Decimals that show both ends of a factor's range in full. */
export const endDecimals = ({ low, high }: Pick<NumericFactor, 'low' | 'high'>): number =>
  Math.max(decimalsOf(low), decimalsOf(high));

/** Decimals that show a number in full, three at most. */
const decimalsOf = (value: number): number =>
  String(Number(value.toFixed(3))).split('.')[1]?.length ?? 0;

/** A factor's setting with its unit: "194 °C", "4.2 rpm", "3 mm". */
export function settingText(value: number | string, factor: Factor): string {
  if (typeof value === 'string' || !isNumeric(factor)) return String(value);
  return withUnit(fixed(value, factorDecimals(factor)), factor.unit);
}

/** "182 … 202 °C". */
export const rangeText = (factor: NumericFactor): string =>
  withUnit(interval(factor.low, factor.high, endDecimals(factor)), factor.unit);

/** Settings of all factors but some, in words: "tilt 20 °C, fan 55 %". */
export const heldText = (
  natural: Point,
  factors: readonly Factor[],
  but: readonly string[] = [],
): string =>
  factors
    .filter(({ name }) => !but.includes(name))
    .map((factor) => `${factor.name} ${settingText(natural[factor.name]!, factor)}`)
    .join(', ');

/** One thing the operator keys in. */
export interface SetPointKey {
  readonly name: string;
  readonly unit: string | undefined;
  readonly step: number;
  readonly decimals: number;
  readonly value: (setPoints: SetPoints) => number | string;
  readonly with: (setPoints: SetPoints, value: number) => SetPoints;
}

/** Decimals of a step that a controller takes. */
const stepDecimals = (step: number): number =>
  String(Number(step.toFixed(6))).split('.')[1]?.length ?? 0;

/** Everything to key in on a line, feed end first; factors the line knows nothing of come last. */
export function setPointKeys(line: Line, factors: readonly Factor[]): SetPointKey[] {
  const zones = line.zones.map(
    ({ name }, i): SetPointKey => ({
      name,
      unit: '°C',
      step: line.setPointStepCelsius,
      decimals: stepDecimals(line.setPointStepCelsius),
      value: ({ zonesCelsius }) => zonesCelsius[i]!,
      with: (setPoints, value) => ({
        ...setPoints,
        zonesCelsius: setPoints.zonesCelsius.with(i, value),
      }),
    }),
  );
  return [
    ...zones,
    {
      name: 'screw',
      unit: 'rpm',
      step: line.screw.stepRpm,
      decimals: stepDecimals(line.screw.stepRpm),
      value: ({ screwRpm }) => screwRpm,
      with: (setPoints, screwRpm) => ({ ...setPoints, screwRpm }),
    },
    {
      name: 'fan',
      unit: '%',
      step: line.fan.stepPercent,
      decimals: stepDecimals(line.fan.stepPercent),
      value: ({ fanPercent }) => fanPercent,
      with: (setPoints, fanPercent) => ({ ...setPoints, fanPercent }),
    },
    ...factors.flatMap(otherKey),
  ];
}

/** A key for a factor that is none of the line's own settings. */
function otherKey(factor: Factor): SetPointKey[] {
  if (isNumeric(factor) && factor.acts !== undefined && factor.acts !== 'other') return [];
  const step = isNumeric(factor) ? (factor.step ?? niceFraction(factor)) : 1;
  return [
    {
      name: factor.name,
      unit: isNumeric(factor) ? factor.unit : undefined,
      step,
      decimals: isNumeric(factor) ? Math.max(stepDecimals(step), factorDecimals(factor)) : 0,
      value: ({ other }) => other[factor.name] ?? '',
      with: (setPoints, value) => ({
        ...setPoints,
        other: { ...setPoints.other, [factor.name]: value },
      }),
    },
  ];
}

const niceFraction = ({ low, high }: NumericFactor): number =>
  10 ** Math.floor(Math.log10((high - low) / 20));

/** Set points in a sentence: "the zones at 178, 193, 200 and 193 °C, the screw at 4.2 rpm and the fan at 55 %". */
export function setPointWords(setPoints: SetPoints, line: Line): string {
  const { zonesCelsius, screwRpm, fanPercent, other } = setPoints;
  const zones = withUnit(listed(zonesCelsius.map(String)), '°C');
  return listed([
    `${zonesCelsius.length === 1 ? (line.zones[0]?.name ?? 'the zone') : 'the zones'} at ${zones}`,
    `the screw at ${withUnit(String(screwRpm), 'rpm')}`,
    `the fan at ${withUnit(String(fanPercent), '%')}`,
    ...Object.entries(other).map(([name, value]) => `${name} at ${value}`),
  ]);
}
