import { z } from 'zod';
import { DomainError } from '../../error/domain-error.ts';
import { codedPoint, codedValue } from '../../factor/coding.ts';
import { type Factor, isNumeric } from '../../factor/factor.ts';
import { modelTerms, Powers } from '../../term/term.ts';
import type { Design } from '../design.ts';
import { checkedOptions, designFamily, type FamilyRequest } from '../family-definition.ts';
import { tierOf } from './layout.ts';
import { type OptimalOutcome, optimalDesign } from './optimal-design.ts';
import type {
  CodedStretch,
  ForbiddenCombination,
  OptimalProblem,
  RunStructure,
} from './problem.ts';

const setting = z.union([z.number(), z.string()]);

const options = z.strictObject({
  criterion: z.enum(['D', 'A', 'I']).default('I'),
  runs: z.int().positive().max(500).optional(),
  wholePlots: z.int().positive().max(100).optional(),
  subWholePlots: z.int().positive().max(20).optional(),
  cells: z.int().positive().max(50).optional(),
  varianceRatio: z.number().min(0).default(1),
  subVarianceRatio: z.number().min(0).default(1),
  replicatedWholePlots: z.int().min(0).default(0),
  minimumWholePlotDf: z.int().min(0).default(1),
  everyRunSetAnew: z.boolean().default(false),
  blockSizes: z.array(z.int().positive()).optional(),
  levels: z.record(z.string(), z.array(z.number()).min(1)).optional(),
  forbidden: z
    .array(
      z.record(
        z.string(),
        z.union([setting, z.strictObject({ from: z.number(), to: z.number() })]),
      ),
    )
    .optional(),
  included: z.array(z.record(z.string(), setting)).optional(),
  ifPossible: z.array(Powers).optional(),
  priorPrecision: z.number().positive().optional(),
  starts: z.int().positive().max(10_000).default(50),
});

type Request = FamilyRequest<z.output<typeof options>>;

/**
 * Optimal designs as a family. Settings in `levels`, `forbidden` and `included` are in natural
 * units. With hard factors the design is a split plot unless `everyRunSetAnew`; `runs`, when
 * given, then sets the cells per whole plot, and sizes left out are taken from the model: as many
 * whole plots as it has terms of the hard factors and two more. `included` runs are set anew and
 * count among `runs`.
 *
 * @throws {DomainError} `conflicting_limits`, `too_few_runs`, `too_few_whole_plots`,
 *   `too_few_sub_whole_plots`, `not_estimable`, `singular`, or a code of {@link optimalDesign}
 */
export const optimalFamily = designFamily({
  name: 'optimal',
  says: 'The best runs for the model, limits and number of changes at hand, found by search.',
  options,
  build: (request) =>
    foundDesign(optimalDesign(problemOf(request), { starts: request.options.starts })),
});

/**
 * The design of a search's outcome.
 * @throws {DomainError} the outcome's kind as a code, when no design was found
 */
export function foundDesign(outcome: OptimalOutcome): Design {
  if (outcome.kind === 'found') return outcome.design;
  throw new DomainError(outcome.kind.replaceAll('-', '_'), `designOf: ${outcome.words}`, {
    family: 'optimal',
    refusal: outcome.kind,
  });
}

/** What the family would search for a request, for a caller that runs the starts elsewhere. */
export function optimalSearchOf(request: FamilyRequest<Readonly<Record<string, unknown>>>): {
  readonly problem: OptimalProblem;
  readonly starts: number;
} {
  const checked = checkedOptions(optimalFamily.name, options, request.options);
  return { problem: problemOf({ ...request, options: checked }), starts: checked.starts };
}

function problemOf(request: Request): OptimalProblem {
  const { factors, model, constraints, seed, options: o } = request;
  const terms = modelTerms(model, factors);
  return {
    factors,
    terms,
    criterion: o.criterion,
    structure: structureOf(request, terms),
    constraints,
    seed,
    ...(o.ifPossible && { ifPossible: o.ifPossible }),
    ...(o.priorPrecision !== undefined && { priorPrecision: o.priorPrecision }),
    ...(o.levels && { levels: codedLevels(o.levels, factors) }),
    ...(o.forbidden && { forbidden: o.forbidden.map((f) => codedCombination(f, factors)) }),
    ...(o.included && {
      included: o.included.map((point) => ({ coded: codedPoint(point, factors) })),
    }),
  };
}

function structureOf({ factors, options: o }: Request, terms: readonly Powers[]): RunStructure {
  const included = o.included?.length ?? 0;
  const isHard = new Set(factors.filter((f) => f.changes === 'hard').map((f) => f.name));
  if (o.everyRunSetAnew || (isHard.size === 0 && o.wholePlots === undefined)) {
    const runs = (o.runs ?? spare(terms.length)) - included;
    return { kind: 'runs', runs, ...(o.blockSizes && { blocks: o.blockSizes }) };
  }
  const hardTerms = terms.filter((powers) => Object.keys(powers).every((name) => isHard.has(name)));
  const wholePlots = o.wholePlots ?? hardTerms.length + Math.max(2, o.replicatedWholePlots);
  const sub = o.subWholePlots;
  const structure = { kind: 'split-plot', wholePlots, cells: 1, varianceRatio: 0 } as const;
  const hasSub =
    sub !== undefined && factors.some((f) => tierOf(f, { ...structure, subPlots: 1 }) === 1);
  const innermost = wholePlots * (hasSub ? sub : 1);
  const runs = (o.runs ?? spare(terms.length)) - included;
  return {
    kind: 'split-plot',
    wholePlots,
    cells: o.cells ?? Math.max(2, Math.ceil(runs / innermost)),
    varianceRatio: o.varianceRatio,
    ...(hasSub && { subPlots: sub, subVarianceRatio: o.subVarianceRatio }),
    replicates: o.replicatedWholePlots,
    minimumWholePlotDf: o.minimumWholePlotDf,
    ...(o.blockSizes && { blocks: o.blockSizes }),
  };
}

/** A fifth more runs than terms, four at least, so that noise can be judged. */
const spare = (terms: number): number => terms + Math.max(4, Math.ceil(terms / 5));

function codedLevels(
  levels: Readonly<Record<string, readonly number[]>>,
  factors: readonly Factor[],
): Record<string, number[]> {
  return Object.fromEntries(
    Object.entries(levels).map(([name, values]) => [
      name,
      values.map((value) => codedSetting(name, value, factors)),
    ]),
  );
}

function codedCombination(
  combination: Readonly<Record<string, number | string | CodedStretch>>,
  factors: readonly Factor[],
): ForbiddenCombination {
  return Object.fromEntries(
    Object.entries(combination).map(([name, value]) => {
      if (typeof value === 'string') return [name, value];
      const code = (natural: number): number => codedSetting(name, natural, factors);
      return [
        name,
        typeof value === 'number' ? code(value) : { from: code(value.from), to: code(value.to) },
      ];
    }),
  );
}

/** Unknown and named factors pass through: the search refuses them by name. */
function codedSetting(name: string, value: number, factors: readonly Factor[]): number {
  const factor = factors.find((candidate) => candidate.name === name);
  return factor && isNumeric(factor) ? codedValue(value, factor) : value;
}
