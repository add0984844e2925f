import { DomainError } from '../../error/domain-error.ts';
import type { Design } from '../design.ts';

/**
 * The design run several times over. Repeats are fresh set-ups, not second readings of one strand.
 *
 * @param times - how often in all, at least 1
 * @param where - `same blocks`, or `new blocks` when each repeat is a day of its own
 * @throws {DomainError} `bad_replicates` when times is not a whole number of at least 1
 */
export function replicated(
  design: Design,
  times: number,
  where: 'same blocks' | 'new blocks' = 'same blocks',
): Design {
  if (!Number.isInteger(times) || times < 1) {
    throw new DomainError(
      'bad_replicates',
      `replicated: times must be a whole number of at least 1; got ${times}. Use 2 to run everything twice.`,
      { times },
    );
  }
  if (times === 1) return design;
  const { runs } = design;
  const blocks = Math.max(0, ...runs.map(({ block }) => block));
  const plots = Math.max(0, ...runs.map(({ wholePlot }) => wholePlot ?? 0));
  const subPlots = Math.max(0, ...runs.map(({ subWholePlot }) => subWholePlot ?? 0));
  const repeats = Array.from({ length: times }, (_, repeat) =>
    runs.map((run) => ({
      ...run,
      block: where === 'new blocks' ? run.block + repeat * blocks : run.block,
      wholePlot: run.wholePlot === null ? null : run.wholePlot + repeat * plots,
      subWholePlot: run.subWholePlot === null ? null : run.subWholePlot + repeat * subPlots,
    })),
  );
  return {
    ...design,
    runs: repeats.flat(),
    notes: [
      ...design.notes,
      `Replicates: before ${runs.length} runs, after ${runs.length * times} (each run ${times} times${where === 'new blocks' ? ', every repeat in its own block' : ''}). Repeats give pure error.`,
    ],
  };
}
