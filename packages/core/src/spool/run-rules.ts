/** A rule of a control chart, named in words. */
export type RunRule =
  | 'one beyond three sigma'
  | 'two of three beyond two sigma'
  | 'four of five beyond one sigma'
  | 'eight in a row on one side';

export const runRules: readonly RunRule[] = [
  'one beyond three sigma',
  'two of three beyond two sigma',
  'four of five beyond one sigma',
  'eight in a row on one side',
];

/** A point at which a rule speaks: the last point of the run that breaks it. */
export interface Signal {
  readonly at: number;
  readonly rule: RunRule;
}

interface RunOf {
  readonly rule: RunRule;
  readonly beyond: number;
  readonly count: number;
  readonly of: number;
}

const runs: readonly RunOf[] = [
  { rule: 'one beyond three sigma', beyond: 3, count: 1, of: 1 },
  { rule: 'two of three beyond two sigma', beyond: 2, count: 2, of: 3 },
  { rule: 'four of five beyond one sigma', beyond: 1, count: 4, of: 5 },
  { rule: 'eight in a row on one side', beyond: 0, count: 8, of: 8 },
];

/**
 * Where the run rules speak, each on one side of the centre line at a time.
 *
 * @param values - in order; `null` is a gap that ends no run but counts as neither side
 * @param sigma - SD of one point about the centre
 * @source NIST/SEMATECH e-Handbook 6.3.2, the four rules for out-of-control conditions; each point on the
 *   same side
 */
export function signals(
  values: readonly (number | null)[],
  { centre, sigma }: { readonly centre: number; readonly sigma: number },
  wanted: readonly RunRule[] = runRules,
): Signal[] {
  const out: Signal[] = [];
  for (let at = 0; at < values.length; at++) {
    for (const { rule, beyond, count, of } of runs) {
      if (!wanted.includes(rule)) continue;
      const window = values.slice(Math.max(0, at + 1 - of), at + 1);
      const speaks = [1, -1].some((side) => {
        const isOut = (value: number | null | undefined): boolean =>
          value != null && side * (value - centre) > beyond * sigma;
        return isOut(values[at]) && window.filter(isOut).length >= count;
      });
      if (speaks) out.push({ at, rule });
    }
  }
  return out;
}
