import { DomainError } from '../error/domain-error.ts';
import { codedPoint, naturalPoint, type Point } from '../factor/coding.ts';
import { type Factor, isNumeric } from '../factor/factor.ts';
import { roundedTo } from '../factor/zone-profile.ts';
import { pointOf, setPointsOf } from '../trade/limits.ts';
import type { SetPoints } from '../trade/line.ts';
import { refusals } from '../trade/refusal.ts';
import type { OrderOf } from './order-rule.ts';

/** A run with its settings worked out, before it is put in order. */
export interface PreparedRun {
  readonly coded: Point;
  readonly natural: Point;
  readonly setPoints: SetPoints | null;
  /** Equal for runs with equal hard settings. */
  readonly hardKey: string;
  /** Equal for runs with equal settings throughout. */
  readonly allKey: string;
}

/**
 * Rounds one design run to what the controller takes and reads back what will be analysed.
 *
 * @throws {DomainError} `set_points_refused` when the set points break a limit of line or grade
 */
export function preparedRun(coded: Point, index: number, options: OrderOf): PreparedRun {
  const { design, line, grade, product, defaults } = options;
  const { factors } = design;
  let natural = naturalPoint(coded, factors);
  let setPoints: SetPoints | null = null;
  if (line) {
    setPoints = setPointsOf(natural, factors, line, defaults);
    natural = pointOf(setPoints, factors, line);
    const refused = grade ? refusals(setPoints, line, grade, product) : [];
    if (refused.length > 0) {
      throw new DomainError(
        'set_points_refused',
        `orderedPlan: every cell must stay inside the limits of line and grade; got ${refused.length} broken (design order ${index + 1}): ${refused.map(({ says }) => says).join(' ')} Constrain the design or narrow its ranges.`,
        { designOrder: index + 1, refusals: refused },
      );
    }
  } else {
    natural = roundedNatural(natural, factors);
  }
  const analysed = codedPoint(natural, factors);
  const key = (wanted: (factor: Factor) => boolean): string =>
    factors
      .filter(wanted)
      .map((factor) => analysed[factor.name])
      .join('|');
  return {
    coded: analysed,
    natural,
    setPoints,
    hardKey: key((factor) => factor.changes === 'hard'),
    allKey: key(() => true),
  };
}

function roundedNatural(natural: Point, factors: readonly Factor[]): Point {
  const out: Record<string, number | string> = { ...natural };
  for (const factor of factors) {
    if (isNumeric(factor) && factor.step)
      out[factor.name] = roundedTo(Number(natural[factor.name]), factor.step);
  }
  return out;
}
