import { type Factor, isNumeric } from '../../factor/factor.ts';
import type { Dense } from '../../linear/dense.ts';
import { qrFactor } from '../../linear/qr.ts';
import { modelMatrix } from '../../term/model-matrix.ts';
import { intercept, type Powers, termName } from '../../term/term.ts';
import { type Aliased, aliasedOutcome, describeAliased } from '../aliased.ts';
import type { TermGroup } from '../anova.ts';
import { replicateGroups, SAME_SETTING } from '../replicate.ts';
import type { CannotSay } from './fit-result.ts';
import type { UsableRun } from './usable-run.ts';

/** One column of a model and what it stands for. */
export interface ModelColumn {
  readonly name: string;
  readonly powers: Powers;
  /** The name shared by contrasts that are judged together. */
  readonly source: string;
  readonly isBlock: boolean;
}

/** A model matrix with its columns' meanings. */
export interface ModelColumns {
  readonly columns: readonly ModelColumn[];
  readonly x: Dense;
}

/**
 * Columns of a model on the runs: intercept, blocks (summing to zero), then the terms. Blocks come
 * first so that a term that cannot be told from a block is the one that gives way.
 */
export function modelColumns(
  terms: readonly Powers[],
  runs: readonly UsableRun[],
  factors: readonly Factor[],
  blockColumn: string | undefined,
): ModelColumns {
  const withoutIntercept = terms.filter((powers) => Object.keys(powers).length > 0);
  const levels = blockColumn === undefined ? [] : [...new Set(runs.map((run) => run.block))];
  const contrasts = levels.slice(0, -1);
  const columns: ModelColumn[] = [
    { name: termName(intercept), powers: intercept, source: termName(intercept), isBlock: false },
    ...contrasts.map((level) => {
      const powers = { [blockColumn!]: level };
      return { name: termName(powers), powers, source: blockColumn!, isBlock: true };
    }),
    ...withoutIntercept.map((powers) => ({
      name: termName(powers),
      powers,
      source: sourceName(powers),
      isBlock: false,
    })),
  ];
  const inner = modelMatrix(
    withoutIntercept,
    runs.map((run) => run.coded),
    factors,
  );
  const p = columns.length;
  const data = new Float64Array(runs.length * p);
  const last = levels.at(-1);
  for (const [i, { block }] of runs.entries()) {
    data[i * p] = 1;
    for (const [b, level] of contrasts.entries())
      data[i * p + 1 + b] = block === level ? 1 : block === last ? -1 : 0;
    data.set(
      inner.data.subarray(i * inner.cols, (i + 1) * inner.cols),
      i * p + 1 + contrasts.length,
    );
  }
  return { columns, x: { rows: runs.length, cols: p, data } };
}

const sourceName = (powers: Powers): string =>
  termName(
    Object.fromEntries(
      Object.entries(powers).map(([name, power]) => [name, typeof power === 'string' ? 1 : power]),
    ),
  );

/** Sources in model order, the intercept left out. */
export function termGroups(columns: readonly ModelColumn[]): TermGroup[] {
  const groups = new Map<string, number[]>();
  for (const [j, { source, powers }] of columns.entries()) {
    if (Object.keys(powers).length === 0) continue;
    groups.set(source, [...(groups.get(source) ?? []), j]);
  }
  return [...groups].map(([source, list]) => ({ source, columns: list }));
}

/** The columns at the given places. */
export function columnsAt({ columns, x }: ModelColumns, keep: readonly number[]): ModelColumns {
  const data = new Float64Array(x.rows * keep.length);
  for (let i = 0; i < x.rows; i++)
    for (const [to, from] of keep.entries())
      data[i * keep.length + to] = x.data[i * x.cols + from]!;
  return {
    columns: keep.map((j) => columns[j]!),
    x: { rows: x.rows, cols: keep.length, data },
  };
}

/** What can be estimated of a model, and what cannot, in words. */
export function estimable(
  model: ModelColumns,
  runs: readonly UsableRun[],
  factors: readonly Factor[],
  tolerance: number,
): { readonly kept: ModelColumns; readonly cannotSay: readonly CannotSay[] } {
  const outcome = aliasedOutcome(qrFactor(model.x, tolerance));
  const constant = constantFactors(runs, factors);
  const gone = new Set(outcome.leaveOut);
  const cannotSay: CannotSay[] = constant.map(({ name, value }) => {
    const terms = [...gone]
      .filter((j) => Object.hasOwn(model.columns[j]!.powers, name))
      .map((j) => model.columns[j]!.name);
    return {
      kind: 'constant-factor',
      says: `${name} did not change in the runs used (coded ${value}), so nothing can be said of it.`,
      terms,
    };
  });
  const isExplained = (j: number): boolean =>
    constant.some(({ name }) => Object.hasOwn(model.columns[j]!.powers, name));
  const left = outcome.leaveOut.filter((j) => !isExplained(j));
  if (left.length > 0) cannotSay.push(aliasSentence(model, outcome, left, runs));
  const keep = model.columns.map((_, j) => j).filter((j) => !gone.has(j));
  return { kept: columnsAt(model, keep), cannotSay };
}

function aliasSentence(
  model: ModelColumns,
  outcome: Aliased,
  left: readonly number[],
  runs: readonly UsableRun[],
): CannotSay {
  const names = model.columns.map((column) => column.name);
  const terms = left.map((j) => names[j]!);
  const groups = replicateGroups(
    runs.map((run) => run.coded),
    runs.map((run) => run.block),
  );
  const distinct = groups.reduce((top, group) => Math.max(top, group + 1), 0);
  const relations = outcome.relations.filter(({ column }) => left.includes(column));
  if (distinct < names.length) {
    // With hardly any settings each term is a mixture of many; only short relations help a reader.
    const isShort = relations.every(({ equals }) => equals.length <= 2);
    const told = isShort ? ` ${describeAliased({ ...outcome, relations }, names)}.` : '';
    return {
      kind: 'more-terms-than-runs',
      says: `${names.length} terms need at least ${names.length} different settings; got ${distinct}. Not estimable: ${terms.join(', ')}. What is estimated holds only if these are zero.${told}`,
      terms,
    };
  }
  return {
    kind: 'aliased',
    says: `The runs cannot tell some terms apart: ${describeAliased({ ...outcome, relations }, names)}. Left out: ${terms.join(', ')}; the estimates of their partners contain them.`,
    terms,
  };
}

function constantFactors(runs: readonly UsableRun[], factors: readonly Factor[]) {
  const first = runs[0];
  if (!first) return [];
  return factors.flatMap((factor) => {
    const value = first.coded[factor.name]!;
    const isConstant = runs.every((run) => {
      const other = run.coded[factor.name]!;
      return isNumeric(factor)
        ? Math.abs(Number(other) - Number(value)) <= SAME_SETTING
        : other === value;
    });
    return isConstant ? [{ name: factor.name, value }] : [];
  });
}
