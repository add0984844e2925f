import { type CellState, type Recipe, studyResponses } from '@strandwise/core';
import { significantFigures, withUnit } from '@strandwise/report';
import type { PagedStudy } from './paged-study.ts';
import { counted, listed } from './sentence.ts';

/** Confirmation cells that ran at exactly the recipe's set points. */
function confirmedCells({ state }: PagedStudy, { setPoints }: Recipe): CellState[] {
  return state.cells.filter(
    ({ purpose, status, entered }) =>
      purpose === 'confirm' &&
      status === 'done' &&
      entered !== null &&
      JSON.stringify(entered) === JSON.stringify(setPoints),
  );
}

/** How fresh set-ups at the recipe fell against what was predicted of one. */
export function confirmationWords(study: PagedStudy, recipe: Recipe): string {
  const cells = confirmedCells(study, recipe);
  if (cells.length === 0)
    return 'Not yet confirmed: no fresh set-up has been run at these set points.';
  const parts = studyResponses(study.state).flatMap(({ response, value, exposure }) => {
    const next = recipe.predictions.find(({ name }) => name === response.name)?.next;
    if (!next || next.low === null || next.high === null) return [];
    const { low, high } = next;
    const values = cells.flatMap((cell) => {
      const read = value(cell);
      if (read === null) return [];
      return [response.kind === 'count' ? read / (exposure?.(cell) ?? 1) : read];
    });
    if (values.length === 0) return [];
    const outside = values.filter((read) => read < low || read > high).length;
    const unit = response.kind === 'count' ? 'per m' : response.unit;
    const list = withUnit(listed(values.map((read) => significantFigures(read, 3))), unit);
    return [
      `${response.name} ${list} (${outside === 0 ? 'inside' : `${outside} outside`} what was predicted of a new set-up)`,
    ];
  });
  return `Run afresh ${counted(cells.length, 'time')} at these set points: ${parts.join('; ')}.`;
}
