import { type Dense, zeros } from '../../linear/dense.ts';
import { modelMatrix } from '../../term/model-matrix.ts';
import { type Powers, termKey, termName } from '../../term/term.ts';
import type { DesignInformation } from './design-information.ts';

/** How terms left out of the model would shift those in it. */
export interface AliasMatrix {
  /** Names of the kept columns (rows of `weights`). */
  readonly estimated: readonly string[];
  /** Names of the terms left out (columns of `weights`). */
  readonly leftOut: readonly string[];
  /** A with E(b₁) = β₁ + A β₂, shape (estimated, leftOut). */
  readonly weights: Dense;
}

/**
 * Bias of the estimates by terms left out: A = (X₁ᵀV⁻¹X₁)⁻¹ X₁ᵀV⁻¹X₂. An entry of ±1 with nothing
 * else in its column means the estimate is of the sum or difference of the two terms.
 *
 * @param leftOut - terms not in the model; those that are in it are ignored
 * @source Box & Wilson (1951), J. Royal Stat. Soc. B 13:1–45, section 3 (alias matrix)
 */
export function aliasMatrix(
  information: DesignInformation,
  leftOut: readonly Powers[],
): AliasMatrix {
  const { design, x, kept, covariance, plots, names } = information;
  const inModel = new Set(design.terms.map(termKey));
  const others = leftOut.filter((powers) => !inModel.has(termKey(powers)));
  const x2 = modelMatrix(
    others,
    design.runs.map(({ coded }) => coded),
    design.factors,
  );
  const cross = zeros(kept.length, others.length);
  for (const { rows, inverse } of plots) {
    const m = rows.length;
    for (let a = 0; a < m; a++) {
      for (let b = 0; b < m; b++) {
        const weight = inverse[a * m + b]!;
        for (const [i, column] of kept.entries()) {
          const scaled = weight * x.data[rows[a]! * x.cols + column]!;
          for (let j = 0; j < others.length; j++) {
            cross.data[i * cross.cols + j]! += scaled * x2.data[rows[b]! * x2.cols + j]!;
          }
        }
      }
    }
  }
  const weights = zeros(kept.length, others.length);
  for (let i = 0; i < kept.length; i++) {
    for (let j = 0; j < others.length; j++) {
      let sum = 0;
      for (let k = 0; k < kept.length; k++) {
        sum += covariance.data[i * kept.length + k]! * cross.data[k * cross.cols + j]!;
      }
      weights.data[i * weights.cols + j] = Math.abs(sum) < 1e-12 ? 0 : sum;
    }
  }
  return { estimated: kept.map((c) => names[c]!), leftOut: others.map(termName), weights };
}
