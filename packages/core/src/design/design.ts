import type { Point } from '../factor/coding.ts';
import type { Factor } from '../factor/factor.ts';

/** Where a run stands in the factor space. */
export type PointKind = 'corner' | 'axial' | 'centre' | 'edge' | 'other';

/** One run of a design before it is put in order. Units are coded; blocks and plots count from 1. */
export interface DesignRun {
  readonly coded: Point;
  readonly kind: PointKind;
  readonly block: number;
  /** Runs that share one setting of the hard factors; null when every run is set anew. */
  readonly wholePlot: number | null;
  /** Runs within a whole plot that share one setting of the semi-hard factors. */
  readonly subWholePlot: number | null;
}

/** A design in design order: what to run, not yet when. */
export interface Design {
  readonly family: string;
  readonly factors: readonly Factor[];
  readonly runs: readonly DesignRun[];
  /** Plain sentences about what the construction did or could not do. */
  readonly notes: readonly string[];
}

/**
 * A limit that is linear in coded units: Σ coefficients·x ≤ atMost. `says` names it in words a
 * scientist would use ("zone 4 not above the ceiling 230 °C").
 */
export interface LinearConstraint {
  readonly coefficients: Readonly<Record<string, number>>;
  readonly atMost: number;
  readonly says: string;
}

/** Constraints that a coded point breaks, with a tolerance for rounding of the arithmetic. */
export function brokenConstraints(
  coded: Point,
  constraints: readonly LinearConstraint[],
): LinearConstraint[] {
  return constraints.filter(({ coefficients, atMost }) => {
    let sum = 0;
    for (const [name, weight] of Object.entries(coefficients)) sum += weight * Number(coded[name]);
    return sum > atMost + 1e-9 * Math.max(1, Math.abs(atMost));
  });
}
