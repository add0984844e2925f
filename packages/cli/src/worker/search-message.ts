import type { OptimalProblem, StartResult } from '@strandwise/core';

/** What a search worker is started with. */
export interface SearchWork {
  readonly problem: OptimalProblem;
}

/** A start to make, by its index. */
export interface StartWanted {
  readonly startIndex: number;
}

/** What comes back for it. */
export type StartDone =
  | { readonly kind: 'done'; readonly result: StartResult }
  | { readonly kind: 'failed'; readonly message: string };
