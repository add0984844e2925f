/**
 * Climbs a function without slopes by the simplex method of Nelder and Mead, started anew with a
 * smaller simplex until that no longer helps: kinks and flat faces stop a single descent early.
 *
 * @param score - larger is better
 * @param start - shape (k)
 * @param reach - size of the first simplex
 * @returns the best point found and its score
 * @source Nelder & Mead (1965), A simplex method for function minimization, Computer Journal 7:308–313
 */
export function simplexSearch(
  score: (x: Float64Array) => number,
  start: Float64Array,
  reach: number,
): { readonly at: Float64Array; readonly score: number } {
  let best: { at: Float64Array; score: number } = { at: start.slice(), score: score(start) };
  let size = reach;
  let idle = 0;
  for (let round = 0; round < 40 && idle < 4; round++) {
    // The simplex turns over between rounds so that a face it collapsed onto does not hold it.
    const found = descent(score, best.at, round % 2 === 0 ? size : -size);
    if (found.score > best.score + 1e-12 * Math.abs(best.score)) idle = 0;
    else idle++;
    if (found.score > best.score) best = found;
    size = idle === 0 ? size : size / 4;
  }
  return best;
}

interface Corner {
  readonly at: Float64Array;
  readonly score: number;
}

function descent(
  score: (x: Float64Array) => number,
  start: Float64Array,
  size: number,
): { at: Float64Array; score: number } {
  const k = start.length;
  const corner = (at: Float64Array): Corner => ({ at, score: score(at) });
  const corners = [corner(start.slice())];
  for (let j = 0; j < k; j++) {
    const at = start.slice();
    at[j]! += size;
    corners.push(corner(at));
  }
  for (let step = 0; step < 200 * (k + 1); step++) {
    corners.sort((a, b) => b.score - a.score);
    const first = corners[0]!;
    const worst = corners[k]!;
    if (spread(corners) < 1e-10) break;
    const centre = new Float64Array(k);
    for (let c = 0; c < k; c++) for (let j = 0; j < k; j++) centre[j]! += corners[c]!.at[j]! / k;
    const along = (t: number): Corner =>
      corner(centre.map((value, j) => value + t * (value - worst.at[j]!)));
    const mirrored = along(1);
    if (mirrored.score > first.score) {
      const further = along(2);
      corners[k] = further.score > mirrored.score ? further : mirrored;
    } else if (k > 1 ? mirrored.score > corners[k - 1]!.score : false) corners[k] = mirrored;
    else {
      const nearer = along(mirrored.score > worst.score ? 0.5 : -0.5);
      if (nearer.score > worst.score) corners[k] = nearer;
      else
        for (let c = 1; c <= k; c++)
          corners[c] = corner(corners[c]!.at.map((value, j) => (value + first.at[j]!) / 2));
    }
  }
  corners.sort((a, b) => b.score - a.score);
  return corners[0]!;
}

function spread(corners: readonly Corner[]): number {
  let widest = 0;
  const first = corners[0]!;
  for (const { at } of corners)
    for (let j = 0; j < at.length; j++) widest = Math.max(widest, Math.abs(at[j]! - first.at[j]!));
  return widest;
}
