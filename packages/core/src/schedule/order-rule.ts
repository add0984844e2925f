import { z } from 'zod';
import type { Design } from '../design/design.ts';
import type { Grade, Product } from '../trade/grade.ts';
import type { SettingDefaults } from '../trade/limits.ts';
import type { Line } from '../trade/line.ts';
import type { HoldRule, StartState } from './hold.ts';

/**
 * How to put a design in order; blocks always stay in theirs. `complete`: every run in random order,
 * set anew. `within-plots`: whole plots in random order, runs in random order within. `trend-robust`:
 * settings as little as can be found correlated with linear and quadratic time. `fewest-hours`: least
 * waiting, which often follows time.
 */
export const OrderRule = z.enum(['complete', 'within-plots', 'trend-robust', 'fewest-hours']);
export type OrderRule = z.infer<typeof OrderRule>;

/** What `orderedPlan` takes. Without a line there are no set points, holds, hours or grams. */
export interface OrderOf {
  readonly design: Design;
  readonly line?: Line;
  readonly grade?: Grade;
  readonly product?: Pick<Product, 'diameterMm'>;
  readonly defaults?: SettingDefaults;
  readonly order: OrderRule;
  readonly seed: number;
  readonly holdRule?: HoldRule;
  readonly start?: StartState;
  readonly measureMinutes?: number;
}
