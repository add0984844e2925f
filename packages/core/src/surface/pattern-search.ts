/** A place and what it is worth; larger is better. */
export interface Scored {
  readonly at: Float64Array;
  readonly score: number;
}

/**
 * Climbs a function without slopes: steps along each axis, halved when none helps.
 *
 * @param axes - directions to step along
 * @source Hooke & Jeeves (1961), "Direct search" solution of numerical and statistical problems,
 *   J. ACM 8:212–229 (without the pattern move)
 */
export function patternSearch(
  start: Float64Array,
  axes: readonly Float64Array[],
  score: (at: Float64Array) => number,
  { first = 0.32, last = 0.02 }: { readonly first?: number; readonly last?: number } = {},
): Scored {
  let best: Scored = { at: start, score: score(start) };
  for (let step = first; step >= last; ) {
    let isBetter = false;
    for (const axis of axes) {
      for (const sign of [1, -1]) {
        const at = best.at.map((value, i) => value + sign * step * axis[i]!);
        const found = score(at);
        if (found <= best.score) continue;
        best = { at, score: found };
        isBetter = true;
        break;
      }
    }
    if (!isBetter) step /= 2;
  }
  return best;
}
