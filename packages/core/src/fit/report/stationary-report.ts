import {
  describeNature,
  type StationaryPoint,
  type StudiedRegion,
  stationaryPoint,
} from '../../canonical/stationary-point.ts';
import { isNumeric } from '../../factor/factor.ts';
import type { CannotSay, StationaryReport } from './fit-result.ts';
import type { Prepared } from './prepared.ts';

/** The stationary point of a fitted model on its own scale, and what must be said with it. */
export function stationaryReport(
  { model, factors, runs }: Prepared,
  coefficients: Float64Array,
  covariance: Float64Array | null,
): { readonly report: StationaryReport | null; readonly cannotSay: CannotSay[] } {
  const chosen = model.columns.flatMap((column, j) => (column.isAside ? [] : [j]));
  const terms = chosen.map((j) => model.columns[j]!.powers);
  const found = stationaryPoint(
    terms,
    Float64Array.from(chosen, (j) => coefficients[j]!),
    factors,
    studiedRegion(runs, factors),
  );
  if (found.kind !== 'found') return { report: null, cannotSay: [] };
  const eigenvalueErrors = covariance && curvatureErrors(model.columns, covariance, found);
  const { factorNames, directions, kind: _, ...shared } = found;
  const report: StationaryReport = {
    ...shared,
    coded: found.coded && { ...found.coded },
    natural: found.natural && { ...found.natural },
    eigenvalues: [...found.eigenvalues],
    averagedOver: [...found.averagedOver],
    eigenvalueErrors,
    says: describeNature(found.nature),
    directions: directions.map((along) =>
      Object.fromEntries(factorNames.map((name, i) => [name, along[i]!])),
    ),
  };
  const cannotSay: CannotSay[] = [];
  if (!found.isInside) {
    const says = found.coded
      ? `The stationary point lies outside the settings that were run (${found.distance!.toPrecision(3)} coded units from the centre): where it is and what it yields is extrapolated.`
      : 'The surface is level nowhere: it keeps changing along a ridge, beyond the settings that were run.';
    cannotSay.push({ kind: 'extrapolated', says });
  }
  const unsure = eigenvalueErrors?.filter(
    (error, j) => Math.abs(found.eigenvalues[j]!) < 2 * error,
  ).length;
  if (unsure) {
    cannotSay.push({
      kind: 'uncertain-nature',
      says: `${unsure} of ${found.eigenvalues.length} curvatures cannot be told from zero (within two standard errors): the nature "${found.nature}" is not certain.`,
    });
  }
  return { report, cannotSay };
}

/**
 * Standard errors of the eigenvalues dᵀBd along their directions d, which are taken as known: each
 * is then a fixed combination of the second-order coefficients.
 *
 * @source Bisgaard & Ankenman (1996), Standard errors for the eigenvalues in second-order response
 *   surface models, Technometrics 38:238–246 (from memory)
 */
function curvatureErrors(
  columns: Prepared['model']['columns'],
  covariance: Float64Array,
  { directions, factorNames }: Extract<StationaryPoint, { kind: 'found' }>,
): number[] {
  const p = columns.length;
  return directions.map((along) => {
    const weights = columns.map(({ powers, isAside }) => {
      const entries = Object.entries(powers);
      const isSecondOrder =
        !isAside &&
        entries.every(([, power]) => typeof power === 'number') &&
        entries.reduce((sum, [, power]) => sum + Number(power), 0) === 2;
      if (!isSecondOrder) return 0;
      return entries.reduce(
        (value, [name, power]) => value * along[factorNames.indexOf(name)]! ** Number(power),
        1,
      );
    });
    let variance = 0;
    for (let i = 0; i < p; i++)
      for (let j = 0; j < p; j++) variance += weights[i]! * weights[j]! * covariance[i * p + j]!;
    return Math.sqrt(Math.max(0, variance));
  });
}

function studiedRegion(runs: Prepared['runs'], factors: Prepared['factors']): StudiedRegion {
  const names = factors.filter(isNumeric).map((factor) => factor.name);
  const low: Record<string, number> = {};
  const high: Record<string, number> = {};
  for (const name of names) {
    const values = runs.map((run) => Number(run.coded[name]));
    low[name] = Math.min(...values);
    high[name] = Math.max(...values);
  }
  const radius = Math.max(
    ...runs.map((run) => Math.hypot(...names.map((name) => Number(run.coded[name])))),
  );
  return { low, high, radius };
}
