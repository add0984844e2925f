import type { ResponseFit } from '@strandwise/core';
import { type Line, line } from '../terminal/line.ts';
import { figures, pValue } from '../terminal/number.ts';

/** Sums of squares by source: added in the order of the model, and after all others. */
export function squareLines({ anova }: ResponseFit, columns: number): Line[] {
  // Without a test the squares are the model's own or rounding, and say nothing more than its terms.
  if (!anova || columns < 72 || anova.partial.every(({ f }) => f === null)) return [];
  const name = Math.max(8, ...anova.partial.map(({ source }) => [...source].length));
  const row = (cells: readonly [string, string, string, string, string, string]): string => {
    const [source, df, sequential, partial, f, p] = cells;
    return `   ${source.padEnd(name)} ${df.padStart(4)} ${sequential.padStart(11)} ${partial.padStart(11)} ${f.padStart(9)}  ${p}`.trimEnd();
  };
  return [
    line(row(['squares', 'df', 'in order', 'after all', 'F', 'p']), 'quiet'),
    ...anova.partial.map(({ source, df, ss, f, p }) => {
      const before = anova.sequential.find((other) => other.source === source);
      return line(
        row([
          source,
          String(df),
          before ? figures(before.ss) : '',
          figures(ss),
          f === null ? '' : figures(f),
          pValue(p),
        ]),
      );
    }),
    line(row(['residual', String(anova.residual.df), '', figures(anova.residual.ss), '', ''])),
  ];
}
