import {
  type Clock,
  holdFor,
  type Journal,
  type ScoutAdvice,
  type StudyState,
  scoutAdvice,
} from '@strandwise/core';
import { useApp, useInput } from 'ink';
import { useEffect, useMemo, useState } from 'react';
import { adoptRanges, isAdopted, scoutOf } from '../../scouting/study-scout.ts';
import type { Theme } from '../../theme.ts';
import { LinesView } from '../lines-view.tsx';
import { useWindowSize } from '../window-size.ts';
import { scoutLines } from './lines.ts';
import { openingScout, reduceScout, type ScoutFacts, scoutIntent } from './state.ts';

export interface ScoutProps {
  readonly journal: Journal;
  readonly clock: Clock;
  readonly theme: Theme;
}

/** The scouting screen: one setting, one look, next. */
export function ScoutView({ journal, clock, theme }: ScoutProps) {
  const app = useApp();
  const size = useWindowSize();
  const [study, setStudy] = useState(journal.state());
  const [nowMs, setNow] = useState(clock.now());
  const [screen, setScreen] = useState(() => openingScout(study.scouting.length, clock.now()));
  useEffect(() => {
    const timer = setInterval(() => setNow(clock.now()), 500);
    return () => clearInterval(timer);
  }, [clock]);
  const advice = useMemo(() => scoutAdvice(scoutOf(study)), [study]);
  const facts = scoutFacts(study, advice, nowMs);

  useInput((input, key) => {
    const intent = scoutIntent({
      input,
      isReturn: key.return,
      isEscape: key.escape,
      isControl: key.ctrl,
    });
    if (intent === null) return;
    const { screen: next, deed } = reduceScout(screen, intent, { ...facts, nowMs: clock.now() });
    try {
      if (deed?.kind === 'undo') journal.undo();
      if (deed?.kind === 'record') journal.record(deed.what, deed.why);
      if (deed?.kind === 'adopt' && advice.kind === 'done') adoptRanges(journal, advice.proposal);
      setScreen(next);
    } catch (error) {
      setScreen({ ...screen, notice: (error as Error).message });
    }
    setStudy(journal.state());
    setNow(clock.now());
    if (next.isLeaving) app.exit();
  });

  return (
    <LinesView
      lines={scoutLines(screen, facts, { study, size: { ...size, rows: size.rows - 1 }, theme })}
      theme={theme}
    />
  );
}

/** What the screen knows of a study at a moment. */
export function scoutFacts(study: StudyState, advice: ScoutAdvice, nowMs: number): ScoutFacts {
  const before = study.scouting.at(-1)?.setPoints;
  const { line, grade, product } = study.opened;
  const hold =
    advice.kind === 'step'
      ? holdFor({
          from: before ?? { kind: 'cold', roomCelsius: 23, soakMinutes: 20 },
          to: advice.setPoints,
          line,
          grade,
          diameterMm: product.diameterMm,
        }).seconds
      : 0;
  return {
    advice,
    stepsTaken: study.scouting.length,
    isAdopted: isAdopted(study, advice),
    holdSeconds: hold,
    nowMs,
  };
}
