import { dryingColumn, type Journal, type ResponsePriors } from '@strandwise/core';
import { useApp } from 'ink';
import { useMemo, useRef, useState } from 'react';
import { analyst } from '../../command/fit/study-analysis.ts';
import { inLetters } from '../../terminal/ascii.ts';
import type { Theme } from '../../theme.ts';
import { useKeyPresses } from '../key-press.ts';
import { LinesView } from '../lines-view.tsx';
import { useWindowSize } from '../window-size.ts';
import { analyseIntent } from './keys.ts';
import { analyseLines, bodyRoom, scrollRoom } from './lines.ts';
import { offeredTerms } from './offered-terms.ts';
import { type AnalyseDeed, type AnalyseFacts, openingAnalysis } from './screen.ts';
import { reduceAnalyse } from './state.ts';
import { useWorked, workWanted } from './worked.ts';

export interface AnalyseProps {
  readonly journal: Journal;
  readonly asked: number;
  readonly priors: ResponsePriors;
  readonly theme: Theme;
}

/** The analyst's screens: what matters, model, surface, residuals, window, next runs, trade. */
export function AnalyseView({ journal, asked, priors, theme }: AnalyseProps) {
  const app = useApp();
  const window = useWindowSize();
  const size = { ...window, rows: window.rows - 1 };
  const [screen, setScreen] = useState(openingAnalysis);
  const latest = useRef(screen);
  const [study, setStudy] = useState(journal.state());
  const knows = useMemo(() => analyst(journal.state(), { priors }), [journal, priors]);
  const analysis = useMemo(() => knows.analysis(study, screen.tried), [knows, study, screen.tried]);
  const kept = useMemo(() => knows.analysis(study, {}), [knows, study]);
  const isTried = Object.keys(screen.tried).length > 0;
  const worked = useWorked({ now: analysis, before: kept }, asked, workWanted(screen, isTried));
  const name = analysis.result.responses[screen.response]!.name;
  const known = {
    study,
    asked,
    models: analysis.models,
    kept: kept.models,
    result: analysis.result,
    before: kept.result,
    predictor: analysis.predictor,
    offered: offeredTerms(analysis, name, dryingColumn),
    best: knows.reduced[name] ?? null,
    ...worked.now,
    windowBefore: worked.before.window,
    page: bodyRoom(screen, size) - 2,
  };
  const facts: AnalyseFacts = {
    ...known,
    mostScroll: scrollRoom(screen, { ...known, mostScroll: 0 }, size, theme),
  };

  useKeyPresses(({ input, key }) => {
    const arrow = key.upArrow
      ? 'up'
      : key.downArrow
        ? 'down'
        : key.leftArrow
          ? 'left'
          : key.rightArrow
            ? 'right'
            : null;
    const before = latest.current;
    const intent = analyseIntent(before, {
      input,
      arrow,
      isReturn: key.return,
      isEscape: key.escape,
      isTab: key.tab,
      isShift: key.shift,
      isControl: key.ctrl,
    });
    if (intent === null) return;
    const step = reduceAnalyse(before, intent, facts);
    const failed = performed(step.deeds, journal, facts);
    if (step.deeds.length > 0) setStudy(journal.state());
    latest.current = failed === null ? step.screen : { ...before, notice: failed };
    setScreen(latest.current);
    if (step.screen.isLeaving) app.exit();
  });

  const lines = analyseLines(screen, facts, size, theme);
  return <LinesView lines={inLetters(lines, theme)} theme={theme} />;
}

/** Records what the reducer asked for; what fails is told and leaves the screen as it was. */
function performed(
  deeds: readonly AnalyseDeed[],
  journal: Journal,
  { window }: AnalyseFacts,
): string | null {
  try {
    for (const deed of deeds) {
      if (deed.kind === 'choose model')
        journal.record({ kind: 'model chosen', response: deed.response, model: deed.model });
      else if (window.kind === 'known' && window.value.kind === 'found')
        journal.record({
          kind: 'recipe proposed',
          setPoints: window.value.setPoints,
          natural: { ...window.value.natural },
          says: [`chance of conforming ${window.value.chance?.says ?? 'not known'}`],
        });
    }
    return null;
  } catch (error) {
    if ((error as Error).name === 'StaleStudyError') journal.refresh();
    return (error as Error).message;
  }
}
