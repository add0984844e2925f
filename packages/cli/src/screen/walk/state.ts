import { refusals, replacementRun, type SetPoints } from '@strandwise/core';
import { reduceAsking } from './asking.ts';
import { reduceGate } from './gate-steps.ts';
import { holdEnded, holdState } from './hold.ts';
import { safeStop } from './safety.ts';
import {
  act,
  ask,
  recorded,
  setPointsNow,
  show,
  stay,
  type WalkFacts,
  type WalkIntent,
  type WalkMode,
  type WalkScreen,
  type WalkStep,
} from './screen.ts';
import { settingAt, settingCount } from './set-point.ts';

/** One intent. A wrong one changes nothing but the notice. */
export function reduceWalk(screen: WalkScreen, intent: WalkIntent, facts: WalkFacts): WalkStep {
  const { mode } = screen;
  if (facts.isWatching) return reduceWatching(screen, intent);
  switch (mode.kind) {
    case 'asking':
      return reduceAsking(screen, mode, intent, facts);
    case 'gate':
      return reduceGate(screen, mode, intent, facts);
    case 'failed how':
      if (intent.kind === 'direction')
        return ask(screen, { kind: 'why failed', direction: intent.direction });
      return intent.kind === 'back' ? act(screen, []) : stay(screen);
    case 'failed then':
      return reduceFailedThen(screen, mode, intent, facts);
    case 'skipping':
      return reduceSkipping(screen, intent, facts);
    case 'choosing':
      return reduceChoosing(screen, mode, intent, facts);
    case 'holds':
      return reduceHolds(screen, intent, facts);
    case 'stopping':
      return reduceStopping(screen, mode, intent, facts);
    case 'record':
    case 'keys':
      return intent.kind === 'leave' ? leaving(screen) : act(screen, []);
    case 'cell':
      return reduceCell(screen, intent, facts);
  }
}

const leaving = (screen: WalkScreen): WalkStep => ({
  screen: { ...screen, notice: null, isLeaving: true },
  deeds: [],
});

/** A second person may look at everything and touch nothing. */
function reduceWatching(screen: WalkScreen, intent: WalkIntent): WalkStep {
  switch (intent.kind) {
    case 'leave':
      return leaving(screen);
    case 'stop':
      return show(screen, { kind: 'stopping', at: 0 });
    case 'record':
      return show(screen, { kind: 'record' });
    case 'keys':
      return show(screen, { kind: 'keys' });
    case 'go on':
      // Looking through the steps changes nothing.
      if (screen.mode.kind === 'stopping')
        return show(screen, { kind: 'stopping', at: screen.mode.at + 1 });
      return act(screen, []);
    case 'back':
      return act(screen, []);
    default:
      return screen.mode.kind === 'cell'
        ? stay(screen, 'You are only watching. q leaves.')
        : act(screen, []);
  }
}

function reduceCell(screen: WalkScreen, intent: WalkIntent, facts: WalkFacts): WalkStep {
  const cell = facts.briefing?.cell;
  switch (intent.kind) {
    case 'go on':
      return goOn(screen, facts);
    case 'early':
      if (cell?.status === 'holding') return ask(screen, { kind: 'why early' });
      if (cell?.status === 'measuring' && isMeasuringLive(facts) && !isWindowFull(facts))
        return ask(screen, { kind: 'why cut short' });
      return stay(screen, 'There is nothing to cut short.');
    case 'fail':
      return cell ? show(screen, { kind: 'failed how' }) : stay(screen, 'No cell is waiting.');
    case 'skip':
      return cell?.status === 'waiting'
        ? show(screen, { kind: 'skipping' })
        : stay(screen, 'Only a cell that is not started can be skipped. Undo, or mark it failed.');
    case 'change set point':
      return cell && (cell.status === 'waiting' || cell.status === 'holding')
        ? show(screen, { kind: 'choosing', what: 'set point' })
        : stay(screen, 'Set points are entered before and during the hold.');
    case 'enter value':
      return cell?.status === 'measuring'
        ? show(screen, { kind: 'choosing', what: 'value' })
        : stay(screen, 'Values are entered while measuring.');
    case 'note':
      return ask(screen, { kind: 'note' });
    case 'attach':
      return cell?.status === 'measuring'
        ? ask(screen, { kind: 'log file' })
        : stay(screen, 'A log is attached while measuring.');
    case 'tally':
      return tallied(screen, intent.by, facts);
    case 'recount':
      return recount(screen, facts);
    case 'undo':
      return facts.study.undoable.length > 0
        ? act({ ...screen, edits: null }, [{ kind: 'undo' }])
        : stay(screen, 'There is nothing to undo.');
    case 'redo':
      return act(screen, [{ kind: 'redo' }]);
    case 'reopen':
      return reopened(screen, facts);
    case 'hand over':
      return ask(screen, { kind: 'who takes over' });
    case 'holds':
      return facts.offer
        ? show(screen, { kind: 'holds' })
        : stay(screen, 'Nothing is learned of the holds yet; it takes a few changes with a gauge.');
    case 'record':
      return show(screen, { kind: 'record' });
    case 'stop':
      return show(screen, { kind: 'stopping', at: 0 });
    case 'keys':
      return show(screen, { kind: 'keys' });
    case 'leave':
      return leaving(screen);
    default:
      return stay(screen, screen.notice);
  }
}

