import { chiSquaredQuantile } from '../distribution/chi-squared.ts';
import { normalQuantile } from '../distribution/normal.ts';
import { quickNormalLower } from '../distribution/tabulated-cdf.ts';
import { scrambledHalton } from '../random/scrambled-halton.ts';
import { seededUniform } from '../random/uniform.ts';
import type { ConformanceParts, JudgedResponse } from './conformance-model.ts';
import { jointChance, productOf } from './joint-chance.ts';
import { pickedNode, rowScale } from './surface-belief.ts';

/** What the data leave open about a probability of conforming. */
export interface Assurance {
  /** The probability is at least this, with `confidence`. */
  readonly notBelow: number;
  readonly notAbove: number;
  /** Central interval: it holds the probability with `confidence`, as much outside on either side. */
  readonly between: readonly [low: number, high: number];
  readonly median: number;
  readonly confidence: number;
  /** If the estimates were the truth; the rest of the doubt could be bought off with runs. */
  readonly estimatesTrue: number;
}

export interface AssuranceOf {
  readonly confidence?: number;
  /** Draws of the surfaces; default 512. */
  readonly draws?: number;
  readonly seed: number;
}

/** One draw of the surfaces: for each response a node, a scale and a normal score. */
interface Draw {
  readonly uniforms: Float64Array;
  readonly scales: Float64Array;
  readonly scores: Float64Array;
  readonly strandScore: number;
}

const DRAWS = 512;
/** Wander points looked at for each draw. */
const MOST_SHIFTS = 16;

/**
 * How low the probability of conforming may really be, given that coefficients and variances are
 * known only from the data.
 *
 * Each draw of the surfaces, common to all settings, makes one probability of conforming: that of a
 * new set-up if the draw were the truth. Their average is the probability the model tells; their
 * lower quantile is what can be promised. Errors of the coefficients go together between responses
 * as their set-ups do, and along a wander as if shared.
 *
 * @returns a function of coded settings
 */
export function assurance(
  parts: ConformanceParts,
  { confidence = 0.95, draws = DRAWS, seed }: AssuranceOf,
): (settings: Float64Array) => Assurance {
  const drawn = sharedDraws(parts, draws, seed);
  const k = parts.responses.length;
  const atRest: Draw = {
    uniforms: new Float64Array(k).fill(0.5),
    scales: new Float64Array(k).fill(1),
    scores: new Float64Array(k),
    strandScore: 0,
  };
  return (settings) => {
    const place = placeOf(parts, settings);
    const values = Float64Array.from(drawn, (draw) => chanceGiven(parts, place, draw)).sort();
    const tail = 1 - confidence;
    return {
      notBelow: quantile(values, tail),
      notAbove: quantile(values, 1 - tail),
      between: [quantile(values, tail / 2), quantile(values, 1 - tail / 2)],
      median: quantile(values, 0.5),
      confidence,
      estimatesTrue: chanceGiven(parts, place, atRest),
    };
  };
}

function sharedDraws({ responses, lower }: ConformanceParts, count: number, seed: number): Draw[] {
  const k = responses.length;
  const u = new Float64Array(3 * k + 1);
  const sequence = scrambledHalton(u.length, seededUniform(seed, 'assurance'));
  return Array.from({ length: count }, (_, i) => {
    sequence.pointInto(u, i);
    const free = Float64Array.from({ length: k }, (_, r) => normalQuantile(inside(u[3 * r + 2]!)));
    return {
      uniforms: Float64Array.from({ length: k }, (_, r) => u[3 * r]!),
      scales: Float64Array.from(responses, ({ belief: { df } }, r) =>
        Number.isFinite(df) ? df / chiSquaredQuantile(inside(u[3 * r + 1]!), df) : 1,
      ),
      scores: Float64Array.from({ length: k }, (_, r) => {
        let sum = 0;
        for (let c = 0; c <= r; c++) sum += lower[r * k + c]! * free[c]!;
        return sum;
      }),
      strandScore: normalQuantile(inside(u[3 * k]!)),
    };
  });
}

const inside = (u: number): number => Math.min(1 - 1e-12, Math.max(1e-12, u));

