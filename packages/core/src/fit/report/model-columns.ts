import { type Factor, isNumeric } from '../../factor/factor.ts';
import { columnsOf, type Dense } from '../../linear/dense.ts';
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
  /** A block or a covariate: it stays in every model and no surface is drawn over it. */
  readonly isAside: boolean;
}

/** A model matrix with its columns' meanings. */
export interface ModelColumns {
  readonly columns: readonly ModelColumn[];
  readonly x: Dense;
}

/** What of the runs stands beside the factors: the block column when blocks are fixed, covariates. */
export interface AsideNames {
  readonly block?: string | undefined;
  readonly covariates: readonly string[];
}

/** Powers of the columns beside the factors: one a block but the last, one a covariate that varies. */
export function asideTerms(aside: AsideNames, runs: readonly UsableRun[]): Powers[] {
  const levels = aside.block === undefined ? [] : blockLevels(runs);
  return [
    ...levels.slice(0, -1).map((level) => ({ [aside.block!]: level })),
    ...aside.covariates.flatMap((name, c) => {
      const { low, high } = covariateRange(runs, c);
      return high > low ? [{ [name]: 1 }] : [];
    }),
  ];
}

/**
 * A column beside the factors: blocks sum to zero over the blocks, a covariate runs from −1 at its
 * smallest to +1 at its largest value.
 *
 * @returns shape (n)
 */
export function asideColumn(
  powers: Powers,
  { block, covariates }: AsideNames,
  runs: readonly UsableRun[],
): Float64Array {
  const [name, power] = Object.entries(powers)[0]!;
  if (name === block && typeof power === 'string') {
    const last = blockLevels(runs).at(-1);
    return Float64Array.from(runs, (run) =>
      run.block === power ? 1 : run.block === last ? -1 : 0,
    );
  }
  const c = covariates.indexOf(name);
  const { low, high } = covariateRange(runs, c);
  return Float64Array.from(runs, (run) => (2 * run.covariates[c]! - low - high) / (high - low));
}

const blockLevels = (runs: readonly UsableRun[]): string[] => [
  ...new Set(runs.map((run) => run.block)),
];

/** Smallest and largest value of a covariate over the runs. */
export function covariateRange(runs: readonly UsableRun[], c: number) {
  const values = runs.map((run) => run.covariates[c]!);
  return { low: Math.min(...values), high: Math.max(...values) };
}

/**
 * Columns of a model on the runs: the intercept if it has one, blocks and covariates, then the terms. What stands
 * beside the factors comes first, so that a term that cannot be told from it is the one that gives
 * way.
 */
export function modelColumns(
  terms: readonly Powers[],
  runs: readonly UsableRun[],
  factors: readonly Factor[],
  aside: AsideNames,
): ModelColumns {
  const withoutIntercept = terms.filter((powers) => Object.keys(powers).length > 0);
  const constants = withoutIntercept.length < terms.length ? [intercept] : [];
  const besides = asideTerms(aside, runs);
  const columns: ModelColumn[] = [
    ...constants.map((powers) => ({
      name: termName(powers),
      powers,
      source: termName(powers),
      isAside: false,
    })),
    ...besides.map((powers) => ({
      name: termName(powers),
      powers,
      source: Object.keys(powers)[0]!,
      isAside: true,
    })),
    ...withoutIntercept.map((powers) => ({
      name: termName(powers),
      powers,
      source: sourceName(powers),
      isAside: false,
    })),
  ];
  const inner = modelMatrix(
    withoutIntercept,
    runs.map((run) => run.coded),
    factors,
  );
  const p = columns.length;
  const data = new Float64Array(runs.length * p);
  const values = besides.map((powers) => asideColumn(powers, aside, runs));
  for (let i = 0; i < runs.length; i++) {
    const first = i * p + constants.length;
    data.fill(1, i * p, first);
    for (const [b, column] of values.entries()) data[first + b] = column[i]!;
    data.set(inner.data.subarray(i * inner.cols, (i + 1) * inner.cols), first + besides.length);
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
export const columnsAt = ({ columns, x }: ModelColumns, keep: readonly number[]): ModelColumns => ({
  columns: keep.map((j) => columns[j]!),
  x: columnsOf(x, keep),
});

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
  const groups = settingGroups(runs);
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

/** Group of each run: runs at equal settings in equal blocks, covariates equal too, share one. */
export const settingGroups = (runs: readonly UsableRun[]): Int32Array =>
  replicateGroups(
    runs.map((run) => run.coded),
    runs.map((run) => JSON.stringify([run.block, ...run.covariates])),
  );

/** Group of each run by its settings alone: what stands beside the factors is told apart by columns. */
export const treatmentGroups = (runs: readonly UsableRun[]): Int32Array =>
  replicateGroups(runs.map((run) => run.coded));

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
