import { normalUpperQuantile } from '../distribution/normal.ts';
import { DomainError } from '../error/domain-error.ts';
import type { Dense } from '../linear/dense.ts';
import { qrFactor } from '../linear/qr.ts';
import { fitPassFail, passProbability } from './pass-fail.ts';
import type { PassFailFit } from './pass-fail-result.ts';

/** What became of a cell; `blocked` and `other` say nothing about its setting. */
export type CellOutcome = 'runs' | 'cold' | 'hot' | 'no feed' | 'blocked' | 'other';

/** A way to fail that the setting explains, in the order in which they are judged. */
export type FailureKind = 'cold' | 'hot' | 'no feed';

const FAILURES: readonly FailureKind[] = ['cold', 'hot', 'no feed'];

/** Model of one way to fail among the cells that did not fail in an earlier way. */
export type FailureStage =
  | {
      readonly kind: 'fitted';
      readonly failure: FailureKind;
      readonly cells: number;
      readonly failed: number;
      /** The fit of *not* failing this way. */
      readonly fit: PassFailFit;
      /** Columns of the model this stage could tell apart. */
      readonly columns: readonly number[];
    }
  /** No cell failed this way; its probability is below `upper` over the settings tried. */
  | {
      readonly kind: 'not-seen';
      readonly failure: FailureKind;
      readonly cells: number;
      readonly upper: number;
    };

export interface FeasibilityInput {
  /** Model matrix, shape (n, p); main effects are usually all that the failures can carry. */
  readonly x: Dense;
  readonly outcomes: readonly CellOutcome[];
  readonly names?: readonly string[];
  readonly confidence?: number;
}

export interface FeasibilityFit {
  readonly kind: 'fitted';
  readonly stages: readonly FailureStage[];
  readonly terms: number;
  readonly cells: number;
  /** Cells left out because their failure says nothing of the setting. */
  readonly leftOut: number;
  readonly confidence: number;
  readonly remarks: readonly string[];
}

export type FeasibilityResult =
  | FeasibilityFit
  | {
      readonly kind: 'all-run';
      readonly cells: number;
      readonly upperFail: number;
      readonly words: string;
    }
  | { readonly kind: 'none-run'; readonly cells: number; readonly words: string };

/**
 * Where a strand forms: cold < runs < hot, and no feed beside them.
 *
 * Successive penalised logistic models: cold against not, then hot against not among the rest, then
 * no feed against running. The likelihood of the outcomes is the product of the stages, so their
 * probabilities always add to one, which separate fits of each failure do not promise.
 *
 * @throws {DomainError} `shape_mismatch` when there is not one outcome a row
 * @source continuation ratios: McCullagh & Nelder (1989), Generalized Linear Models, 2nd ed., section 5.2
 *   (from memory); penalty: see `fitPassFail`
 */
export function fitFeasibility(input: FeasibilityInput): FeasibilityResult {
  const { x, outcomes, confidence = 0.95 } = input;
  if (outcomes.length !== x.rows) {
    throw new DomainError(
      'shape_mismatch',
      `fitFeasibility: there must be ${x.rows} outcomes, one a row; got ${outcomes.length}. Give every cell its outcome.`,
      { got: outcomes.length, expected: x.rows },
    );
  }
  const rows = outcomes.flatMap((outcome, i) =>
    outcome === 'blocked' || outcome === 'other' ? [] : [i],
  );
  const failures = rows.filter((i) => outcomes[i] !== 'runs').length;
  if (failures === 0) {
    const upperFail = 1 - (1 - confidence) ** (1 / Math.max(rows.length, 1));
    return {
      kind: 'all-run',
      cells: rows.length,
      upperFail,
      words: `A strand formed in all ${rows.length} cells; the edge of the window was not met. The share of failures over these settings is below ${Number(upperFail.toPrecision(2))}.`,
    };
  }
  if (failures === rows.length) {
    return {
      kind: 'none-run',
      cells: rows.length,
      words: `No strand formed in any of ${rows.length} cells: the window lies elsewhere. Scout single settings first.`,
    };
  }
  return staged(input, rows, confidence);
}