/** What is the same for all draws at one place. */
interface Place {
  /** By response, then node: centre, standard error and noise SD before the draw's scale. */
  readonly nodes: readonly (readonly NodeAt[])[];
  /** Rise of each mean at each wander point, shape (shifts, k). */
  readonly rises: Float64Array;
  readonly points: readonly number[];
  /** ln odds that a strand forms at each wander point, with its standard error. */
  readonly strand: readonly number[];
  readonly strandError: number;
}

interface NodeAt {
  readonly center: number;
  readonly error: number;
  readonly noiseSd: number;
}

function placeOf(parts: ConformanceParts, settings: Float64Array): Place {
  const { responses, shifts, strandForms, strandError } = parts;
  // The head of a batch: its points come in mirrored pairs and cover the tolerances evenly.
  const count = shifts.moved > 0 ? Math.min(shifts.moved, MOST_SHIFTS) : shifts.rest;
  const points = Array.from({ length: count }, (_, i) => i);
  const factors = shifts.moved > 0 ? settings.length : 0;
  const k = responses.length;
  const rises = new Float64Array(points.length * k);
  const strand = points.map((point, i) => {
    const moved = settings.slice();
    for (let f = 0; f < factors; f++) moved[f]! += shifts.moves[point * factors + f]!;
    for (const [r, { surface }] of responses.entries())
      rises[i * k + r] = factors > 0 ? surface.mean(moved) - surface.mean(settings) : 0;
    const chance = inside(strandForms(moved));
    return Math.log(chance / (1 - chance));
  });
  return {
    nodes: responses.map((response) => nodesAt(response, settings)),
    rises,
    points,
    strand,
    strandError: strandError(settings),
  };
}

function nodesAt({ surface, belief }: JudgedResponse, settings: Float64Array): NodeAt[] {
  const row = surface.row(settings);
  return belief.nodes.map((node) => {
    let center = 0;
    for (let j = 0; j < row.length; j++) center += row[j]! * node.coefficients[j]!;
    return { center, error: Math.sqrt(rowScale(node, row)), noiseSd: Math.sqrt(node.noise) };
  });
}

function chanceGiven(parts: ConformanceParts, place: Place, draw: Draw): number {
  const { responses, shifts, isCorrelated, lower } = parts;
  const k = responses.length;
  const lows = new Float64Array(k);
  const highs = new Float64Array(k);
  const means = new Float64Array(k);
  const sds = new Float64Array(k);
  for (const [r, { belief }] of responses.entries()) {
    const node = pickedNode(belief.nodes, draw.uniforms[r]!);
    const at = place.nodes[r]![belief.nodes.indexOf(node)]!;
    const root = Math.sqrt(draw.scales[r]!);
    means[r] = at.center + root * at.error * draw.scores[r]!;
    sds[r] = root * at.noiseSd;
  }
  const places = shifts.moved > 0 ? shifts.places : shifts.restPlaces;
  let sum = 0;
  for (const [i, point] of place.points.entries()) {
    for (let r = 0; r < k; r++) {
      const mean = means[r]! + place.rises[i * k + r]!;
      lows[r] = share(responses[r]!.low, mean, sds[r]!);
      highs[r] = share(responses[r]!.high, mean, sds[r]!);
    }
    const keeping = isCorrelated
      ? jointChance(lows, highs, { lower, places, from: point * shifts.extra })
      : productOf(lows, highs);
    sum += keeping / (1 + Math.exp(-place.strand[i]! - place.strandError * draw.strandScore));
  }
  return sum / place.points.length;
}

function share(limit: number, mean: number, sd: number): number {
  if (limit === Number.POSITIVE_INFINITY) return 1;
  if (limit === Number.NEGATIVE_INFINITY) return 0;
  return sd === 0 ? (mean <= limit ? 1 : 0) : quickNormalLower((limit - mean) / sd);
}

function quantile(sorted: Float64Array, p: number): number {
  const place = p * (sorted.length - 1);
  const i = Math.floor(place);
  const next = sorted[Math.min(i + 1, sorted.length - 1)]!;
  return sorted[i]! + (place - i) * (next - sorted[i]!);
}
