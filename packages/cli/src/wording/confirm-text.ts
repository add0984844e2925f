import type { ConfirmationBounds, ConfirmationVerdict } from '@strandwise/core';
import { wrapped } from '../terminal/line.ts';
import { figures } from '../terminal/number.ts';
import type { Theme } from '../theme.ts';

/** Where fresh set-ups must fall, one line a response. */
export function boundLines(
  { setUps, bounds, says }: ConfirmationBounds,
  columns: number,
): string[] {
  return [
    ...wrapped(says, Math.min(columns, 100), 2),
    '',
    `  ${''.padEnd(26)}${'expected'.padStart(9)}  ${'each set-up'.padEnd(22)} mean of ${setUps}`,
    ...bounds.map(({ response, unit, expected, each, mean }) => {
      const range = ({ low, high }: { low: number; high: number }): string =>
        `${figures(low)} … ${figures(high)}`;
      const name = `${response}${unit === '' ? '' : `, ${unit}`}`;
      return `  ${name.padEnd(26)}${figures(expected).padStart(9)}  ${range(each).padEnd(22)} ${range(mean)}`;
    }),
  ];
}

/** The verdict with what was seen and what to do. */
export function verdictLines(
  verdict: ConfirmationVerdict,
  { theme, columns }: { readonly theme: Theme; readonly columns: number },
): string[] {
  const room = Math.min(columns, 100);
  const told = (text: string): string => wrapped(text, room, 2).join('\n');
  const setUps = verdict.kind === 'not yet' ? [] : verdict.setUps;
  const seen = setUps.map(({ cells, values }) => {
    const each = Object.entries(values).map(([name, value]) => `${name} ${figures(value)}`);
    return wrapped(`cell ${cells.join(', ')}: ${each.join('; ')}`, room, 4).join('\n');
  });
  switch (verdict.kind) {
    case 'not yet':
      return [told(verdict.says)];
    case 'holds':
      return [theme.paint('good', told(verdict.says)), ...seen];
    case 'misses':
      return [
        theme.paint('danger', '  The recipe is not confirmed.'),
        ...(verdict.failed.length > 0
          ? [told(`No strand formed in cell ${verdict.failed.join(', ')}: do not release.`)]
          : []),
        ...verdict.misses.flatMap(({ says, whatToDo }) => [told(says), told(whatToDo)]),
        ...seen,
      ];
  }
}
