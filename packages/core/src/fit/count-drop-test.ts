import { chiSquaredUpper } from '../distribution/chi-squared.ts';
import { fUpper } from '../distribution/f.ts';
import type { Dense } from '../linear/dense.ts';
import type { FamilyChoice } from './count-family.ts';
import type { CountDropTest, CountInput, CountTermGroup } from './count-result.ts';
import { fitLogLinear, orthonormalColumns, unitDeviance } from './log-linear.ts';

/**
 * What leaving out each group of terms does to the deviance, refitted without it; θ is held.
 *
 * @param offset - ln exposure, shape (n)
 */
export function countDropTests(
  input: CountInput,
  names: readonly string[],
  offset: Float64Array,
  { fit, theta, family, dispersion }: FamilyChoice,
): CountDropTest[] {
  const { x, counts } = input;
  const dfResidual = x.rows - x.cols;
  return (input.groups ?? singleGroups(x, names)).map(({ name, columns }) => {
    const rest = orthonormalColumns(without(x, columns));
    if (rest.kind === 'aliased') throw new Error('columns of a full-rank model are independent');
    const deviance =
      rest.basis.cols === 0
        ? counts.reduce((sum, y, i) => sum + unitDeviance(y, Math.exp(offset[i]!), theta), 0)
        : fitLogLinear({ basis: rest.basis, counts, offset, theta }).deviance;
    const likelihoodRatio = Math.max(0, deviance - fit.deviance);
    const df = columns.length;
    if (family !== 'quasi-poisson') {
      const p = chiSquaredUpper(likelihoodRatio, df);
      return { name, df, likelihoodRatio, statistic: likelihoodRatio, kind: 'chi-squared', p };
    }
    const statistic = likelihoodRatio / df / dispersion;
    return {
      name,
      df,
      likelihoodRatio,
      statistic,
      kind: 'f',
      p: fUpper(statistic, df, dfResidual),
    };
  });
}

function singleGroups(
  { rows: n, cols: p, data }: Dense,
  names: readonly string[],
): CountTermGroup[] {
  return names.flatMap((name, j) => {
    for (let i = 1; i < n; i++) if (data[i * p + j] !== data[j]) return [{ name, columns: [j] }];
    return [];
  });
}

function without({ rows: n, cols: p, data }: Dense, columns: readonly number[]): Dense {
  const kept = Array.from({ length: p }, (_, j) => j).filter((j) => !columns.includes(j));
  const out = new Float64Array(n * kept.length);
  for (let i = 0; i < n; i++)
    for (const [k, j] of kept.entries()) out[i * kept.length + k] = data[i * p + j]!;
  return { rows: n, cols: kept.length, data: out };
}
