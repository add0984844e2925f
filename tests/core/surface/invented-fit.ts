import {
  type Factor,
  type FitSource,
  fitTable,
  type ResponseFit,
  type ResponseSurface,
  type RunTable,
  responseSurface,
  Spec,
  seededUniform,
  standardNormal,
  type Uniform,
} from '@strandwise/core';

/** An invented study of coded factors from −1 to 1, and what was fitted to it. */
export interface InventedFit {
  readonly source: FitSource;
  readonly factors: readonly Factor[];
  readonly fits: readonly ResponseFit[];
  readonly surfaces: readonly ResponseSurface[];
}

export type Truth = (settings: Readonly<Record<string, number>>) => number;

/** Settings of a face-centred composite, each once, the centre `centres` times. */
export function compositeRuns(names: readonly string[], centres = 4): Record<string, number>[] {
  const zero = Object.fromEntries(names.map((name) => [name, 0]));
  const corners = Array.from({ length: 2 ** names.length }, (_, mask) =>
    Object.fromEntries(names.map((name, i) => [name, (mask >> i) & 1 ? 1 : -1])),
  );
  const axial = names.flatMap((name) => [
    { ...zero, [name]: -1 },
    { ...zero, [name]: 1 },
  ]);
  return [...corners, ...axial, ...Array.from({ length: centres }, () => zero)];
}

/** Two normal numbers with a correlation, from the source. */
export function correlatedPair(uniform: Uniform, correlation: number): [number, number] {
  const first = standardNormal(uniform);
  const second = standardNormal(uniform);
  return [first, correlation * first + Math.sqrt(1 - correlation ** 2) * second];
}

/** Fits invented responses: truths plus errors of the given SD, correlated between the first two. */
export function inventedFit(
  truths: Readonly<Record<string, Truth>>,
  {
    names = ['level', 'screw'],
    sd = 0.1,
    correlation = 0,
    repeats = 1,
    seed = 1,
    plots = 0,
    plotSd = 0,
    kinds = {},
  }: {
    names?: readonly string[];
    sd?: number;
    correlation?: number;
    repeats?: number;
    seed?: number;
    /** Runs in a whole plot; 0 for none. The first factor is then set once a plot. */
    plots?: number;
    plotSd?: number;
    kinds?: Readonly<Record<string, 'continuous' | 'spread'>>;
  } = {},
): InventedFit {
  const uniform = seededUniform(seed, 'invented fit');
  const plain = Array.from({ length: repeats }, () => compositeRuns(names)).flat();
  const runs = plots > 0 ? plotRuns(names, plots, repeats) : plain;
  const responses = Object.keys(truths);
  const table: Record<string, (number | string)[]> = { plot: [] };
  for (const name of [...names, ...responses]) table[name] = [];
  let plotErrors = responses.map(() => 0);
  for (const [i, run] of runs.entries()) {
    if (plots > 0 && i % plots === 0)
      plotErrors = responses.map(() => plotSd * standardNormal(uniform));
    table['plot']!.push(plots > 0 ? Math.floor(i / plots) : i);
    for (const name of names) table[name]!.push(run[name]!);
    const errors = correlatedPair(uniform, correlation);
    for (const [r, name] of responses.entries()) {
      const error = r < 2 ? errors[r]! : standardNormal(uniform);
      const value = truths[name]!(run) + sd * error + plotErrors[r]!;
      table[name]!.push(kinds[name] === 'spread' ? Math.exp(value) : value);
    }
  }
  const spec = Spec.parse({
    factors: names.map((name, i) => ({
      name,
      low: -1,
      high: 1,
      changes: plots > 0 && i === 0 ? 'hard' : 'easy',
    })),
    responses: responses.map((name) => ({ name, kind: kinds[name] ?? 'continuous' })),
    model: 'quadratic',
    ...(plots > 0 ? { wholePlot: 'plot' } : {}),
  });
  const source = { spec, table: table as RunTable };
  const { responses: fits } = fitTable(source);
  return {
    source,
    factors: spec.factors,
    fits,
    surfaces: fits.flatMap((fit) => responseSurface(fit, spec.factors) ?? []),
  };
}

/** Whole plots of the first factor at −1, 0, 1 in turn, the others going round their levels within. */
function plotRuns(names: readonly string[], cells: number, repeats: number) {
  const levels = [-1, 0, 1, 0];
  const out: Record<string, number>[] = [];
  let turn = 0;
  for (let plot = 0; plot < 4 * repeats; plot++) {
    for (let cell = 0; cell < cells; cell++) {
      const run: Record<string, number> = { [names[0]!]: levels[plot % 4]! };
      for (const [i, name] of names.slice(1).entries())
        run[name] = [-1, 0, 1][Math.floor(turn / 3 ** i) % 3]!;
      turn++;
      out.push(run);
    }
  }
  return out;
}
