import { briefing, type Clock, type Journal } from '@strandwise/core';
import { useApp, useInput } from 'ink';
import { useEffect, useMemo, useState } from 'react';
import type { Theme } from '../../theme.ts';
import { LinesView } from '../lines-view.tsx';
import { useWindowSize } from '../window-size.ts';
import { walkIntent } from './keys.ts';
import { walkLines } from './lines.ts';
import { heldSeconds, openingScreen, reduceWalk, type WalkDeed, type WalkFacts } from './state.ts';

export interface WalkProps {
  readonly journal: Journal;
  readonly clock: Clock;
  readonly theme: Theme;
  /** Reads a log file into the study for a cell; returns what to tell the operator. */
  readonly attachLog: (path: string, cell: number) => string;
}

/** The operator's screen: one thing to do now. */
export function WalkView({ journal, clock, theme, attachLog }: WalkProps) {
  const app = useApp();
  const size = useWindowSize();
  const [screen, setScreen] = useState(openingScreen);
  const [study, setStudy] = useState(journal.state());
  const [nowMs, setNow] = useState(clock.now());
  useEffect(() => {
    const timer = setInterval(() => setNow(clock.now()), 250);
    return () => clearInterval(timer);
  }, [clock]);
  const brief = useMemo(() => briefing(study), [study]);
  const facts: WalkFacts = { study, briefing: brief, nowMs, metresSuggested: null };
  useHoldBell(facts);

  useInput((input, key) => {
    const pressed = {
      input,
      isReturn: key.return,
      isEscape: key.escape,
      isBackspace: key.backspace || key.delete,
      isControl: key.ctrl,
    };
    const intent = walkIntent(screen, pressed);
    if (intent === null) return;
    const step = reduceWalk(screen, intent, { ...facts, nowMs: clock.now() });
    const told = performed(step.deeds, journal, attachLog);
    setStudy(journal.state());
    setNow(clock.now());
    setScreen(
      told.notice === null
        ? step.screen
        : { ...(told.isDone ? step.screen : screen), notice: told.notice },
    );
    if (step.screen.isLeaving) app.exit();
  });

  return (
    <LinesView
      lines={walkLines(screen, facts, { ...size, rows: size.rows - 1 }, theme)}
      theme={theme}
    />
  );
}

/** Does what the reducer asked; what fails is told and leaves the screen as it was. */
function performed(
  deeds: readonly WalkDeed[],
  journal: Journal,
  attachLog: WalkProps['attachLog'],
): { isDone: boolean; notice: string | null } {
  try {
    let notice: string | null = null;
    for (const deed of deeds) {
      if (deed.kind === 'undo') journal.undo();
      else if (deed.kind === 'record') journal.record(deed.what, deed.why);
      else notice = attachLog(deed.path, deed.cell);
    }
    return { isDone: true, notice };
  } catch (error) {
    const wasStale = (error as Error).name === 'StaleStudyError';
    if (wasStale) journal.refresh();
    return { isDone: false, notice: (error as Error).message };
  }
}

/** Rings once when a hold ends. */
function useHoldBell({ briefing: brief, nowMs }: WalkFacts): void {
  const isOver =
    brief?.cell.status === 'holding' &&
    heldSeconds({ briefing: brief, nowMs }) >= (brief.cell.holdSeconds ?? 0);
  useEffect(() => {
    if (isOver) process.stdout.write('\u0007');
  }, [isOver]);
}
