import type { Briefing } from '@strandwise/core';
import { roughly } from '../../terminal/duration.ts';
import { type Line, line, type Span, span, wrapped } from '../../terminal/line.ts';
import { type Block, block } from './fitted.ts';
import { holdState } from './hold.ts';
import { gaugeLines, holdLine, lightLines } from './hold-lines.ts';
import { isNarrow, type Look } from './look.ts';
import { measuringBlocks } from './measure-lines.ts';
import { cautionsFor } from './safety.ts';
import type { WalkFacts, WalkScreen } from './screen.ts';
import { isChanged, nextLines, orderLines, settingLines } from './setting-lines.ts';

/** The cell in hand: what to set, how the hold stands, what is measured. */
export function cellBlocks(screen: WalkScreen, facts: WalkFacts, look: Look): Block[] {
  const { briefing } = facts;
  if (!briefing) return doneBlocks(facts, look);
  switch (briefing.cell.status) {
    case 'waiting':
      return waitingBlocks(facts, briefing, look);
    case 'holding':
      return holdingBlocks(facts, briefing, look);
    default:
      return measuringBlocks(screen, facts, briefing, look);
  }
}

function waitingBlocks(facts: WalkFacts, briefing: Briefing, look: Look): Block[] {
  const { hold, refusals, cell } = briefing;
  const failed = cell.failures.at(-1);
  const again = failed
    ? [line(`   again: it failed ${failed.direction} before`, 'warning')]
    : cell.purpose === 'plan'
      ? []
      : [line(`   ${purposeWords[cell.purpose]}`, 'quiet')];
  const then =
    refusals.length > 0
      ? refusals.flatMap(({ says }) =>
          wrapped(says, look.columns - 5, 3).map((text) => line(text, 'danger')),
        )
      : [line('   enter   when the settings are in', 'strong')];
  const howLong =
    refusals.length > 0
      ? []
      : [
          line(
            `   then    hold ${roughly(hold.seconds)}${isNarrow(look) ? '' : `, slowest: ${hold.binding}`}`,
          ),
        ];
  return [
    block(0, ...settingLines(briefing, 'SET NOW', look)),
    ...again.map((text) => block(2, text)),
    block(3, line()),
    block(4, ...orderLines(facts, briefing, look)),
    block(1, ...howLong),
    block(0, ...then),
    ...(facts.offer ? [block(2, line(`   h       ${facts.offer.title}`, 'good'))] : []),
    block(6, line()),
    block(5, ...nextLines(briefing, look)),
    block(7, line(), ...cautionLine(facts, look)),
  ];
}

const purposeWords = {
  plan: '',
  augment: 'added to the plan',
  confirm: 'confirms the recipe: a longer flush',
  replace: 'stands in for a cell that failed',
} as const;

function holdingBlocks(facts: WalkFacts, briefing: Briefing, look: Look): Block[] {
  const hold = holdState(facts);
  const settings = settingLines(briefing, 'SET', look);
  return [
    block(0, settings[0]!),
    ...settings.slice(1).map((text, i) => block(isChanged(briefing.settings[i]) ? 3 : 8, text)),
    block(6, line()),
    block(0, holdLine(hold, briefing, look)),
    block(1, ...lightLines(hold, briefing, look)),
    block(7, line()),
    block(2, ...gaugeLines(facts.live, look)),
    block(5, ...nextLines(briefing, look)),
    block(9, line(), ...cautionLine(facts, look)),
  ];
}

/** One caution that belongs to this moment; they take turns from cell to cell. */
function cautionLine({ study, briefing }: WalkFacts, look: Look): Line[] {
  const isFirst = study.cells.every(({ enteredAt }) => enteredAt === null);
  const all = cautionsFor(study, isFirst ? 'heat-up' : 'walking').slice(1);
  const text = all[(briefing?.cell.cell ?? 0) % all.length];
  return text === undefined
    ? []
    : wrapped(text, look.columns - 4, 3).map((says): Line => [span(says, 'quiet')]);
}

function doneBlocks({ study }: WalkFacts, look: Look): Block[] {
  const count = (status: string): number =>
    study.cells.filter((cell) => cell.status === status).length;
  const left = count('left out');
  const words: Span = span(
    `     ${count('done')} cells measured, ${count('failed')} failed${left > 0 ? `, ${left} left out` : ''}`,
  );
  const advice = study.isShutDown
    ? [line(`     shut down; the barrel holds ${study.barrelHolds}`, 'good')]
    : wrapped(
        'Before leaving the machine press s: what the barrel needs before it cools.',
        look.columns - 6,
        5,
      ).map((text) => line(text, 'warning'));
  return [
    block(
      0,
      line(),
      line('   THE WALK IS DONE', 'good'),
      line(),
      [words],
      line('     next: strandwise fit'),
      line(),
      ...advice,
    ),
  ];
}
