import {
  type GaugeReading,
  type Line,
  type Product,
  roundedTo,
  type SetPoints,
} from '@strandwise/core';
import { Barrel } from './barrel.ts';
import { type Chances, chances, poissonCount } from './noise.ts';
import { type SteadyState, type Surroundings, strandState } from './steady-state.ts';
import { StrandPath } from './strand-path.ts';
import type { VirtualGrade } from './virtual-grade.ts';

export type FailureWay = 'cold' | 'hot' | 'feed';

/** One second of a virtual line: what the gauge says, and what an observer would see. */
export interface VirtualReading extends GaugeReading {
  /** Why there is no strand; the gauge then reads 0. */
  readonly failure: FailureWay | null;
  readonly bubbles: number;
  readonly unmelted: number;
  readonly metres: number;
}

/** Sizes of the chance effects beyond the strand's own noise; SDs on the natural-log scale. */
export interface Unrepeatability {
  readonly resetLnSd: number;
  readonly resetLnOutput: number;
  readonly batchLnSd: number;
  readonly roomCelsius: number;
}
export const usualUnrepeatability: Unrepeatability = {
  resetLnSd: 0.1,
  resetLnOutput: 0.02,
  batchLnSd: 0.1,
  roomCelsius: 1,
};

export interface VirtualLineOf {
  readonly line: Line;
  readonly grade: VirtualGrade;
  readonly product: Pick<Product, 'diameterMm'>;
  readonly seed: number;
  /** Where the line has settled before the first second. */
  readonly setPoints: SetPoints;
  /** Moisture of the pellets when they leave the dryer. */
  readonly moisturePpm?: number;
  readonly unrepeatability?: Unrepeatability;
  /** Gain × dead time of the puller loop at its tuning speed; hunting begins near π/2. */
  readonly loopGain?: number;
}

/** Speed at which the puller loop was tuned, mm/s; its gain stays locked after that. */
const tuningSpeed = 15;
/**
 * Memory of the slow flow wander, five minutes. With it a measuring window of five to eight minutes
 * sees about the 0.3 of its variance that steady-state.ts counts while the loop is on.
 */
const slowNoiseMemory = Math.exp(-1 / 300);
/** Random walk of the strand's twist, radian per √s: ovality averages out in about 20 s. */
const twistPerSecond = 0.15;
const roomMemorySeconds = 7200;

/** A benchtop filament line in one-second steps. Same seed and same settings: same readings. */
export class VirtualLine {
  private readonly options: Required<VirtualLineOf>;
  private readonly chance: Chances;
  private readonly barrel: Barrel;
  private readonly path: StrandPath;
  private settings: SetPoints;
  private now = 0;
  private driedAt = 0;
  private driedPpm: number;
  private phase = 0;
  private twist = 0;
  private slow = 0;
  private room = 23;
  private puller: number;
  private resetNoise = 1;
  private resetOutput = 1;
  private batchNoise = 1;
  private failureDraws = { cold: 1, hot: 1, feed: 1 };
  private state: SteadyState;

  constructor(options: VirtualLineOf) {
    this.options = {
      moisturePpm: 150,
      unrepeatability: usualUnrepeatability,
      loopGain: 0.2,
      ...options,
    };
    const { line, grade, setPoints } = this.options;
    this.chance = chances(options.seed);
    this.settings = setPoints;
    this.driedPpm = this.options.moisturePpm;
    this.barrel = new Barrel(line, grade, setPoints.zonesCelsius, setPoints.screwRpm);
    this.path = new StrandPath(line.dieToGaugeMm);
    this.state = this.strand();
    this.puller = this.state.lineSpeedMmPerSecond;
    this.drawBatch();
    this.drawReset();
    this.drawFailures();
  }

  /** Seconds since the line was made. */
  get seconds(): number {
    return this.now;
  }

  /** What is keyed in at present. */
  get setPoints(): SetPoints {
    return this.settings;
  }

  /** What the strand leaving the die is truly like now: for checking, never for a reading. */
  get truth(): SteadyState {
    return this.state;
  }

  /** Moisture of the pellets now; they take up water in the open hopper. */
  get moisturePpm(): number {
    const { equilibriumMoisturePpm: end, uptakeHours } = this.options.grade;
    const hours = (this.now - this.driedAt) / 3600;
    return end - (end - this.driedPpm) * Math.exp(-hours / uptakeHours);
  }

  /** Keys in new set points. A change of zones is a set-up of its own and repeats only so well. */
  set(setPoints: SetPoints): void {
    const before = this.settings;
    this.settings = setPoints;
    // The puller is geared to the screw; its loop then trims.
    this.puller *= setPoints.screwRpm / before.screwRpm;
    const isReset = setPoints.zonesCelsius.some((celsius, i) => celsius !== before.zonesCelsius[i]);
    if (isReset) this.drawReset();
    this.drawFailures();
  }

  /** Fills the hopper with dry pellets: of a new drying batch, or kept dry from the same one. */
  refill(moisturePpm: number, batch: 'new' | 'same' = 'new'): void {
    this.driedAt = this.now;
    this.driedPpm = moisturePpm;
    if (batch === 'new') this.drawBatch();
  }

