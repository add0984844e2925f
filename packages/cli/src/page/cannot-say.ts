import { inCells, type PagedStudy } from './paged-study.ts';
import { propertiesOf } from './plan-part.ts';
import { counted, listed } from './sentence.ts';

/** What neither plan nor runs can say, without saying anything twice. */
export function cannotSayPart(study: PagedStudy): string[] {
  return [
    ...new Set([
      ...failedWords(study),
      ...fitWords(study),
      ...strandWords(study),
      ...floorWords(study),
      ...planWords(study),
      ...scopeWords(study),
    ]),
  ];
}

/** The failed cells are told once, not once a response. */
function failedWords({ fits }: PagedStudy): string[] {
  const failed = fits.responses.find(({ cells }) => cells.failed.length > 0);
  if (!failed) return [];
  const n = Math.max(...fits.responses.map(({ cells }) => cells.failed.length));
  return [
    `${counted(n, 'cell')} gave no value. The fits rest on the others and do not know why ${n === 1 ? 'this one' : 'these'} failed.`,
  ];
}

/** What the fits cannot say; the same of several responses is said once. */
function fitWords({ responses, state }: PagedStudy): string[] {
  const told = new Map<string, string[]>();
  for (const { name, fit } of responses)
    for (const { kind, says } of fit.cannotSay) {
      if (kind === 'failed-cells') continue;
      const words = inCells(says.replaceAll(name, 'it'), state);
      told.set(words, [...(told.get(words) ?? []), name]);
    }
  return [...told].map(([says, names]) => `Of ${listed(names)}: ${says}`);
}

function strandWords({ predictor }: PagedStudy): string[] {
  const { result, says } = predictor.strand;
  return result === null ? [] : [`Where a strand forms: ${says}`];
}

/** Cells whose SD is not much more than what the gauge shows of a perfect strand. */
function floorWords({ state }: PagedStudy): string[] {
  const low = state.cells.filter(({ readings }) => {
    const floor = readings.measured?.floor;
    return floor === 'at-floor' || floor === 'near-floor';
  });
  if (low.length === 0) return [];
  const cells = listed(low.map(({ cell }) => String(cell)));
  return [
    `In ${low.length === 1 ? 'cell' : 'cells'} ${cells} the SD of diameter is near what the gauge shows of a perfect strand: how much steadier the strand really was cannot be told.`,
  ];
}

function planWords({ state }: PagedStudy): string[] {
  if (!state.plan) return [];
  return (propertiesOf(state, state.plan)?.cannotTell ?? []).map(
    ({ words }) => `The plan: ${words}`,
  );
}

/** What one study of one lot on one line never says. */
function scopeWords({ state }: PagedStudy): string[] {
  const { line, grade } = state.opened;
  const lots = state.opened.factors.some(({ name }) => /\blot\b/i.test(name));
  return lots
    ? [`Nothing about another line than ${line.name}.`]
    : [
        `Nothing about other lots of ${grade.name}, or another line than ${line.name}: one of each was run.`,
      ];
}
