import { DomainError } from '../error/domain-error.ts';
import type { Dense } from '../linear/dense.ts';
import { applyQTransposedInto, qrFactor } from '../linear/qr.ts';
import { type Powers, parentTerms, termKey } from '../term/term.ts';

/** What is weighed: small-sample Akaike, or Bayesian information. */
export type Criterion = 'aicc' | 'bic';

/** One hierarchical model and how it does. */
export interface Candidate {
  /** Indices into the terms given, ascending. */
  readonly terms: readonly number[];
  readonly rss: number;
  readonly criterion: number;
  /** Criterion above the best one; models within 2 are about as good. */
  readonly behind: number;
}

export interface Selection {
  readonly criterion: Criterion;
  readonly best: Candidate;
  /** Models within `within` of the best one, best first, the best itself included. */
  readonly nearlyAsGood: readonly Candidate[];
  readonly looked: number;
  /** `all`: every hierarchical model was seen. `guided`: too many, so a search by steps. */
  readonly search: 'all' | 'guided';
}

/** What to choose among. */
export interface SelectionTerms {
  readonly terms: readonly Powers[];
  readonly criterion?: Criterion;
  /** How far behind the best a model may be and still be listed. */
  readonly within?: number;
  /** Indices that every model keeps, such as blocks; the intercept always stays. */
  readonly keep?: readonly number[];
  /** Most models to look at one by one before the guided search takes over. */
  readonly limit?: number;
}

export interface SelectionInput extends SelectionTerms {
  /** Model matrix of all terms, shape (n, p); weighted rows when the fit is weighted. */
  readonly x: Dense;
  /** Response, shape (n). */
  readonly y: Float64Array;
}

/** How a model of the terms at these indices does; an infinite criterion is out of the question. */
export type ModelScore = (terms: readonly number[]) => {
  /** Residual sum of squares; of a likelihood, −2 times its logarithm. */
  readonly rss: number;
  readonly criterion: number;
};

/**
 * Picks among the hierarchical models (a square or product never without what it is made of).
 *
 * All of them when they are few, else steps of one term out or in from the full and from the
 * smallest model until no step helps. Terms that are not in `terms` count as absent, and parents
 * that are not offered are not asked for. The list of nearly equal models is part of the answer:
 * a single best model is not what such data say.
 *
 * @throws {DomainError} `too_few_runs` when even the smallest model leaves too few runs to judge
 * @source Hurvich & Tsai (1989), Regression and time series model selection in small samples,
 *   Biometrika 76:297–307; Schwarz (1978), Ann. Statist. 6:461–464
 */
export function selectModel(input: SelectionInput): Selection {
  return selectBy(input, scorer(input));
}

/** As `selectModel`, for any kind of model that can be scored. */
export function selectBy(input: SelectionTerms, scoring: ModelScore): Selection {
  const links = hierarchy(input);
  const limit = input.limit ?? 4096;
  const listed = allModels(links, limit);
  const seen = new Map<string, Candidate>();
  const look = (model: readonly boolean[]): Candidate => {
    const key = model.map((isIn) => (isIn ? '1' : '0')).join('');
    const known = seen.get(key);
    if (known) return known;
    const terms = model.flatMap((isIn, j) => (isIn ? [j] : []));
    const found = { terms, ...scoring(terms), behind: 0 };
    seen.set(key, found);
    return found;
  };
  if (listed) for (const model of listed) look(model);
  else {
    climb(
      links.map(() => true),
      links,
      look,
    );
    climb(
      links.map((link) => link.isKept),
      links,
      look,
    );
  }
  return ranked([...seen.values()], input, listed ? 'all' : 'guided');
}

function ranked(
  candidates: readonly Candidate[],
  { criterion = 'aicc', within = 2 }: SelectionTerms,
  search: Selection['search'],
): Selection {
  const sorted = candidates
    .filter((candidate) => Number.isFinite(candidate.criterion))
    .sort((a, b) => a.criterion - b.criterion || a.terms.length - b.terms.length);
  const first = sorted[0];
  if (!first) {
    throw new DomainError(
      'too_few_runs',
      'selectModel: runs must outnumber the terms of the smallest model by at least three; got fewer. Add runs before choosing among models.',
    );
  }
  const nearlyAsGood = sorted
    .map((candidate) => ({ ...candidate, behind: candidate.criterion - first.criterion }))
    .filter((candidate) => candidate.behind <= within);
  return { criterion, best: nearlyAsGood[0]!, nearlyAsGood, looked: candidates.length, search };
}

/** rss and criterion of a subset, from the small triangular problem that holds all of x and y. */
function scorer({ x, y, criterion = 'aicc' }: SelectionInput): ModelScore {
  const n = x.rows;
  const factor = qrFactor(x);
  const rotated = y.slice();
  applyQTransposedInto(rotated, factor);
  let base = 0;
  for (let i = factor.rank; i < n; i++) base += rotated[i]! * rotated[i]!;
  const { rank } = factor;
  const top = rotated.subarray(0, rank);
  const size = y.reduce((sum, value) => sum + value * value, 0);
  // Columns of the triangular problem: Qᵀ X, of which only the first `rank` rows are not zero.
  const columns = Array.from({ length: x.cols }, (_, j) => {
    const column = Float64Array.from({ length: n }, (_, i) => x.data[i * x.cols + j]!);
    applyQTransposedInto(column, factor);
    return column.subarray(0, rank);
  });
  return (terms) => {
    const small = { rows: rank, cols: terms.length, data: new Float64Array(rank * terms.length) };
    for (const [c, j] of terms.entries())
      for (let i = 0; i < rank; i++) small.data[i * terms.length + c] = columns[j]![i]!;
    const inner = qrFactor(small);
    if (inner.rank < terms.length) return { rss: base, criterion: Number.POSITIVE_INFINITY };
    const left = top.slice();
    applyQTransposedInto(left, inner);
    let rss = base;
    for (let i = terms.length; i < rank; i++) rss += left[i]! * left[i]!;
    return { rss, criterion: informationCriterion(criterion, rss, size, n, terms.length) };
  };
}

