import { type Line, zonePositions } from '@strandwise/core';
import { fourZones, type MeltHistory, meltHistory } from './steady-state.ts';
import type { VirtualGrade } from './virtual-grade.ts';

const tanks = 3;
/** Numbers of a melt's history, in the order of `values`. */
const carried = 7;

/**
 * The slow half of the line: zones that follow their set points at limited rates and warm their
 * neighbours, an unheated screw core that follows the zones, and three equal tanks that carry the
 * melt's history towards the die with the barrel's residence time.
 */
export class Barrel {
  readonly zones: Float64Array;
  core: number;
  private readonly tank: Float64Array;
  private readonly line: Line;
  private readonly grade: VirtualGrade;
  private readonly positions: readonly number[];
  private readonly effective: Float64Array;

  constructor(line: Line, grade: VirtualGrade, zonesCelsius: readonly number[], screwRpm: number) {
    this.line = line;
    this.grade = grade;
    this.positions = zonePositions(line);
    this.zones = Float64Array.from(zonesCelsius);
    this.effective = new Float64Array(zonesCelsius.length);
    this.core = mean(this.zones);
    this.tank = new Float64Array(tanks * carried);
    const settled = values(meltHistory(this.effectiveZones(), screwRpm, line, grade));
    for (let k = 0; k < tanks; k++) this.tank.set(settled, k * carried);
  }

  /** One second on, towards the set points. */
  step(setPointsCelsius: readonly number[], screwRpm: number, residenceSeconds: number): void {
    this.warm(setPointsCelsius);
    const entering = values(meltHistory(this.effectiveZones(), screwRpm, this.line, this.grade));
    const share = Math.min(1, tanks / residenceSeconds);
    for (let k = 0; k < tanks; k++) {
      for (let j = 0; j < carried; j++) {
        const inflow = k === 0 ? entering[j]! : this.tank[(k - 1) * carried + j]!;
        this.tank[k * carried + j]! += share * (inflow - this.tank[k * carried + j]!);
      }
    }
  }

  /** The history of the melt that leaves the die now. */
  leaving(): MeltHistory {
    const at = (tanks - 1) * carried;
    return {
      feedEfficiency: this.tank[at]!,
      feedOffset: this.tank[at + 1]!,
      meltCelsius: this.tank[at + 2]!,
      lnViscosity: this.tank[at + 3]!,
      meltingMargin: this.tank[at + 4]!,
      degradation: this.tank[at + 5]!,
      dieOffset: this.tank[at + 6]!,
    };
  }

  private warm(setPointsCelsius: readonly number[]): void {
    const { thermal } = this.line;
    const n = this.zones.length;
    let before = this.zones[0]!;
    const average = mean(this.zones);
    for (let i = 0; i < n; i++) {
      const here = this.zones[i]!;
      const after = i + 1 < n ? this.zones[i + 1]! : here;
      const drive = (setPointsCelsius[i]! - here) / thermal.zoneLagSeconds;
      const rate = Math.min(
        thermal.heatingCelsiusPerSecond,
        Math.max(-thermal.coolingCelsiusPerSecond, drive),
      );
      this.zones[i] =
        here + rate + thermal.neighbourCouplingPerSecond * (before + after - 2 * here);
      before = here;
    }
    this.core += (average - this.core) / thermal.coreLagSeconds;
  }

  /** Zones as the melt feels them: shifted by the screw core, read at four places. */
  private effectiveZones(): number[] {
    const shift = this.line.thermal.coreShare * (this.core - mean(this.zones));
    for (let i = 0; i < this.zones.length; i++) this.effective[i] = this.zones[i]! + shift;
    return fourZones(this.effective, this.positions);
  }
}

const values = (history: MeltHistory): number[] => [
  history.feedEfficiency,
  history.feedOffset,
  history.meltCelsius,
  history.lnViscosity,
  history.meltingMargin,
  history.degradation,
  history.dieOffset,
];

function mean(values: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += values[i]!;
  return sum / values.length;
}
