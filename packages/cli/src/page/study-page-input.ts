import { cautions, type StudyState } from '@strandwise/core';
import type { StudyPageInput } from '@strandwise/report';
import { answerOf } from './answer.ts';
import { cannotSayPart } from './cannot-say.ts';
import { findings } from './finding.ts';
import { jobFacts } from './job.ts';
import { modelParts } from './model-part.ts';
import { nextPart } from './next-part.ts';
import type { PagedStudy } from './paged-study.ts';
import { panelPart } from './panel-part.ts';
import { planPart } from './plan-part.ts';
import { provenanceFacts, rawTable } from './provenance-part.ts';
import { recipePart } from './recipe-part.ts';
import { runLogPart } from './run-log-part.ts';
import { shareFigure } from './share-figure.ts';
import { surfaceFigures } from './surface-figure.ts';
import { tradeOffPart } from './trade-off-part.ts';

/**
 * Everything the page of a study says, from the study alone: the same study gives the same page.
 *
 * @param script - the panel's program; without it the page has no panel
 */
export function studyPageInput(study: PagedStudy, script?: string): StudyPageInput {
  const { state, events } = study;
  const raw = rawTable(events);
  const panel = script === undefined ? null : panelPart(study);
  const overview = shareFigure(study);
  const { first, more } = surfaceFigures(study);
  const tradeOff = tradeOffPart(study);
  return {
    title: state.opened.name,
    answer: answerOf(study),
    ...(state.opened.invented
      ? {
          notice:
            'This is an example: the lab, the line, the grade and all data on this page are invented.',
        }
      : {}),
    job: jobFacts(state, events),
    recipe: recipePart(study),
    ...(overview ? { overview } : {}),
    findings: findings(study),
    surfaces: first,
    moreSurfaces: more,
    ...(tradeOff ? { tradeOff } : {}),
    runs: runLogPart(study),
    plan: planPart(study),
    models: modelParts(study),
    cannotSay: cannotSayPart(study),
    next: nextPart(study),
    provenance: provenanceFacts(study),
    ...(raw ? { provenanceTables: [raw] } : {}),
    cautions: cautionWords(state),
    ...(panel && script !== undefined ? { panel: { script, data: panel } } : {}),
  };
}

/** The usual cautions of the moments that a reader of the page goes to next. */
function cautionWords({ opened }: StudyState): string[] {
  const moments = ['before heating', 'heat-up', 'walking', 'shutdown'] as const;
  return [
    ...new Set(moments.flatMap((moment) => cautions(moment, opened.grade).map(({ says }) => says))),
  ];
}
