import {
  coolingSeconds,
  type Line,
  outputCm3PerMinute,
  type Product,
  type SetPoints,
  zonePositions,
} from '@strandwise/core';
import type { VirtualGrade } from './virtual-grade.ts';

const gasConstant = 8.314;
const kelvin = 273;
/** Speed at which the grade's constants are stated, rpm. */
const referenceRpm = 5;
/** Net output over ideal drag flow when feeding is at its best. */
const pumpEfficiency = 0.92;
/** Share of the slow flow wander that reaches the diameter while the puller loop is on. */
const loopPassesSlow = 0.3;

/** The surroundings of a line that its settings do not say. */
export interface Surroundings {
  readonly moisturePpm: number;
  readonly roomCelsius: number;
}
export const usualSurroundings: Surroundings = { moisturePpm: 200, roomCelsius: 23 };

/** Chance that no usable strand comes, by what goes wrong. */
export interface FailureChance {
  readonly cold: number;
  readonly hot: number;
  readonly feed: number;
}

/** What the melt carries with it from the barrel: the slow part of the line's answer. */
export interface MeltHistory {
  /** Net output over what the pump would give at best feeding, 0 to 1. */
  readonly feedEfficiency: number;
  /** Hopper-side set point away from the best, in widths. */
  readonly feedOffset: number;
  readonly meltCelsius: number;
  /** Die zone less the middle of the barrel, °C: a colder or hotter die skin. */
  readonly dieOffset: number;
  /** ln of the viscosity at the reference speed; Pa·s. */
  readonly lnViscosity: number;
  readonly meltingMargin: number;
  readonly degradation: number;
}

/** The long-run behaviour of a strand at one setting. */
export interface SteadyState {
  readonly residenceMinutes: number;
  readonly outputKgPerHour: number;
  readonly lineSpeedMmPerSecond: number;
  readonly meltCelsius: number;
  readonly viscosityPas: number;
  readonly meltingMargin: number;
  readonly degradation: number;
  readonly pullerCelsius: number;
  readonly ovalityMm: number;
  /** Relative flow noise: surge amplitude, slow SD, melt-strength SD. */
  readonly surge: number;
  readonly slowNoise: number;
  readonly meltNoise: number;
  /** SD of measured diameter, gauge included. */
  readonly sdMm: number;
  readonly bubblesPerMetre: number;
  readonly bubbles: {
    readonly moisture: number;
    readonly air: number;
    readonly degradation: number;
  };
  readonly unmeltedPerMetre: number;
  readonly failure: FailureChance;
  /** Chance of any of the failures, taken as independent. */
  readonly failureChance: number;
  /** Drive load against its usual value; alarms stand at 2 to 3. */
  readonly torqueIndex: number;
}

export interface SteadyStateOf {
  readonly settings: Pick<SetPoints, 'zonesCelsius' | 'screwRpm' | 'fanPercent'>;
  readonly line: Line;
  readonly grade: VirtualGrade;
  readonly product: Pick<Product, 'diameterMm'>;
  readonly surroundings?: Surroundings;
}

/**
 * Where a line ends up at one setting, every transient gone.
 *
 * Zone temperatures are read at four places from feed to die, so lines of 1 to 8 zones share one
 * set of equations: Arrhenius viscosity and degradation, melting length ∝ G/√(N ΔT) (Tadmor's
 * scaling), lumped cooling of the strand, and noise that grows when melting is incomplete.
 *
 * @source Tadmor & Gogos, Principles of Polymer Processing (scaling laws, from memory); constants of
 *   the grade are invented
 */
export function steadyState({
  settings,
  line,
  grade,
  product,
  surroundings = usualSurroundings,
}: SteadyStateOf): SteadyState {
  const zones = fourZones(settings.zonesCelsius, zonePositions(line));
  const history = meltHistory(zones, settings.screwRpm, line, grade);
  return strandState(history, { settings, line, grade, product, surroundings });
}

/** Temperatures at four equally spaced places from feed to die, by straight lines between zones. */
export function fourZones(zones: ArrayLike<number>, positions: readonly number[]): number[] {
  const n = positions.length;
  if (n === 1) return [zones[0]!, zones[0]!, zones[0]!, zones[0]!];
  return [0, 1 / 3, 2 / 3, 1].map((u) => {
    let i = 0;
    while (i < n - 2 && positions[i + 1]! < u) i++;
    const share = (u - positions[i]!) / (positions[i + 1]! - positions[i]!);
    return zones[i]! + share * (zones[i + 1]! - zones[i]!);
  });
}

/** What barrel and screw do to the melt, given the four effective zone temperatures. */
export function meltHistory(
  zones: ArrayLike<number>,
  screwRpm: number,
  line: Line,
  grade: VirtualGrade,
): MeltHistory {
  const [z1, z2, z3, z4] = [zones[0]!, zones[1]!, zones[2]!, zones[3]!];
  const feedOffset = (z1 - grade.feedBestCelsius) / grade.feedWidthCelsius;
  const feedEfficiency = Math.exp(-0.125 * feedOffset ** 2);
  const speed = screwRpm / referenceRpm;
  const meltCelsius = 0.05 * z1 + 0.2 * z2 + 0.35 * z3 + 0.4 * z4 + 1.5 * speed;
  const inverse = 1 / (meltCelsius + kelvin);
  const drive = Math.max(0.35 * (z2 + z3) + 0.3 * z1 - grade.softeningCelsius, 0.5);
  const pumped = pumpEfficiency * feedEfficiency * outputCm3PerMinute(line, screwRpm);
  const rate =
    grade.degradationRate *
    Math.exp(-(grade.degradationEnergy / gasConstant) * (inverse - 1 / (210 + kelvin)));
  return {
    feedEfficiency,
    feedOffset,
    meltCelsius,
    dieOffset: z4 - (z2 + z3) / 2,
    lnViscosity:
      Math.log(grade.viscosityPas) +
      (grade.flowEnergy / gasConstant) * (inverse - 1 / (200 + kelvin)),
    meltingMargin: grade.meltingMargin * Math.sqrt(drive / 34 / speed),
    degradation: (rate * line.holdUpCm3) / pumped / 10,
  };
}

