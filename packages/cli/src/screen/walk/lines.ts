import type { Briefing } from '@strandwise/core';
import { clockTime } from '../../terminal/duration.ts';
import {
  cutLine,
  ends,
  type Line,
  line,
  plainLetters,
  span,
  wrapped,
} from '../../terminal/line.ts';
import type { Theme } from '../../theme.ts';
import { cellBlocks } from './cell-lines.ts';
import { type Block, fitted } from './fitted.ts';
import { gates } from './gate.ts';
import { heldSeconds, holdState } from './hold.ts';
import type { Look } from './look.ts';
import {
  askingBlocks,
  choosingBlocks,
  failedHowBlocks,
  failedThenBlocks,
  gateBlocks,
  holdsBlocks,
  keyBlocks,
  recordBlocks,
  skippingBlocks,
  stoppingBlocks,
} from './question-lines.ts';
import type { WalkFacts, WalkScreen } from './screen.ts';

export interface Size {
  readonly columns: number;
  readonly rows: number;
}

/** The operator's screen as lines, exactly as many as fit. */
export function walkLines(screen: WalkScreen, facts: WalkFacts, size: Size, theme: Theme): Line[] {
  const { columns } = size;
  const rule = line(theme.glyphs.rule.repeat(columns), 'quiet');
  const head = headLine(facts, columns, theme);
  const foot = footLines(screen, facts, columns);
  const notice =
    screen.notice === null
      ? []
      : wrapped(screen.notice, columns - 2, 1)
          .slice(0, 4)
          .map((text) => line(text, 'warning'));
  const room = Math.max(1, size.rows - 3 - foot.length - notice.length);
  const body = fitted(bodyBlocks(screen, facts, { columns, theme }, room), room);
  const lines = [head, rule, ...body, ...notice, rule, ...foot];
  const letters = theme.isUnicode ? lines : lines.map(plainLetters);
  return letters.map((spans) => cutLine(spans, columns, theme));
}

function headLine(facts: WalkFacts, columns: number, theme: Theme): Line {
  const { study, briefing, nowMs, isWatching } = facts;
  const grade = study.opened.grade.name;
  const verb = isWatching ? 'watching' : 'walk';
  if (!briefing) return ends([span(` ${verb} · ${grade}`, 'strong')], [], columns, theme);
  const finish = clockTime(nowMs + 1000 * secondsLeft(briefing, facts));
  const cell = `cell ${briefing.place} of ${briefing.of}`;
  const plot = briefing.cell.run.wholePlot;
  const plots = new Set(study.cells.map(({ run }) => run.wholePlot)).size;
  const zone = plot === null ? '' : ` · zone setting ${plot} of ${plots}`;
  const long = `finish about ${finish}`;
  // The fullest of these that fits.
  const ways: readonly (readonly [string, string])[] = [
    [`${verb} · ${grade} · ${cell}${zone}`, long],
    [`${verb} · ${grade} · ${cell}`, long],
    [`${verb} · ${cell}`, long],
  ];
  const fits = ways.find(([left, right]) => left.length + right.length + 5 <= columns);
  const [left, right] = fits ?? [cell, finish];
  return ends([span(` ${left}`, 'strong')], [span(`${right} `, 'quiet')], columns, theme);
}

function secondsLeft(briefing: Briefing, facts: WalkFacts): number {
  const { cell, hold } = briefing;
  const spent =
    cell.status === 'measuring'
      ? hold.seconds + (facts.live?.window?.seconds ?? 0)
      : Math.min(hold.seconds, heldSeconds(facts));
  return Math.max(0, briefing.secondsLeft - spent);
}

function bodyBlocks(screen: WalkScreen, facts: WalkFacts, look: Look, room: number): Block[] {
  const { mode } = screen;
  switch (mode.kind) {
    case 'gate':
      return gateBlocks(mode, facts, look);
    case 'asking':
      return askingBlocks(mode, facts, look);
    case 'failed how':
      return failedHowBlocks(facts, look);
    case 'failed then':
      return failedThenBlocks(mode, facts, look);
    case 'skipping':
      return skippingBlocks(facts, look);
    case 'choosing':
      return choosingBlocks(screen, mode, facts);
    case 'stopping':
      return stoppingBlocks(mode, facts, look);
    case 'holds':
      return holdsBlocks(facts, look);
    case 'record':
      return recordBlocks(facts, look, room);
    case 'keys':
      return keyBlocks(look);
    case 'cell':
      return cellBlocks(screen, facts, look);
  }
}

function footLines(screen: WalkScreen, facts: WalkFacts, columns: number): Line[] {
  const { mode } = screen;
  if (facts.isWatching) return [line(' only watching    i noted    s stop steps    q leave')];
  switch (mode.kind) {
    case 'asking':
      return [line(' enter done    esc back')];
    case 'gate': {
      const gate = gates(facts.study, mode.answers)[mode.at];
      return [line(gate?.kind === 'tell' ? ' enter done    esc back' : ' esc back    q leave')];
    }
    case 'failed how':
    case 'failed then':
    case 'skipping':
    case 'choosing':
      return [line(' esc back')];
    case 'holds':
      return [line(' y yes    n no    esc back')];
    case 'stopping':
      return [line(' enter done    esc back    q leave')];
    case 'record':
    case 'keys':
      return [line(' any key back    q leave')];
    case 'cell':
      return cellFoot(facts, columns);
  }
}

function cellFoot(facts: WalkFacts, columns: number): Line[] {
  const status = facts.briefing?.cell.status;
  if (columns < 60)
    return [line(' enter go on  x failed  u undo'), line(' s stop   ? keys   q leave')];
  switch (status) {
    case 'waiting':
      return [
        line(' enter settings are in    e keyed in differently    p skip    x failed'),
        line(' s stop safely    n note    u undo    w hand over    q leave    ? all keys'),
      ];
    case 'holding': {
      const enter = holdState(facts).isOver ? 'enter measure' : 'm measure early';
      return [
        line(` ${enter}    x cell failed    e keyed in differently    n note    u undo`),
        line(' s stop safely    w hand over    i noted    q leave    ? all keys'),
      ];
    }
    case 'measuring':
      return [
        line(' enter go on    space bubble    x cell failed    l log    v value    n note'),
        line(' s stop safely    u undo    b second count    q leave    ? all keys'),
      ];
    default:
      return [
        line(' s stop safely    b second count    r again    u undo    q leave    ? all keys'),
      ];
  }
}
