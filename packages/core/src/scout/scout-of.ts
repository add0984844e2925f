import type { Grade, Product } from '../trade/grade.ts';
import type { Line } from '../trade/line.ts';
import type { ScoutStep } from './look.ts';

/** What scouting needs to know. */
export interface ScoutOf {
  readonly line: Line;
  readonly grade: Grade;
  readonly product: Product;
  /** Settings to start from; a study's fixed settings ("tilt", "hump", "screw", "fan"). */
  readonly fixed: Readonly<Record<string, number>>;
  readonly steps: readonly ScoutStep[];
}
