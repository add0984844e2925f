import { type Cdf, quickTLower } from '../distribution/tabulated-cdf.ts';
import { DomainError } from '../error/domain-error.ts';
import { type JudgedRequirement, scaledLimits } from './conformance.ts';
import { jointChance, productOf } from './joint-chance.ts';
import { noCorrelation, type ResidualCorrelation } from './residual-correlation.ts';
import type { ResponseSurface } from './response-surface.ts';
import { noWander, type SetUpWander } from './set-up-wander.ts';
import { type Shifts, sharedShifts } from './shared-shifts.ts';
import { type BeliefNode, rowScale, type SurfaceBelief } from './surface-belief.ts';

export interface ConformanceOf {
  readonly judged: readonly JudgedRequirement[];
  /** Probability that a strand forms at coded settings. */
  readonly strandForms?: (settings: Float64Array) => number;
  /** Standard error of its ln odds; 0 when left out. */
  readonly strandError?: (settings: Float64Array) => number;
  /** Of the responses of `judged` by name; independent when left out. */
  readonly correlation?: ResidualCorrelation;
  readonly wander?: SetUpWander;
  readonly seed: number;
  /**
   * Standard error aimed at; default 0.0015. Four batches of shifts are averaged, and where their
   * scatter says more, twice as many shifts are taken, up to eight times the first.
   */
  readonly error?: number;
  /** `draft` takes one batch of a few points, for searches: fast, and without an error. */
  readonly effort?: 'full' | 'draft';
}

/** Probability that one new set-up conforms, with the error of its computation. */
export interface Conformance {
  readonly probability: number;
  /** Standard error from the quasi-random points, estimated; 0 when the answer is in closed form. */
  readonly error: number;
}

/** The joint predictive distribution of all judged responses, ready for many settings. */
export interface ConformanceModel {
  readonly at: (settings: Float64Array) => Conformance;
  /** What `assurance` draws from. */
  readonly parts: ConformanceParts;
}

/** What the joint distribution is computed from. */
export interface ConformanceParts {
  readonly responses: readonly JudgedResponse[];
  readonly strandForms: (settings: Float64Array) => number;
  readonly strandError: (settings: Float64Array) => number;
  /** Lower factor of the correlation of `responses`, shape (k, k). */
  readonly lower: Float64Array;
  readonly isCorrelated: boolean;
  readonly shifts: Shifts;
}

/** One response with the limits of all its requirements, on its own scale. */
export interface JudgedResponse {
  readonly surface: ResponseSurface;
  readonly belief: SurfaceBelief;
  readonly cdf: Cdf;
  readonly low: number;
  readonly high: number;
}

const BATCHES = 4;
const FIRST_SHIFTS = 12;
const DRAFT_SHIFTS = 4;
const MOST_SHIFTS = 96;
const ERROR = 0.0015;

/**
 * The probability that one new set-up conforms: every requirement kept and a strand formed.
 *
 * Three kinds of doubt are in it: the coefficients and variances of each surface (its predictive
 * mixture of t distributions), the scatter from set-up to set-up with its correlation between
 * responses, and set points that wander within their tolerance. Given the settings, each response's
 * chance is in closed form; correlated ones are joined as normal scores by separation of variables.
 * What is left, the wander and the joining, is averaged over quasi-random points that all settings
 * share (so that maps are smooth), mirrored in pairs. A response's standard error is taken at the
 * middle of the wander, over which it hardly changes.
 *
 * @throws {DomainError} `not_judged` when a surface has no covariance
 * @accuracy tested against brute-force draws; error told with each answer
 * @source Genz (1992), Numerical computation of multivariate normal probabilities, J. Computational
 *   and Graphical Statistics 1:141–149 (from memory); normal scores with t margins: the Gaussian
 *   copula, exact for normal responses of one common design and known variances
 */