/** The strand that a melt of this history makes at the present screw speed and fan. */
export function strandState(
  history: MeltHistory,
  {
    settings: { screwRpm, fanPercent },
    line,
    grade,
    product,
    surroundings = usualSurroundings,
  }: SteadyStateOf,
): SteadyState {
  const { feedOffset, meltingMargin: margin, degradation, meltCelsius } = history;
  const speed = screwRpm / referenceRpm;
  const flow = pumpEfficiency * history.feedEfficiency * outputCm3PerMinute(line, screwRpm);
  const viscosityPas = Math.exp(history.lnViscosity) * speed ** -grade.speedThinning;
  const areaMm2 = (Math.PI / 4) * product.diameterMm ** 2;
  const densities = grade.meltDensityGPerCm3 / grade.solidDensityGPerCm3;
  const lineSpeed = ((flow * 1000) / 60) * (densities / areaMm2);
  const cooling = coolingSeconds(product.diameterMm, fanPercent, grade);
  const { roomCelsius, moisturePpm } = surroundings;
  const pullerCelsius =
    roomCelsius +
    (meltCelsius - roomCelsius) * Math.exp(-line.dieToPullerMm / (lineSpeed * cooling));
  const soft = Math.max(0, (pullerCelsius - grade.firmCelsius) / 10);
  const ovalityMm =
    grade.ovalityMm +
    grade.softOvalityMm * soft ** 1.3 +
    grade.flutterOvalityMm * (fanPercent / 100) ** 2.5;
  const surge = grade.surge * (1 + 3 * Math.exp(-(margin - 1) / 0.12) + feedOffset ** 2);
  const slowNoise = grade.slowNoise * (1 + 0.6 * feedOffset ** 2);
  const meltNoise = Math.hypot(
    grade.meltNoise * (1200 / viscosityPas) ** 1.2 * (1 + 1.2 * degradation),
    (grade.dieMismatchNoise * history.dieOffset) / 10,
  );
  const bubbles = {
    moisture:
      grade.moistureBubbles *
      (Math.max(0, moisturePpm - grade.toleratedMoisturePpm) / 100) ** 1.2 *
      Math.exp((meltCelsius - 200) / 40),
    air: grade.airBubbles * speed ** 1.5 * Math.exp((feedOffset * grade.feedWidthCelsius) / 14),
    degradation: grade.degradationBubbles * degradation ** 1.5,
  };
  const failure = failureChances(history, viscosityPas, grade);
  return {
    residenceMinutes: line.holdUpCm3 / flow,
    outputKgPerHour: (flow * grade.meltDensityGPerCm3 * 60) / 1000,
    lineSpeedMmPerSecond: lineSpeed,
    meltCelsius,
    viscosityPas,
    meltingMargin: margin,
    degradation,
    pullerCelsius,
    ovalityMm,
    surge,
    slowNoise,
    meltNoise,
    sdMm: measuredSd({ surge, slowNoise, meltNoise, ovalityMm }, line, product.diameterMm),
    bubblesPerMetre: bubbles.moisture + bubbles.air + bubbles.degradation,
    bubbles,
    unmeltedPerMetre: grade.unmeltedPerMetre * Math.exp(-(margin - 1) / 0.07),
    failure,
    failureChance: 1 - (1 - failure.cold) * (1 - failure.hot) * (1 - failure.feed),
    torqueIndex: (viscosityPas / 1200) ** 0.6 * speed ** 0.6,
  };
}

function failureChances(
  { feedOffset, meltingMargin }: MeltHistory,
  viscosityPas: number,
  grade: VirtualGrade,
): FailureChance {
  const feedCelsius = grade.feedBestCelsius + feedOffset * grade.feedWidthCelsius;
  const bridging = grade.softeningCelsius + grade.bridgingAboveCelsius;
  return {
    cold: logistic((grade.coldMargin - meltingMargin) / 0.04),
    hot: logistic((Math.log(grade.tooFluidPas) - Math.log(viscosityPas)) / 0.1),
    feed: logistic((feedCelsius - bridging) / 4),
  };
}

/** Sum of the variances that a gauge sees: its own noise, flow noise, and ovality on one axis. */
function measuredSd(
  noise: Pick<SteadyState, 'surge' | 'slowNoise' | 'meltNoise' | 'ovalityMm'>,
  line: Line,
  diameterMm: number,
): number {
  const passes = line.puller.loop === 'on' ? loopPassesSlow : 1;
  const relative = noise.surge ** 2 / 2 + passes * noise.slowNoise ** 2 + noise.meltNoise ** 2;
  const oval = line.gauge.axes === 1 ? noise.ovalityMm ** 2 / 8 : 0;
  return Math.sqrt(line.gauge.sdMm ** 2 + (diameterMm / 2) ** 2 * relative + oval);
}

const logistic = (x: number): number => 1 / (1 + Math.exp(-x));
