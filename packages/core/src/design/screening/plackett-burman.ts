import { z } from 'zod';
import { DomainError } from '../../error/domain-error.ts';
import { withCentrePoints } from '../augment/centre-points.ts';
import { replicated } from '../augment/replicate.ts';
import type { Design } from '../design.ts';
import {
  assertFactorCount,
  assertTwoLevel,
  commonOptions,
  designFamily,
} from '../family-definition.ts';
import { pointOf, runAt } from '../point-kind.ts';
import { type ColumnChoice, columnChoice } from './column-choice.ts';
import { screeningArray, screeningRunNumbers } from './hadamard.ts';

const family = 'plackett-burman';
const mostRuns = 48;

/** Main effects of many two-level factors in a multiple of four runs. */
export const plackettBurman = designFamily({
  name: family,
  says: 'Main effects of many two-level factors in few runs; interactions leak into them.',
  options: z.strictObject({
    ...commonOptions,
    /** A multiple of 4 from 8 to 48, more than the factors. The smallest unless said. */
    runs: z.int().positive().optional(),
  }),
  build: ({ factors, options }) => {
    assertFactorCount(family, factors, {
      least: 2,
      most: mostRuns - 1,
      instead: factors.length < 2 ? 'Compare two settings instead.' : 'Leave factors out.',
    });
    assertTwoLevel(family, factors);
    const n = options.runs ?? screeningRunNumbers.find((runs) => runs > factors.length)!;
    assertRuns(n, factors.length);
    const { matrix, says, isRegular } = screeningArray(n);
    const choice = columnChoice(matrix, factors.length);
    const runs = Array.from({ length: n }, (_, i) => {
      const row = choice.columns.map((column) => matrix.data[i * matrix.cols + column]!);
      return runAt(pointOf(row, factors), factors);
    });
    const design: Design = {
      family,
      factors,
      runs,
      notes: [
        `${n} runs for ${factors.length} factors (${says}); ${n - 1 - factors.length} contrasts are left over for error.`,
        ...columnNotes(choice, { runs: n, isRegular }),
      ],
    };
    return replicated(withCentrePoints(design, options.centrePoints ?? 0), options.replicates);
  },
});

/** What the columns that were taken mean for the effects. */
function columnNotes(
  { columns, leak, leakOfFirst }: ColumnChoice,
  { runs, isRegular }: { readonly runs: number; readonly isRegular: boolean },
): string[] {
  const taken = `Columns ${columns.map((column) => column + 1).join(', ')} of ${runs - 1} are used`;
  const mixed =
    leakOfFirst > leak + 1e-9
      ? `: they mix main effects and two-factor interactions least of those looked at (mean squared correlation ${leak.toFixed(3)}, the first ${columns.length} columns ${leakOfFirst.toFixed(3)}).`
      : columns.length < 3
        ? '.'
        : `: no others were found to mix main effects and two-factor interactions less (mean squared correlation ${leak.toFixed(3)}).`;
  if (leak < 1e-9)
    return [
      `${taken}${mixed}`,
      'Main effects are orthogonal and clear of all two-factor interactions; interactions are mixed with each other.',
    ];
  return [
    `${taken}${mixed}`,
    isRegular
      ? `At ${runs} runs the array is a regular fraction: each two-factor interaction is wholly mixed with a main effect or another contrast. "fractional factorial" may separate more.`
      : 'Main effects are orthogonal. Each two-factor interaction leaks in part into the main effects of other factors: read them as main effects only when interactions are small, or fold the design over.',
  ];
}

function assertRuns(runs: number, factors: number): void {
  const allowed = screeningRunNumbers.filter((number) => number > factors);
  if (allowed.includes(runs)) return;
  throw new DomainError(
    'bad_run_count',
    `designOf: runs of family "${family}" must be one of ${allowed.join(', ')} for ${factors} factors; got ${runs}. Choose one of these.`,
    { runs, allowed },
  );
}
