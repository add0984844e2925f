/** Heights for labels beside their lines, moved apart to at least `gap` px and kept in order. */
export function spreadLabels(wanted: readonly number[], gap: number): number[] {
  const order = wanted.map((_, i) => i).sort((a, b) => wanted[a]! - wanted[b]!);
  const out = [...wanted];
  for (let pass = 0; pass < 50; pass++) {
    let isClear = true;
    for (let k = 1; k < order.length; k++) {
      const [above, below] = [order[k - 1]!, order[k]!];
      const lack = gap - (out[below]! - out[above]!);
      if (lack <= 0.01) continue;
      out[above]! -= lack / 2;
      out[below]! += lack / 2;
      isClear = false;
    }
    if (isClear) break;
  }
  return out;
}