export function conformanceModel(request: ConformanceOf): ConformanceModel {
  const responses = judgedResponses(request.judged);
  const { strandForms = () => 1, strandError = () => 0, wander = noWander, seed } = request;
  const isDraft = request.effort === 'draft';
  const { lower, isCorrelated } = correlationOf(responses, request.correlation);
  const shifts = sharedShifts(wander, {
    extra: isCorrelated ? responses.length - 1 : 0,
    points: isDraft ? DRAFT_SHIFTS : MOST_SHIFTS,
    batches: isDraft ? 1 : BATCHES,
    seed,
  });
  const parts = { responses, strandForms, strandError, lower, isCorrelated, shifts };
  return { at: evaluator(parts, request.error ?? ERROR), parts };
}

/** Requirements joined by the response they are about. */
function judgedResponses(judged: readonly JudgedRequirement[]): JudgedResponse[] {
  const byName = new Map<string, JudgedResponse>();
  for (const each of judged) {
    const { surface } = each;
    if (!surface.belief) {
      throw new DomainError(
        'not_judged',
        `conformanceModel: every surface must have a covariance; got none (response "${surface.name}"). Leave its requirement out, or add runs that give it degrees of freedom.`,
        { response: surface.name },
      );
    }
    const { low, high } = scaledLimits(each);
    const before = byName.get(surface.name);
    byName.set(surface.name, {
      surface,
      belief: surface.belief,
      cdf: quickTLower(surface.belief.df),
      low: Math.max(low, before?.low ?? low),
      high: Math.min(high, before?.high ?? high),
    });
  }
  return [...byName.values()];
}

function correlationOf(
  responses: readonly JudgedResponse[],
  given: ResidualCorrelation | undefined,
): { lower: Float64Array; isCorrelated: boolean } {
  const names = responses.map(({ surface }) => surface.name);
  const k = names.length;
  if (!given) return { lower: noCorrelation(names).lower, isCorrelated: false };
  const from = names.map((name) => given.names.indexOf(name));
  const lower = new Float64Array(k * k);
  let isCorrelated = false;
  for (let i = 0; i < k; i++) {
    for (let j = 0; j <= i; j++) {
      let sum =
        i === j
          ? 1
          : from[i]! < 0 || from[j]! < 0
            ? 0
            : given.matrix[from[i]! * given.names.length + from[j]!]!;
      if (i !== j && sum !== 0) isCorrelated = true;
      for (let c = 0; c < j; c++) sum -= lower[i * k + c]! * lower[j * k + c]!;
      lower[i * k + j] = i === j ? Math.sqrt(sum) : sum / lower[j * k + j]!;
    }
  }
  return { lower, isCorrelated };
}

/** A response's predictive distribution at one place: centres and scales of its parts. */
interface Margin {
  readonly row: Float64Array;
  readonly centers: Float64Array;
  readonly scales: Float64Array;
  mean: number;
}

function evaluator(
  parts: ConformanceParts,
  wantedError: number,
): (settings: Float64Array) => Conformance {
  const { responses, strandForms, shifts } = parts;
  const work = workspace(parts);
  const { margins, rest, shifted } = work;
  const atRest = new Float64Array(shifts.batches);
  const rises = new Float64Array(shifts.batches);
  return (settings) => {
    for (const [r, response] of responses.entries()) fillMargin(margins[r]!, response, settings);
    fillChances(rest, work, parts, null);
    const strand = strandForms(settings);
    for (let batch = 0; batch < shifts.batches; batch++)
      atRest[batch] = strand * restChance(rest, parts, batch);
    if (shifts.moved === 0) return averageOf(atRest);
    const moved = settings.slice();
    rises.fill(0);
    for (let done = 0, until = Math.min(FIRST_SHIFTS, shifts.moved); ; until *= 2) {
      for (let batch = 0; batch < shifts.batches; batch++) {
        for (let i = batch * shifts.moved + done; i < batch * shifts.moved + until; i++) {
          for (let f = 0; f < moved.length; f++)
            moved[f] = settings[f]! + shifts.moves[i * moved.length + f]!;
          fillChances(shifted, work, parts, moved);
          const from = i * shifts.extra;
          // What the shift changes; the integral at rest has its own, finer points.
          rises[batch]! +=
            strandForms(moved) * chanceAt(shifted, parts, shifts.places, from) -
            strand * chanceAt(rest, parts, shifts.places, from);
        }
      }
      done = until;
      const found = averageOf(atRest.map((value, batch) => value + rises[batch]! / done));
      if (found.error <= wantedError || until >= shifts.moved) return found;
    }
  };
}

