/**
 * A plastic as the virtual line knows it: the true constants behind the equations of
 * steady-state.ts. Every grade here is invented; no real product is described. The magnitudes are
 * textbook or bench magnitudes from memory (no source), chosen so that a PLA-like strand on a 16 mm
 * benchtop screw behaves plausibly.
 */
export interface VirtualGrade {
  readonly name: string;
  readonly isInvented: true;
  readonly remark: string;
  /** Feed-zone temperature of best solids conveying, and how sharply feeding falls away; °C. */
  readonly feedBestCelsius: number;
  readonly feedWidthCelsius: number;
  /** Temperature at which pellets soften enough to melt by shear; °C. */
  readonly softeningCelsius: number;
  /** Feed zone this much above softening begins to bridge; °C. */
  readonly bridgingAboveCelsius: number;
  /** Viscosity at 200 °C and 5 rpm, Pa·s; its activation energy, J/mol; its fall with speed. */
  readonly viscosityPas: number;
  readonly flowEnergy: number;
  readonly speedThinning: number;
  /** Melting margin at the reference state (34 °C of drive, 5 rpm); 1 means just molten. */
  readonly meltingMargin: number;
  readonly unmeltedPerMetre: number;
  /** Degradation index gained in ten minutes at 210 °C, and its activation energy, J/mol. */
  readonly degradationRate: number;
  readonly degradationEnergy: number;
  /** Relative flow noise: amplitude of the screw-turn surge, SD of slow wander, SD of melt strength. */
  readonly surge: number;
  readonly slowNoise: number;
  readonly meltNoise: number;
  /** Relative noise per 10 °C of difference between the die zone and the middle of the barrel. */
  readonly dieMismatchNoise: number;
  /** Ovality, mm: least, per 10 °C too soft at the puller, and by full fan. */
  readonly ovalityMm: number;
  readonly softOvalityMm: number;
  readonly flutterOvalityMm: number;
  /** Strand temperature below which rollers no longer flatten it; °C. */
  readonly firmCelsius: number;
  /** Bubbles a metre: at 100 ppm above the tolerated moisture, from air, from degradation. */
  readonly toleratedMoisturePpm: number;
  readonly moistureBubbles: number;
  readonly airBubbles: number;
  readonly degradationBubbles: number;
  /** Viscosity below which a strand no longer holds its shape, Pa·s. */
  readonly tooFluidPas: number;
  /** Melting margin below which the screw stalls or no strand forms. */
  readonly coldMargin: number;
  /** Moisture in an open hopper: where it tends to, and its time constant. */
  readonly equilibriumMoisturePpm: number;
  readonly uptakeHours: number;
  readonly solidDensityGPerCm3: number;
  readonly meltDensityGPerCm3: number;
}

/** The default: an invented PLA-like grade. */
export const px31: VirtualGrade = {
  name: 'PX-31',
  isInvented: true,
  remark: 'Invented PLA-like grade; constants are bench magnitudes from memory.',
  feedBestCelsius: 178,
  feedWidthCelsius: 22,
  softeningCelsius: 158,
  bridgingAboveCelsius: 45,
  viscosityPas: 1200,
  flowEnergy: 80_000,
  speedThinning: 0.25,
  meltingMargin: 1.45,
  unmeltedPerMetre: 40,
  degradationRate: 0.2,
  degradationEnergy: 130_000,
  surge: 0.01,
  slowNoise: 0.01,
  meltNoise: 0.004,
  dieMismatchNoise: 0.004,
  ovalityMm: 0.012,
  softOvalityMm: 0.01,
  flutterOvalityMm: 0.014,
  firmCelsius: 55,
  toleratedMoisturePpm: 120,
  moistureBubbles: 2.2,
  airBubbles: 0.15,
  degradationBubbles: 1.2,
  tooFluidPas: 420,
  coldMargin: 0.8,
  equilibriumMoisturePpm: 3000,
  uptakeHours: 24,
  solidDensityGPerCm3: 1.24,
  meltDensityGPerCm3: 1.07,
};

/** An invented brittle, filled grade: stiff, noisy, surging, with little air tolerance. */
export const fx20: VirtualGrade = {
  ...px31,
  name: 'FX-20',
  remark: 'Invented brittle grade with mineral filler: stiffer, surging more, denser.',
  viscosityPas: 1700,
  meltingMargin: 1.35,
  surge: 0.014,
  meltNoise: 0.005,
  airBubbles: 0.3,
  unmeltedPerMetre: 55,
  softOvalityMm: 0.007,
  solidDensityGPerCm3: 1.42,
  meltDensityGPerCm3: 1.24,
};

/** An invented moisture-hungry grade: bubbles soon after it leaves the dryer. */
export const hx7: VirtualGrade = {
  ...px31,
  name: 'HX-7',
  remark: 'Invented moisture-hungry grade: low tolerance, quick uptake in an open hopper.',
  toleratedMoisturePpm: 60,
  moistureBubbles: 3.2,
  equilibriumMoisturePpm: 5000,
  uptakeHours: 12,
  degradationRate: 0.26,
  degradationBubbles: 1.6,
};

/** An invented soft grade: fluid early, needs strong cooling, flattened by the rollers. */
export const sx85: VirtualGrade = {
  ...px31,
  name: 'SX-85',
  remark: 'Invented soft grade: lower viscosity, slow to firm up, feeds poorly when warm.',
  viscosityPas: 950,
  flowEnergy: 60_000,
  firmCelsius: 46,
  softOvalityMm: 0.014,
  feedBestCelsius: 174,
  feedWidthCelsius: 18,
  softeningCelsius: 154,
  solidDensityGPerCm3: 1.15,
  meltDensityGPerCm3: 1.03,
};

export const virtualGrades: readonly VirtualGrade[] = [px31, fx20, hx7, sx85];

/** The virtual grade behind a grade's name ("HX-7 (invented)"); PX-31 for a name it does not know. */
export const virtualGradeNamed = (name: string): VirtualGrade =>
  virtualGrades.find((grade) => name.toLowerCase().startsWith(grade.name.toLowerCase())) ?? px31;