function staged(
  input: FeasibilityInput,
  rows: readonly number[],
  confidence: number,
): FeasibilityFit {
  const { x, outcomes } = input;
  const names = Array.from({ length: x.cols }, (_, j) => input.names?.[j] ?? `term ${j + 1}`);
  const remarks: string[] = [];
  const stages: FailureStage[] = [];
  let left = rows;
  for (const failure of FAILURES) {
    const failed = left.filter((i) => outcomes[i] === failure).length;
    if (failed === 0) {
      const upper = 1 - (1 - confidence) ** (1 / Math.max(left.length, 1));
      stages.push({ kind: 'not-seen', failure, cells: left.length, upper });
      continue;
    }
    const { columns, fit } = stageFit(x, left, outcomes, failure, names, confidence);
    const lost = names.filter((_, j) => !columns.includes(j));
    if (lost.length > 0)
      remarks.push(
        `The cells judged for "${failure}" cannot tell ${lost.join(', ')} apart; taken as 0.`,
      );
    if (fit.isSeparated)
      remarks.push(
        `"${failure}" is cut off cleanly from the rest; how sharp the edge is, is not known.`,
      );
    stages.push({ kind: 'fitted', failure, cells: left.length, failed, fit, columns });
    left = left.filter((i) => outcomes[i] !== failure);
  }
  return {
    kind: 'fitted',
    stages,
    terms: x.cols,
    cells: rows.length,
    leftOut: x.rows - rows.length,
    confidence,
    remarks,
  };
}

function stageFit(
  x: Dense,
  rows: readonly number[],
  outcomes: readonly CellOutcome[],
  failure: FailureKind,
  names: readonly string[],
  confidence: number,
): { columns: readonly number[]; fit: PassFailFit } {
  const columns = [
    ...qrFactor(
      part(
        x,
        rows,
        names.map((_, j) => j),
      ),
    ).kept,
  ];
  const result = fitPassFail({
    x: part(x, rows, columns),
    passed: rows.map((i) => outcomes[i] !== failure),
    names: columns.map((j) => names[j]!),
    confidence,
  });
  // Some cell ran, so both outcomes are there, and aliased columns were left out above.
  if (result.kind !== 'fitted') throw new Error(result.words);
  return { columns, fit: result };
}

function part(
  { cols: p, data }: Dense,
  rows: readonly number[],
  columns: readonly number[],
): Dense {
  const out = new Float64Array(rows.length * columns.length);
  for (const [a, i] of rows.entries())
    for (const [b, j] of columns.entries()) out[a * columns.length + b] = data[i * p + j]!;
  return { rows: rows.length, cols: columns.length, data: out };
}

/** What to expect of one setting; the four probabilities add to one. */
export interface FeasibilityPoint {
  readonly runs: number;
  readonly cold: number;
  readonly hot: number;
  readonly noFeed: number;
  /** Limits of `runs`, symmetric on its log odds. */
  readonly low: number;
  readonly high: number;
}

/**
 * Probability that a strand forms at one setting.
 *
 * @param row - model terms at the point, shape (p)
 */
export function feasibilityAt(fit: FeasibilityFit, row: ArrayLike<number>): FeasibilityPoint {
  const chance = { cold: 0, hot: 0, 'no feed': 0 };
  let runs = 1;
  let logVariance = 0;
  for (const stage of fit.stages) {
    if (stage.kind === 'not-seen') continue;
    const own = stage.columns.map((j) => row[j] ?? 0);
    const { probability, standardError } = passProbability(stage.fit, own);
    chance[stage.failure] = runs * (1 - probability);
    runs *= probability;
    // d ln π / d(log odds) = 1 − π.
    logVariance += ((1 - probability) * standardError) ** 2;
  }
  const logOdds = Math.log(runs / (1 - runs));
  const half =
    (normalUpperQuantile((1 - fit.confidence) / 2) * Math.sqrt(logVariance)) / (1 - runs);
  const share = (eta: number) => (Number.isNaN(eta) ? runs : 1 / (1 + Math.exp(-eta)));
  return {
    runs,
    cold: chance.cold,
    hot: chance.hot,
    noFeed: chance['no feed'],
    low: share(logOdds - half),
    high: share(logOdds + half),
  };
}