  /** The next second. */
  step(): VirtualReading {
    const { line } = this.options;
    this.now++;
    this.room += (23 - this.room) / roomMemorySeconds;
    this.room +=
      this.options.unrepeatability.roomCelsius *
      Math.sqrt(2 / roomMemorySeconds) *
      this.chance.room();
    this.barrel.step(
      this.settings.zonesCelsius,
      this.settings.screwRpm,
      this.state.residenceMinutes * 60,
    );
    this.state = this.strand();
    const failure = this.failureNow();
    const diameterMm = failure ? 0 : this.diameterAtDie();
    const atGauge = this.path.advance(
      { diameterMm, ovalityMm: this.state.ovalityMm * this.noiseFactor() },
      this.puller,
    );
    const seen = this.gauge(atGauge.diameterMm, atGauge.ovalityMm);
    if (line.puller.loop === 'on' && seen.diameterMm > 0 && !failure) this.trim(seen.diameterMm);
    const metres = failure ? 0 : this.puller / 1000;
    return {
      seconds: this.now,
      ...seen,
      pullerMmPerSecond: roundedTo(this.puller, 0.001),
      zonesCelsius: Array.from(this.barrel.zones, (celsius) => roundedTo(celsius, 0.1)),
      failure,
      bubbles: poissonCount(this.state.bubblesPerMetre * metres, this.chance.count),
      unmelted: poissonCount(this.state.unmeltedPerMetre * metres, this.chance.count),
      metres,
    };
  }

  private strand(): SteadyState {
    const { line, grade, product } = this.options;
    const surroundings: Surroundings = { moisturePpm: this.moisturePpm, roomCelsius: this.room };
    return strandState(this.barrel.leaving(), {
      settings: this.settings,
      line,
      grade,
      product,
      surroundings,
    });
  }

  private diameterAtDie(): number {
    const { surge, slowNoise, meltNoise, lineSpeedMmPerSecond } = this.state;
    const scale = this.noiseFactor();
    this.slow =
      slowNoiseMemory * this.slow + Math.sqrt(1 - slowNoiseMemory ** 2) * this.chance.flow();
    this.phase += (2 * Math.PI * this.settings.screwRpm) / 60;
    const relative =
      scale *
      (slowNoise * this.slow + surge * Math.sin(this.phase) + meltNoise * this.chance.flow());
    const supply = lineSpeedMmPerSecond * this.resetOutput * Math.max(0.05, 1 + relative);
    return this.options.product.diameterMm * Math.sqrt(supply / this.puller);
  }

  private gauge(trueMm: number, ovalityMm: number): Pick<GaugeReading, 'diameterMm' | 'ovalityMm'> {
    const { sdMm, resolutionMm, axes } = this.options.line.gauge;
    this.twist += twistPerSecond * this.chance.twist();
    const quantised = (value: number): number =>
      resolutionMm > 0 ? roundedTo(value, resolutionMm) : value;
    const first = sdMm * this.chance.gauge();
    const second = axes === 2 ? sdMm * this.chance.gauge() : 0;
    if (trueMm <= 0) return axes === 2 ? { diameterMm: 0, ovalityMm: 0 } : { diameterMm: 0 };
    const tilt = 0.5 * ovalityMm * Math.cos(2 * this.twist);
    if (axes === 1) return { diameterMm: quantised(trueMm + tilt + first) };
    const one = quantised(trueMm + tilt + first);
    const other = quantised(trueMm - tilt + second);
    return {
      diameterMm: roundedTo((one + other) / 2, 0.0001),
      ovalityMm: roundedTo(Math.abs(one - other), 0.0001),
    };
  }

  /** Integral action on the relative error of cross-section, with the gain locked at tuning. */
  private trim(diameterMm: number): void {
    const { line, product, loopGain } = this.options;
    const gain = (loopGain * tuningSpeed) / line.dieToGaugeMm;
    const error = 2 * (diameterMm / product.diameterMm - 1);
    const { lowMmPerSecond, highMmPerSecond } = line.puller;
    const bounded = Math.max(-0.2, Math.min(0.2, error));
    this.puller = Math.max(
      lowMmPerSecond,
      Math.min(highMmPerSecond, this.puller * Math.exp(gain * bounded)),
    );
  }

  private failureNow(): FailureWay | null {
    const { failure } = this.state;
    if (failure.cold > this.failureDraws.cold) return 'cold';
    if (failure.hot > this.failureDraws.hot) return 'hot';
    return failure.feed > this.failureDraws.feed ? 'feed' : null;
  }

  private noiseFactor(): number {
    return this.resetNoise * this.batchNoise;
  }

  private drawReset(): void {
    const { resetLnSd, resetLnOutput } = this.options.unrepeatability;
    this.resetNoise = Math.exp(resetLnSd * this.chance.reset());
    this.resetOutput = Math.exp(resetLnOutput * this.chance.reset());
  }

  private drawBatch(): void {
    this.batchNoise = Math.exp(this.options.unrepeatability.batchLnSd * this.chance.batch());
  }

  private drawFailures(): void {
    const { failure } = this.chance;
    this.failureDraws = { cold: failure(), hot: failure(), feed: failure() };
  }
}
