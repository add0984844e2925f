import { denseFromRows } from '../../linear/dense.ts';
import { qrFactor } from '../../linear/qr.ts';
import { seededUniform } from '../../random/uniform.ts';
import { type Powers, termName } from '../../term/term.ts';
import type { LinearConstraint } from '../design.ts';
import type { CompiledProblem } from './compiled-problem.ts';
import { conflictingLimits } from './feasible-centre.ts';
import { tierOf } from './layout.ts';
import { candidatePoints } from './potential-terms.ts';
import type { ForbiddenCombination, OptimalProblem } from './problem.ts';
import { randomPointInto } from './random-point.ts';
import { isUnlimited } from './region.ts';
import { termRowInto } from './term-table.ts';

/** Why no design can be made; `words` is a whole sentence with what to do next. */
export type OptimalRefusal =
  | {
      readonly kind: 'conflicting-limits';
      /** A smallest set that cannot hold together. */
      readonly constraints: readonly LinearConstraint[];
      readonly forbidden: readonly ForbiddenCombination[];
      readonly words: string;
    }
  | {
      readonly kind: 'too-few-runs';
      readonly got: number;
      readonly needed: number;
      readonly words: string;
    }
  | {
      readonly kind: 'too-few-whole-plots' | 'too-few-sub-whole-plots';
      readonly got: number;
      readonly needed: number;
      /** Degrees of freedom left between the plots; may be negative. */
      readonly df: number;
      readonly words: string;
    }
  | {
      readonly kind: 'not-estimable';
      /** Terms that the rest of the model explains wholly wherever runs may lie. */
      readonly terms: readonly string[];
      readonly words: string;
    }
  | { readonly kind: 'singular'; readonly words: string };

/** The first reason why no design can be made, null when one can. */
export function refusalOf(
  problem: OptimalProblem,
  compiled: CompiledProblem,
): OptimalRefusal | null {
  return (
    conflict(problem, compiled) ??
    tooFewWholePlots(problem, compiled) ??
    tooFewSubWholePlots(problem, compiled) ??
    tooFewRuns(problem, compiled) ??
    notEstimable(problem, compiled)
  );
}

function conflict(problem: OptimalProblem, compiled: CompiledProblem): OptimalRefusal | null {
  if (isUnlimited(compiled.region) || compiled.centres.length > 0) return null;
  const found = conflictingLimits(problem);
  if (!found) return null;
  const { constraints, forbidden } = found;
  const parts = [
    ...constraints.map(({ says }) => `"${says}"`),
    ...forbidden.map((combination) => `forbidden ${combinationWords(combination)}`),
  ];
  const together = parts.length === 1 ? 'leaves' : 'together leave';
  return {
    kind: 'conflicting-limits',
    constraints,
    forbidden,
    words: `No setting within the ranges is allowed: ${parts.join(', ')} ${together} no room. Relax one of them or widen a range.`,
  };
}

function combinationWords(combination: ForbiddenCombination): string {
  return Object.entries(combination)
    .map(([name, value]) =>
      typeof value === 'object' ? `${name} ${value.from} to ${value.to}` : `${name} ${value}`,
    )
    .join(' with ');
}

function tooFewRuns(problem: OptimalProblem, { layout }: CompiledProblem): OptimalRefusal | null {
  const needed = problem.terms.length + layout.blocks.cols;
  if (layout.n >= needed) return null;
  const blocks = layout.blocks.cols > 0 ? ` and ${layout.blocks.cols} block differences` : '';
  return {
    kind: 'too-few-runs',
    got: layout.n,
    needed,
    words: `The model has ${problem.terms.length} terms${blocks}, so at least ${needed} runs are needed; got ${layout.n}. Add ${needed - layout.n} or drop terms.`,
  };
}

/** Terms whose slowest-to-change partner ends at the given tier: they are judged between its plots. */
function termsOfTier(problem: OptimalProblem, tier: 1 | 2): Powers[] {
  const tiers = new Map(problem.factors.map((f) => [f.name, tierOf(f, problem.structure)]));
  return problem.terms.filter((powers) => {
    const names = Object.keys(powers);
    if (names.length === 0) return tier === 2;
    return Math.min(...names.map((name) => tiers.get(name) ?? 0)) === tier;
  });
}

function tooFewWholePlots(
  problem: OptimalProblem,
  { layout }: CompiledProblem,
): OptimalRefusal | null {
  const { structure } = problem;
  if (structure.kind === 'runs') return null;
  const terms = termsOfTier(problem, 2).length + layout.blocks.cols;
  const got = plotCount(layout.labels.map(({ wholePlot }) => wholePlot));
  const { minimumWholePlotDf = 1, replicates = 0 } = structure;
  const needed = terms + Math.max(minimumWholePlotDf, replicates);
  if (got >= needed) return null;
  return {
    kind: 'too-few-whole-plots',
    got,
    needed,
    df: got - terms,
    words: `${terms} of the model's terms (mean and blocks counted) are judged between whole plots, and ${needed - terms} must be left over; that needs ${needed} whole plots, got ${got}, which leaves ${Math.max(0, got - terms)}. Add ${needed - got} or drop terms of the hard factors.`,
  };
}

function tooFewSubWholePlots(
  problem: OptimalProblem,
  { layout }: CompiledProblem,
): OptimalRefusal | null {
  const { structure } = problem;
  if (structure.kind === 'runs' || structure.subPlots === undefined) return null;
  const terms = termsOfTier(problem, 1).length;
  const whole = plotCount(layout.labels.map(({ wholePlot }) => wholePlot));
  const got = plotCount(layout.labels.map(({ subWholePlot }) => subWholePlot));
  const needed = whole + terms + 1;
  if (terms === 0 || got >= needed) return null;
  return {
    kind: 'too-few-sub-whole-plots',
    got,
    needed,
    df: got - whole - terms,
    words: `${terms} of the model's terms are judged between sub-whole plots within ${whole} whole plots, and 1 must be left over; that needs ${needed} sub-whole plots, got ${got}. Add ${needed - got} or drop terms of the semi-hard factors.`,
  };
}

/** Distinct labels, with each unlabelled run a plot of its own. */
function plotCount(labels: readonly (number | null)[]): number {
  const alone = labels.filter((label) => label === null).length;
  return new Set(labels.filter((label) => label !== null)).size + alone;
}

function notEstimable(problem: OptimalProblem, compiled: CompiledProblem): OptimalRefusal | null {
  const { table, region, centres } = compiled;
  const k = region.factors.length;
  const grid = candidatePoints(region, centres);
  const uniform = seededUniform(1, 'optimal estimable');
  const point = new Float64Array(k);
  const row = new Float64Array(table.p);
  const rows: number[][] = [];
  const add = (points: Float64Array, offset: number): void => {
    termRowInto(row, table, { points, offset, at: 0 });
    rows.push([...row.subarray(0, problem.terms.length)]);
  };
  for (let i = 0; i < Math.min(grid.length / k, 400); i++) add(grid, i * k);
  for (let i = 0; i < 3 * table.p + 100; i++) {
    randomPointInto(point, region, { centres, uniform });
    add(point, 0);
  }
  const { aliased } = qrFactor(denseFromRows(rows));
  if (aliased.length === 0) return null;
  const terms = [...aliased].map((t) => termName(problem.terms[t]!));
  return {
    kind: 'not-estimable',
    terms,
    words: `Wherever runs may lie, ${terms.join(', ')} cannot be told from the terms before ${terms.length === 1 ? 'it' : 'them'}. Drop ${terms.length === 1 ? 'it' : 'them'}, or allow more levels.`,
  };
}
