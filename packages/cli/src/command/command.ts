import type { ParseArgsConfig } from 'node:util';
import type { Clock } from '@strandwise/core';

/** Exit codes, public: 0 done, 1 the data say no, 2 bad use or bad input, 3 machine fault. */
export type ExitCode = 0 | 1 | 2 | 3;

/** Where a command reads and writes; tests hand in their own. */
export interface Surroundings {
  readonly out: (text: string) => void;
  /** Progress and warnings: standard error, so that standard output stays data. */
  readonly tell: (text: string) => void;
  readonly clock: Clock;
  readonly env: Readonly<Record<string, string | undefined>>;
  readonly cwd: string;
  readonly isTerminal: boolean;
  readonly columns: number;
}

export type OptionValues = Readonly<
  Record<string, string | boolean | readonly (string | boolean)[] | undefined>
>;

export interface Given {
  readonly options: OptionValues;
  readonly rest: readonly string[];
}

export interface Option {
  readonly type: 'string' | 'boolean';
  readonly short?: string;
  readonly multiple?: boolean;
  /** What it does, in a few words, for `--help`. */
  readonly says: string;
  /** The word that stands for the value in `--help`. */
  readonly value?: string;
}

/** One verb of the command line. Each runs without a screen when given what it needs. */
export interface Command {
  readonly name: string;
  readonly summary: string;
  readonly usage: string;
  /** One example with the sentence that explains it. */
  readonly example: { readonly line: string; readonly says: string };
  readonly options: Readonly<Record<string, Option>>;
  run(given: Given, around: Surroundings): Promise<ExitCode> | ExitCode;
}

/** Options every command takes. */
export const everyOption: Readonly<Record<string, Option>> = {
  help: { type: 'boolean', short: 'h', says: 'show this and stop' },
  debug: { type: 'boolean', says: 'show the program stack with an error' },
};

export function parseConfig(command: Command, args: readonly string[]): ParseArgsConfig {
  const options = Object.fromEntries(
    Object.entries({ ...command.options, ...everyOption }).map(
      ([name, { type, short, multiple }]) => [
        name,
        {
          type,
          ...(short === undefined ? {} : { short }),
          ...(multiple === undefined ? {} : { multiple }),
        },
      ],
    ),
  );
  return { args: [...args], options, allowPositionals: true, strict: true };
}