/**
 * −2·log-likelihood of a normal linear model plus the penalty for its k = terms + 1 parameters.
 * Infinite when the runs are too few for the small-sample form.
 */
export function informationCriterion(
  criterion: Criterion,
  rss: number,
  size: number,
  n: number,
  terms: number,
): number {
  const k = terms + 1;
  // A perfect model would be −∞; rounding sets the floor, so that perfect models tie and the smaller wins.
  const floored = Math.max(rss, (4 * Number.EPSILON) ** 2 * size, Number.MIN_VALUE);
  const deviance = n * (Math.log((2 * Math.PI * floored) / n) + 1);
  if (criterion === 'bic' && n <= terms) return Number.POSITIVE_INFINITY;
  return penalised(criterion, deviance, n, k);
}

/**
 * −2 ln likelihood plus the penalty for its parameters; infinite when the runs are too few for the
 * small-sample form.
 *
 * @param k - all parameters estimated, those of scatter too
 */
export function penalised(criterion: Criterion, deviance: number, n: number, k: number): number {
  if (criterion === 'bic') return deviance + k * Math.log(n);
  const spare = n - k - 1;
  return spare > 0 ? deviance + 2 * k + (2 * k * (k + 1)) / spare : Number.POSITIVE_INFINITY;
}

interface Link {
  readonly isKept: boolean;
  readonly parents: readonly number[];
  readonly children: readonly number[];
  /** Contrasts of one named factor in the same company go in and out together. */
  readonly siblings: readonly number[];
}

function hierarchy({ terms, keep = [] }: SelectionTerms): Link[] {
  const groups = terms.map((powers) =>
    JSON.stringify(
      Object.entries(powers)
        .map(([name, power]) => [name, typeof power === 'number' ? power : 'level'])
        .sort(),
    ),
  );
  const groupKeys = new Map<string, number[]>();
  for (const [j, key] of groups.entries()) groupKeys.set(key, [...(groupKeys.get(key) ?? []), j]);
  const at = new Map(terms.map((powers, j) => [termKey(powers), j]));
  const kept = new Set(keep);
  const parents = terms.map((powers) =>
    parentTerms(powers).flatMap((parent) => at.get(termKey(parent)) ?? []),
  );
  return terms.map((powers, j) => ({
    isKept: Object.keys(powers).length === 0 || kept.has(j),
    parents: parents[j]!,
    children: parents.flatMap((list, child) => (list.includes(j) ? [child] : [])),
    siblings: groupKeys.get(groups[j]!)!,
  }));
}

/** Every hierarchical model, or null when there are more than `limit`. */
function allModels(links: readonly Link[], limit: number): boolean[][] | null {
  const order = parentsFirst(links);
  let models: boolean[][] = [links.map((link) => link.isKept)];
  for (const j of order) {
    const link = links[j]!;
    if (link.isKept || link.siblings[0] !== j) continue;
    const grown: boolean[][] = [];
    for (const model of models) {
      if (!canEnter(j, model, links)) continue;
      const wider = model.slice();
      for (const sibling of link.siblings) wider[sibling] = true;
      grown.push(wider);
    }
    models = models.concat(grown);
    if (models.length > limit) return null;
  }
  return models;
}

/** Term indices so that every parent comes before its children. */
function parentsFirst(links: readonly Link[]): number[] {
  const depth = (j: number): number =>
    links[j]!.parents.reduce((top, parent) => Math.max(top, 1 + depth(parent)), 0);
  const depths = links.map((_, j) => depth(j));
  return links.map((_, j) => j).sort((a, b) => depths[a]! - depths[b]! || a - b);
}

function canEnter(j: number, model: readonly boolean[], links: readonly Link[]): boolean {
  return links[j]!.siblings.every((s) => links[s]!.parents.every((parent) => model[parent]));
}

function canLeave(j: number, model: readonly boolean[], links: readonly Link[]): boolean {
  return links[j]!.siblings.every((s) => links[s]!.children.every((child) => !model[child]));
}

/** Steps of one source in or out, always the best of them, until none helps. */
function climb(
  start: readonly boolean[],
  links: readonly Link[],
  look: (model: readonly boolean[]) => Candidate,
): void {
  let model = start.slice();
  let here = look(model).criterion;
  for (;;) {
    let best: boolean[] | null = null;
    let bestAt = here;
    for (const [j, link] of links.entries()) {
      if (link.isKept || link.siblings[0] !== j) continue;
      const isAllowed = model[j] ? canLeave(j, model, links) : canEnter(j, model, links);
      if (!isAllowed) continue;
      const next = model.slice();
      for (const sibling of link.siblings) next[sibling] = !model[j];
      const { criterion } = look(next);
      // From a model too large to judge, shrinking is progress.
      const isProgress =
        criterion < bestAt || (bestAt === Number.POSITIVE_INFINITY && model[j] && best === null);
      if (isProgress) {
        best = next;
        bestAt = criterion;
      }
    }
    if (!best) return;
    model = best;
    here = bestAt;
  }
}
