import type { Contrast } from '@strandwise/core';
import type { Given } from '../command.ts';
import { UsageError } from '../usage-error.ts';

/** Questions of `--ask`, such as "level=210, fan=50 less level=190"; what is not named stands at its centre. */
export function contrastOption({ options }: Given): Contrast[] {
  const asked = options['ask'];
  return (Array.isArray(asked) ? asked.map(String) : []).map((text) => {
    const sides = text.split(/\s+less\s+/);
    if (sides.length !== 2)
      throw new UsageError(
        `--ask must name two settings with "less" between them, such as "level=210 less level=190"; got "${text}".`,
      );
    const [at, less] = sides.map((side) => settingsIn(side, text));
    return { name: text.trim().slice(0, 80), at: at!, less: less! };
  });
}

function settingsIn(side: string, text: string): Record<string, number | string> {
  return Object.fromEntries(
    side.split(',').map((part): [string, number | string] => {
      const cut = part.lastIndexOf('=');
      const [name, value] = [part.slice(0, cut).trim(), part.slice(cut + 1).trim()];
      if (cut < 1 || name === '' || value === '')
        throw new UsageError(
          `--ask must give every factor as name=value; got "${part.trim()}" (in "${text}").`,
        );
      const number = Number(value);
      return [name, Number.isFinite(number) ? number : value];
    }),
  );
}
