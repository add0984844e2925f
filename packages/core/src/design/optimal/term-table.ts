import { DomainError } from '../../error/domain-error.ts';
import { type Factor, isNamed } from '../../factor/factor.ts';
import { type Powers, termName } from '../../term/term.ts';

/**
 * Model terms taken apart by factor, so that moving one coordinate touches only the columns it
 * is in. Each factor brings basis functions φ₁…φₘ (φ₀ = 1): powers of a numeric factor, or
 * sum-to-zero contrasts of a named one. A term is a product of one basis function per factor.
 */
export interface TermTable {
  /** Number of factors and of terms. */
  readonly k: number;
  readonly p: number;
  /** Basis functions per factor, φ₀ not counted. */
  readonly basisSizes: Int32Array;
  /** Number of levels of a named factor, 0 for a numeric one. */
  readonly levelCounts: Int32Array;
  /** Index of the basis function of factor j in term t, shape (p, k). */
  readonly code: Int32Array;
  /** Columns that carry φ_g of factor j: supports[j][g − 1]. */
  readonly supports: readonly (readonly Int32Array[])[];
  /** Factors with a basis function other than φ₀ in term t. */
  readonly members: readonly Int32Array[];
}

/**
 * @throws {DomainError} `unknown_factor` when a term names no factor
 * @throws {DomainError} `unknown_level` when a term's level is none of its factor's, or is the last one
 */
export function termTable(terms: readonly Powers[], factors: readonly Factor[]): TermTable {
  const k = factors.length;
  const p = terms.length;
  const code = new Int32Array(p * k);
  const basisSizes = new Int32Array(k);
  const levelCounts = Int32Array.from(factors, (f) => (isNamed(f) ? f.levels.length : 0));
  for (let j = 0; j < k; j++) basisSizes[j] = Math.max(0, levelCounts[j]! - 1);
  for (const [t, powers] of terms.entries()) {
    for (const [name, power] of Object.entries(powers)) {
      const j = factors.findIndex((factor) => factor.name === name);
      if (j < 0) {
        throw new DomainError(
          'unknown_factor',
          `optimalDesign: a term must use known factors; got "${name}" (term "${termName(powers)}"). Known: ${factors.map((f) => f.name).join(', ')}.`,
          { factor: name },
        );
      }
      code[t * k + j] = basisIndex(factors[j]!, power);
      basisSizes[j] = Math.max(basisSizes[j]!, code[t * k + j]!);
    }
  }
  const columns = [...Array(p).keys()];
  return {
    k,
    p,
    basisSizes,
    levelCounts,
    code,
    supports: factors.map((_, j) =>
      Array.from({ length: basisSizes[j]! }, (_unused, g) =>
        Int32Array.from(columns.filter((t) => code[t * k + j] === g + 1)),
      ),
    ),
    members: columns.map((t) =>
      Int32Array.from([...Array(k).keys()].filter((j) => code[t * k + j] !== 0)),
    ),
  };
}

function basisIndex(factor: Factor, power: number | string): number {
  if (!isNamed(factor)) return Number(power);
  const at = factor.levels.indexOf(String(power));
  if (at >= 0 && at < factor.levels.length - 1) return at + 1;
  throw new DomainError(
    'unknown_level',
    `optimalDesign: a term in "${factor.name}" must name a level other than the last (${factor.levels.slice(0, -1).join(', ')}); got ${JSON.stringify(power)}.`,
    { factor: factor.name },
  );
}

/** φ_g of one factor at encoded value `value`; `levelCount` is 0 for a numeric factor. */
export function basisValue(g: number, value: number, levelCount: number): number {
  if (g === 0) return 1;
  if (levelCount > 0) return value === g - 1 ? 1 : value === levelCount - 1 ? -1 : 0;
  let power = value;
  for (let i = 1; i < g; i++) power *= value;
  return power;
}

/** Model row of the encoded point at `offset`, written into `out` from `at` on. */
export function termRowInto(
  out: Float64Array,
  table: TermTable,
  from: { readonly points: Float64Array; readonly offset: number; readonly at: number },
): void {
  const { k, p, code, members, levelCounts } = table;
  for (let t = 0; t < p; t++) {
    let value = 1;
    for (const j of members[t]!) {
      value *= basisValue(code[t * k + j]!, from.points[from.offset + j]!, levelCounts[j]!);
    }
    out[from.at + t] = value;
  }
}

/** A term's value with factor `without` left out of the product. */
export function partialTerm(
  table: TermTable,
  t: number,
  from: { readonly points: Float64Array; readonly offset: number; readonly without: number },
): number {
  const { k, code, members, levelCounts } = table;
  let value = 1;
  for (const j of members[t]!) {
    if (j === from.without) continue;
    value *= basisValue(code[t * k + j]!, from.points[from.offset + j]!, levelCounts[j]!);
  }
  return value;
}
