import { aliasWeights, type QrFactor } from '../linear/qr.ts';

/** One column written by earlier ones: column = Σ weight·column. */
export interface AliasRelation {
  readonly column: number;
  readonly equals: readonly { readonly column: number; readonly weight: number }[];
}

/** Columns that the runs cannot tell apart. */
export interface Aliased {
  readonly kind: 'aliased';
  readonly rank: number;
  /** Columns of the model matrix, before any was left out. */
  readonly columns: number;
  /** Every column with no estimate of its own: it is in some relation; ascending. */
  readonly involved: readonly number[];
  /** Columns to leave out, last ones first to go, so that the rest can be estimated; ascending. */
  readonly leaveOut: readonly number[];
  readonly relations: readonly AliasRelation[];
}

export function aliasedOutcome(factor: QrFactor): Aliased {
  const weights = aliasWeights(factor);
  const involved = new Set<number>(factor.aliased);
  const relations = Array.from(factor.aliased, (column, a) => {
    const equals: { column: number; weight: number }[] = [];
    for (const [k, kept] of factor.kept.entries()) {
      const weight = weights.data[a * weights.cols + k]!;
      if (weight === 0) continue;
      involved.add(kept);
      equals.push({ column: kept, weight });
    }
    return { column, equals };
  });
  return {
    kind: 'aliased',
    rank: factor.rank,
    columns: factor.cols,
    involved: [...involved].sort((a, b) => a - b),
    leaveOut: [...factor.aliased],
    relations,
  };
}

/**
 * The relations in words, such as "level × fan is the same as −screw". Long ones are cut short.
 *
 * @param names - a name a column
 */
export function describeAliased({ relations }: Aliased, names: readonly string[]): string {
  const nameOf = (column: number): string => names[column] ?? `column ${column + 1}`;
  const sentences = relations.slice(0, 6).map(({ column, equals }) => {
    if (equals.length === 0) return `${nameOf(column)} does not vary as its own column`;
    const parts = equals.slice(0, 4).map(({ column: other, weight }) => {
      const size = Math.abs(weight);
      const times = Math.abs(size - 1) < 1e-6 ? '' : `${Number(size.toPrecision(3))} `;
      return `${weight < 0 ? '− ' : '+ '}${times}${nameOf(other)}`;
    });
    const more = equals.length > parts.length ? ` and ${equals.length - parts.length} more` : '';
    const sum = parts.join(' ').replace(/^\+ /, '').replace(/^− /, '−');
    return equals.length > 4
      ? `${nameOf(column)} is a mixture of ${equals
          .slice(0, 4)
          .map((e) => nameOf(e.column))
          .join(', ')}${more}`
      : `${nameOf(column)} cannot be told from ${sum}`;
  });
  const rest = relations.length - sentences.length;
  return `${sentences.join('; ')}${rest > 0 ? `; and ${rest} more such relations` : ''}`;
}
