import { isNumeric, type NumericFactor, type RunTable, type Spec } from '@strandwise/core';
import { InputFileError } from '../input/file-error.ts';

/** Coded settings seldom go beyond this; axial points of large composites stand at about 3. */
const FARTHEST_CODED = 4;

/** A factor as its column shows it. */
interface Shown {
  readonly factor: NumericFactor;
  readonly values: readonly number[];
}

const shownFactors = ({ factors }: Spec, table: RunTable): Shown[] =>
  factors.filter(isNumeric).map((factor) => ({
    factor,
    values: (table[factor.name] ?? []).filter((value) => typeof value === 'number'),
  }));

/** Ranges of a factor between its range and a setting. */
function rangesAway(value: number, { low, high }: NumericFactor): number {
  return Math.max(low - value, value - high, 0) / (high - low);
}

/**
 * Refuses coded settings given as natural ones: no setting of any factor is near its range, and all
 * of them are small. Fitted as they stand they would be read many ranges away.
 *
 * @throws {InputFileError}
 */
export function assertNatural(file: string, spec: Spec, table: RunTable): void {
  const shown = shownFactors(spec, table);
  const isFar =
    (least: number) =>
    ({ factor, values }: Shown) =>
      values.length > 0 && values.every((value) => rangesAway(value, factor) > least);
  const areSmall = shown.every(({ values }) => values.every((v) => Math.abs(v) <= FARTHEST_CODED));
  if (shown.length === 0 || !areSmall || !shown.every(isFar(0.1)) || !shown.some(isFar(1))) return;
  const [{ factor, values }] = shown as [Shown];
  throw new InputFileError(
    file,
    `settings must be in natural units; got ${factor.name} = ${values[0]} with a range of ${factor.low} to ${factor.high}, and no factor near its range. They look coded: say --units coded.`,
  );
}

/** A doubt about settings taken as coded: all of them lie within the natural ranges. */
export function codedDoubt(spec: Spec, table: RunTable): string | null {
  const shown = shownFactors(spec, table);
  const areNatural = shown.every(({ factor, values }) =>
    values.every((value) => rangesAway(value, factor) < 0.25),
  );
  const areLarge = shown.some(({ values }) => values.some((v) => Math.abs(v) > FARTHEST_CODED));
  return areNatural && areLarge
    ? 'the settings are taken as coded, as asked, but look natural; --units natural codes them by the ranges of the spec'
    : null;
}
