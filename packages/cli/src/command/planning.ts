import type { Journal, PlanRequest, Response } from '@strandwise/core';

/** What is planned and where it can be recorded; without a journal, nowhere. */
export interface Planning {
  readonly request: PlanRequest;
  readonly responses: readonly Response[];
  readonly title: string;
  readonly journal: Journal | null;
}