function goOn(screen: WalkScreen, facts: WalkFacts): WalkStep {
  const { briefing } = facts;
  if (!briefing) return stay(screen, 'The walk is over. s shows what the barrel needs.');
  const { cell } = briefing;
  if (cell.status === 'waiting') return settingsIn(screen, facts);
  if (cell.status === 'holding') {
    if (screen.edits?.cell === cell.cell) return settingsIn(screen, facts);
    return holdOver(screen, facts);
  }
  return measured(screen, facts);
}

function settingsIn(screen: WalkScreen, facts: WalkFacts): WalkStep {
  const { study, briefing } = facts;
  const { cell } = briefing!;
  const setPoints = setPointsNow(screen, facts)!;
  const { line, grade, product } = study.opened;
  const refused = refusals(setPoints, line, grade, product)[0];
  if (refused)
    return stay(screen, `${refused.says} It is not run. p leaves it out; e changes a set point.`);
  return act({ ...screen, edits: null }, [
    recorded({
      kind: 'settings entered',
      cell: cell.cell,
      setPoints,
      holdSeconds: Math.round(briefing!.hold.seconds),
    }),
  ]);
}

/** A hold longer than this past its end asks why: the strand had time to change its mind. */
const longerSeconds = 300;

function holdOver(screen: WalkScreen, facts: WalkFacts): WalkStep {
  const { cell } = facts.briefing!;
  const hold = holdState(facts);
  if (!hold.isOver) return stay(screen, 'The hold is not over. m measures early, if you say why.');
  if (hold.held > hold.wanted + longerSeconds)
    return ask(screen, { kind: 'why longer' }, 'busy elsewhere');
  return act(screen, [holdEnded(cell.cell, 'full', facts)]);
}

const isMeasuringLive = ({ live, briefing }: WalkFacts): boolean =>
  live?.window != null && briefing?.cell.readings.log === null;

const isWindowFull = ({ live }: WalkFacts): boolean =>
  live?.window != null && live.window.seconds >= live.window.neededSeconds;

/** One enter after another: the log, the bubbles, then the cell is done. */
function measured(screen: WalkScreen, facts: WalkFacts): WalkStep {
  const { cell } = facts.briefing!;
  const { readings } = cell;
  if (isMeasuringLive(facts)) {
    if (isWindowFull(facts)) return { screen, deeds: [{ kind: 'keep live log', cell: cell.cell }] };
    if (facts.live!.trouble === null)
      return stay(screen, 'The window is not full yet. m cuts it short, if you say why.');
  }
  if (screen.tally > 0 || (readings.bubbles === null && readings.log !== null)) {
    return ask(screen, { kind: 'metres', count: screen.tally }, suggestedMetres(facts));
  }
  const isEmpty =
    readings.log === null && readings.bubbles === null && Object.keys(readings.values).length === 0;
  if (isEmpty)
    return stay(
      screen,
      'Nothing is measured yet: l attaches a log, v enters a value, space counts bubbles, x marks the cell failed.',
    );
  return act(screen, [recorded({ kind: 'cell finished', cell: cell.cell })]);
}

const suggestedMetres = ({ briefing, metresSuggested }: WalkFacts): string => {
  const metres = briefing?.cell.readings.measured?.strandMetres ?? metresSuggested;
  return metres === null || metres === undefined ? '' : metres.toFixed(1);
};

function tallied(screen: WalkScreen, by: 1 | -1, facts: WalkFacts): WalkStep {
  if (facts.briefing?.cell.status !== 'measuring') {
    return stay(screen, 'Bubbles are counted while measuring.');
  }
  return { screen: { ...screen, notice: null, tally: Math.max(0, screen.tally + by) }, deeds: [] };
}

