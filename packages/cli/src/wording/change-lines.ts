import type { ModelChange } from '@strandwise/core';
import { type Line, line } from '../terminal/line.ts';
import { figures } from '../terminal/number.ts';
import { told } from './told.ts';

/** What changing a model did: figures before and after, then sentences. */
export function changeLines(
  response: string,
  { figures: changed, says }: ModelChange,
  besides: readonly string[],
  columns: number,
): Line[] {
  const width = Math.max(...changed.map(({ name }) => [...name].length), 6);
  const value = (number: number | null): string => (number === null ? '—' : figures(number, 4));
  return [
    line(`model of ${response}`, 'strong'),
    ...besides.flatMap((text) => told(text, columns)),
    ...says.flatMap((text) => told(text, columns)),
    line(`   ${''.padEnd(width)} ${'before'.padStart(10)} ${'now'.padStart(10)}`, 'quiet'),
    ...changed.map(({ name, before, after }) =>
      line(`   ${name.padEnd(width)} ${value(before).padStart(10)} ${value(after).padStart(10)}`),
    ),
  ];
}
