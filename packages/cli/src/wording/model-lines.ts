import type { ResponseFit } from '@strandwise/core';
import { type Line, line, span } from '../terminal/line.ts';
import { decimalsFor, figures, pValue } from '../terminal/number.ts';
import { told } from './told.ts';

/** Terms with estimates, errors, df and p, decimals as the errors deserve. */
export function termLines({ terms }: ResponseFit, columns: number): Line[] {
  if (terms.length === 0) return [];
  const name = Math.max(4, ...terms.map((term) => [...term.name].length));
  const isNarrow = columns < name + 52;
  // What is this much smaller than the largest estimate is left over from rounding.
  const rounding = 1e-13 * Math.max(...terms.map(({ estimate }) => Math.abs(estimate)));
  const head = isNarrow
    ? `   ${'term'.padEnd(name)} ${'estimate'.padStart(10)} ${'± error'.padStart(9)}  p`
    : `   ${'term'.padEnd(name)} ${'estimate'.padStart(11)} ${'std. error'.padStart(11)} ${'df'.padStart(6)} ${'statistic'.padStart(10)}  p`;
  return [
    line(head, 'quiet'),
    ...terms.map((term): Line => {
      const { name: own, estimate, statistic, p, low, high } = term;
      // Without a test the errors are rounding at best.
      const [standardError, df] = p === null ? [null, null] : [term.standardError, term.df];
      const isClear = low !== null && high !== null && low * high > 0;
      const [value, error] = inErrors(Math.abs(estimate) < rounding ? 0 : estimate, standardError);
      const text = isNarrow
        ? ` ${value.padStart(10)} ${error.padStart(9)}  ${pValue(p)}`
        : ` ${value.padStart(11)} ${error.padStart(11)} ${(df === null ? '' : df.toFixed(1)).padStart(6)} ${(statistic === null ? '' : statistic.toFixed(2)).padStart(10)}  ${pValue(p)}`;
      return [span(`   ${own.padEnd(name)}`, isClear ? 'strong' : 'plain'), span(text.trimEnd())];
    }),
  ];
}

/** An estimate to the decimals of two figures of its error. */
function inErrors(estimate: number, error: number | null): readonly [string, string] {
  if (error === null || !(error > 0)) return [figures(estimate, 4), ''];
  if (Math.abs(estimate) >= 1e7 || error < 1e-5) return [figures(estimate, 5), figures(error, 2)];
  const decimals = decimalsFor(error);
  return [estimate.toFixed(decimals).replace(/^-(0\.?0*)$/, '$1'), error.toFixed(decimals)];
}

/** Shares, scatter, variance components and what the surface is. */
export function factLines(fit: ResponseFit, columns: number): Line[] {
  const shares = [
    fit.rSquared === null ? null : `R² ${figures(fit.rSquared)}`,
    fit.adjustedRSquared === null ? null : `adjusted ${figures(fit.adjustedRSquared)}`,
    fit.predictiveRSquared === null ? null : `predictive ${figures(fit.predictiveRSquared)}`,
    fit.residualSd === null || isRounding(fit) ? null : `residual SD ${figures(fit.residualSd)}`,
    fit.dfResidual === null ? null : `${fit.dfResidual} df left`,
    fit.dispersion === null ? null : `dispersion ${figures(fit.dispersion)}`,
  ].filter((text) => text !== null);
  const components = fit.varianceComponents.filter(() => fit.varianceComponents.length > 1);
  return [
    ...(shares.length > 0 ? told(shares.join(', '), columns) : []),
    ...(fit.sharesSay ? told(fit.sharesSay, columns, { role: 'quiet' }) : []),
    ...(components.length > 0
      ? told(
          `SD ${components.map(({ name, standardDeviation, low, high }) => `${name} ${figures(standardDeviation)}${limits(low, high)}`).join(', ')}`,
          columns,
        )
      : []),
    ...(fit.stationaryPoint ? told(`The surface is ${fit.stationaryPoint.says}.`, columns) : []),
  ];
}

/** What is left is rounding: a number would be read as scatter. */
const isRounding = ({ cannotSay }: ResponseFit): boolean =>
  cannotSay.some(({ kind }) => kind === 'perfect-fit' || kind === 'constant-response');

/** Limits of a variance as limits of its root. */
const limits = (low: number | null, high: number | null): string =>
  low === null || high === null
    ? ''
    : ` (${figures(Math.sqrt(Math.max(0, low)))} … ${figures(Math.sqrt(high))})`;

/** The user's own questions with their answers. */
export function contrastLines({ contrasts, scale }: ResponseFit, columns: number): Line[] {
  if (contrasts.length === 0) return [];
  const isLog = scale === 'ln response' || scale === 'ln rate';
  const asked = contrasts.flatMap(({ name, estimate, low, high, p }) => {
    const shown = (value: number): string =>
      isLog ? `× ${figures(Math.exp(value))}` : figures(value);
    const interval = low === null || high === null ? '' : ` (${shown(low)} … ${shown(high)})`;
    const judged = p === null ? ', nothing can judge it' : `, p ${pValue(p)}`;
    return told(`${name}: ${shown(estimate)}${interval}${judged}`, columns, { indent: 5 });
  });
  return [line('   asked', 'quiet'), ...asked];
}
