import type { FitResult } from '@strandwise/core';
import type { ExitCode } from '../command.ts';

/** The data say no when not one response could be fitted. */
export const exitOf = ({ responses }: FitResult): ExitCode =>
  responses.some(({ terms }) => terms.length > 0) ? 0 : 1;