function recount(screen: WalkScreen, { study, briefing }: WalkFacts): WalkStep {
  const now = briefing?.cell.readings.bubbles ? briefing.cell : undefined;
  const cell = now ?? lastDone(study.cells.filter(({ readings }) => readings.bubbles !== null));
  return cell
    ? ask(screen, { kind: 'recounted by', cell: cell.cell })
    : stay(screen, 'There is no first count to compare with yet.');
}

type Cells = WalkFacts['study']['cells'];
const lastDone = (cells: Cells): Cells[number] | undefined =>
  [...cells]
    .filter(({ finishedAt }) => finishedAt !== null)
    .sort((a, b) => (a.finishedAt! < b.finishedAt! ? 1 : -1))[0];

function reopened(screen: WalkScreen, { study }: WalkFacts): WalkStep {
  const last = lastDone(study.cells);
  if (!last) return stay(screen, 'No cell is done yet.');
  return act(
    screen,
    [recorded({ kind: 'cell reopened', cell: last.cell })],
    `Cell ${last.cell} is to be done again. u takes that back.`,
  );
}

function reduceFailedThen(
  screen: WalkScreen,
  { direction, why, evidence }: Extract<WalkMode, { kind: 'failed then' }>,
  intent: WalkIntent,
  { briefing, study, nearer }: WalkFacts,
): WalkStep {
  if (intent.kind === 'back') return act(screen, []);
  if (intent.kind !== 'then' || !briefing) return stay(screen);
  const { cell } = briefing.cell;
  const isNearer = intent.next === 'nearer';
  const run = isNearer ? (nearer ?? replacementRun(study, cell)) : null;
  if (isNearer && !run) return stay(screen, 'There is no nearer cell inside the limits.');
  const failed = recorded(
    {
      kind: 'cell failed',
      cell,
      direction,
      next: intent.next === 'nearer' ? 'leave out' : intent.next,
      ...(evidence === '' ? {} : { evidence }),
    },
    why,
  );
  const says = `in place of cell ${cell}, which failed ${direction}: 40 % nearer to the centre`;
  return act({ ...screen, tally: 0, edits: null }, [
    failed,
    ...(run ? [recorded({ kind: 'plan extended', purpose: 'replace', runs: [run], says })] : []),
  ]);
}

function reduceSkipping(screen: WalkScreen, intent: WalkIntent, { briefing }: WalkFacts): WalkStep {
  if (intent.kind === 'back' || !briefing) return act(screen, []);
  if (intent.kind !== 'then') return stay(screen);
  const { cell } = briefing.cell;
  if (intent.next === 'later')
    return act(
      { ...screen, edits: null },
      [recorded({ kind: 'cell postponed', cell })],
      `Cell ${cell} comes last now. u takes that back.`,
    );
  return intent.next === 'leave out' ? ask(screen, { kind: 'why left out' }) : stay(screen);
}

function reduceChoosing(
  screen: WalkScreen,
  { what }: Extract<WalkMode, { kind: 'choosing' }>,
  intent: WalkIntent,
  facts: WalkFacts,
): WalkStep {
  if (intent.kind === 'back') return act(screen, []);
  if (intent.kind !== 'choose') return stay(screen);
  if (what === 'value') {
    const response = facts.study.opened.responses[intent.at];
    return response ? ask(screen, { kind: 'value', response: response.name }) : stay(screen);
  }
  const setPoints: SetPoints | null = setPointsNow(screen, facts);
  if (!setPoints || intent.at >= settingCount(setPoints)) return stay(screen);
  return ask(
    screen,
    { kind: 'set point', at: intent.at },
    String(settingAt(setPoints, intent.at).value),
  );
}

function reduceHolds(screen: WalkScreen, intent: WalkIntent, { offer }: WalkFacts): WalkStep {
  if (intent.kind === 'yes' && offer)
    return act(screen, [recorded(offer.what)], 'Holds from here on are the learned ones.');
  return intent.kind === 'back' || intent.kind === 'no' ? act(screen, []) : stay(screen);
}

function reduceStopping(
  screen: WalkScreen,
  { at }: Extract<WalkMode, { kind: 'stopping' }>,
  intent: WalkIntent,
  { study }: WalkFacts,
): WalkStep {
  if (intent.kind === 'leave') return leaving(screen);
  if (intent.kind === 'back' || intent.kind === 'no')
    return at > 0 ? show(screen, { kind: 'stopping', at: at - 1 }) : act(screen, []);
  if (intent.kind !== 'go on') return stay(screen);
  const { steps, leaves } = safeStop(study);
  return at + 1 < steps.length
    ? show(screen, { kind: 'stopping', at: at + 1 })
    : ask(screen, { kind: 'barrel leaves with', leaves }, leaves);
}
