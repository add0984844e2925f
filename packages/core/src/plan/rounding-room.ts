import type { LinearConstraint } from '../design/design.ts';
import { codedValue, naturalValue } from '../factor/coding.ts';
import { type Factor, isNumeric, type NumericFactor } from '../factor/factor.ts';
import { type ProfileTerm, profileBasis, profileTerms } from '../factor/zone-profile.ts';
import type { Line } from '../trade/line.ts';

/**
 * How far rounding to the controller's steps can move a factor, natural units; 0 when it is not
 * rounded. For a zone-profile term every zone may move by half a step, all in the worst direction.
 */
export function roundingRoom(factor: NumericFactor, line?: Line): number {
  const own = (factor.step ?? 0) / 2;
  if (!line || factor.acts === undefined || factor.acts === 'other') return own;
  if (factor.acts === 'screw') return line.screw.stepRpm / 2;
  if (factor.acts === 'fan') return line.fan.stepPercent / 2;
  const half = line.setPointStepCelsius / 2;
  const row = profileBasis(line)[profileTerms.indexOf(factor.acts as ProfileTerm)];
  if (!row) return half;
  const square = row.reduce((sum, weight) => sum + weight * weight, 0);
  return (half * row.reduce((sum, weight) => sum + Math.abs(weight), 0)) / square;
}

/**
 * Limits drawn in so that a point inside them keeps the given ones after rounding: a limit on one
 * factor that is rounded by itself to its last allowed setting, any other by the worst that rounding
 * can do.
 */
export function roomierLimits(
  constraints: readonly LinearConstraint[],
  factors: readonly Factor[],
  line?: Line,
): LinearConstraint[] {
  const numeric = factors.filter(isNumeric);
  return constraints.map((constraint) => {
    const used = Object.entries(constraint.coefficients).filter(([, weight]) => weight !== 0);
    const only = numeric.find(({ name }) => used.length === 1 && name === used[0]![0]);
    if (only && isRoundedAlone(only)) return toLastSetting(constraint, only, line);
    let room = 0;
    for (const [name, weight] of used) {
      const factor = numeric.find((candidate) => candidate.name === name);
      if (!factor) continue;
      room += (2 * Math.abs(weight) * roundingRoom(factor, line)) / (factor.high - factor.low);
    }
    return room === 0 ? constraint : { ...constraint, atMost: constraint.atMost - room };
  });
}

/** True of a setting rounded on its own, not through several zones. */
const isRoundedAlone = ({ acts }: NumericFactor): boolean =>
  !(profileTerms as readonly (string | undefined)[]).includes(acts);

function toLastSetting(
  constraint: LinearConstraint,
  factor: NumericFactor,
  line: Line | undefined,
): LinearConstraint {
  const step = 2 * roundingRoom(factor, line);
  if (step === 0) return constraint;
  const weight = constraint.coefficients[factor.name]!;
  const end = naturalValue(constraint.atMost / weight, factor);
  const last =
    weight > 0 ? Math.floor(end / step + 1e-9) * step : Math.ceil(end / step - 1e-9) * step;
  return { ...constraint, atMost: weight * codedValue(last, factor) };
}

type Setting = number | string | { readonly from: number; readonly to: number };

/** Forbidden combinations in natural units, widened so that rounding cannot move a run into them. */
export function roomierForbidden(
  forbidden: readonly Readonly<Record<string, Setting>>[],
  factors: readonly Factor[],
  line?: Line,
): Record<string, Setting>[] {
  return forbidden.map((combination) =>
    Object.fromEntries(
      Object.entries(combination).map(([name, setting]): [string, Setting] => {
        const factor = factors.find((candidate) => candidate.name === name);
        if (!factor || !isNumeric(factor) || typeof setting === 'string') return [name, setting];
        const room = roundingRoom(factor, line);
        if (room === 0) return [name, setting];
        const { from, to } = typeof setting === 'number' ? { from: setting, to: setting } : setting;
        return [name, { from: from - room, to: to + room }];
      }),
    ),
  );
}