/** Marginal chances of all responses below their low and high limits. */
interface Chances {
  readonly lows: Float64Array;
  readonly highs: Float64Array;
}

interface Workspace {
  readonly margins: readonly Margin[];
  readonly rest: Chances;
  readonly shifted: Chances;
}

function workspace({ responses }: ConformanceParts): Workspace {
  const k = responses.length;
  const chances = (): Chances => ({ lows: new Float64Array(k), highs: new Float64Array(k) });
  return {
    margins: responses.map(({ surface, belief }) => ({
      row: new Float64Array(surface.terms.length),
      centers: new Float64Array(belief.nodes.length),
      scales: new Float64Array(belief.nodes.length),
      mean: 0,
    })),
    rest: chances(),
    shifted: chances(),
  };
}

function fillChances(
  { lows, highs }: Chances,
  { margins }: Workspace,
  { responses }: ConformanceParts,
  moved: Float64Array | null,
): void {
  for (let r = 0; r < responses.length; r++) {
    const response = responses[r]!;
    const margin = margins[r]!;
    const rise = moved ? meanAt(response, moved, margin.row) - margin.mean : 0;
    const { low, high } = response;
    lows[r] = low === Number.NEGATIVE_INFINITY ? 0 : below(response, margin, low - rise);
    highs[r] = high === Number.POSITIVE_INFINITY ? 1 : below(response, margin, high - rise);
  }
}

const chanceAt = (
  { lows, highs }: Chances,
  { isCorrelated, lower }: ConformanceParts,
  places: Float64Array,
  from: number,
): number =>
  isCorrelated ? jointChance(lows, highs, { lower, places, from }) : productOf(lows, highs);

function restChance(rest: Chances, parts: ConformanceParts, batch: number): number {
  const { shifts } = parts;
  let sum = 0;
  for (let i = 0; i < shifts.rest; i++) {
    const from = (batch * shifts.rest + i) * shifts.extra;
    sum += chanceAt(rest, parts, shifts.restPlaces, from);
  }
  return sum / shifts.rest;
}

function fillMargin(
  margin: Margin,
  { surface, belief }: JudgedResponse,
  settings: Float64Array,
): void {
  const { row, centers, scales } = margin;
  surface.rowInto(row, settings);
  for (let n = 0; n < belief.nodes.length; n++) {
    const node: BeliefNode = belief.nodes[n]!;
    let center = 0;
    for (let j = 0; j < row.length; j++) center += row[j]! * node.coefficients[j]!;
    centers[n] = center;
    scales[n] = Math.sqrt(rowScale(node, row) + node.noise);
  }
  margin.mean = meanAt({ surface }, settings, row);
}

/** The surface's mean; `row` is overwritten. */
function meanAt(
  { surface }: Pick<JudgedResponse, 'surface'>,
  settings: Float64Array,
  row: Float64Array,
): number {
  surface.rowInto(row, settings);
  const { coefficients } = surface;
  let sum = 0;
  for (let j = 0; j < row.length; j++) sum += coefficients[j]! * row[j]!;
  return sum;
}

function below(
  { belief, cdf }: JudgedResponse,
  { centers, scales }: Margin,
  limit: number,
): number {
  let sum = 0;
  for (let n = 0; n < centers.length; n++) {
    const scale = scales[n]!;
    const share = scale === 0 ? (centers[n]! <= limit ? 1 : 0) : cdf((limit - centers[n]!) / scale);
    sum += belief.nodes[n]!.weight * share;
  }
  return sum;
}

function averageOf(values: Float64Array): Conformance {
  const n = values.length;
  let mean = 0;
  for (const value of values) mean += value / n;
  let squares = 0;
  for (const value of values) squares += (value - mean) ** 2;
  const error = n > 1 ? Math.sqrt(squares / (n - 1) / n) : 0;
  return { probability: Math.max(0, Math.min(1, mean)), error };
}
