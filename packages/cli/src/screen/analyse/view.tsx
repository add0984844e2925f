import {
  type CellInfluence,
  cellInfluences,
  dryingColumn,
  type Journal,
  type NextStep,
  nextSteps,
  type Recommendation,
  type ResponsePriors,
  recommendation,
} from '@strandwise/core';
import { useApp } from 'ink';
import { useEffect, useMemo, useRef, useState } from 'react';
import { type Analysis, analyst } from '../../command/fit/study-analysis.ts';
import { inLetters } from '../../terminal/ascii.ts';
import type { Theme } from '../../theme.ts';
import { useKeyPresses } from '../key-press.ts';
import { LinesView } from '../lines-view.tsx';
import { useWindowSize } from '../window-size.ts';
import { analyseIntent } from './keys.ts';
import { analyseLines, scrollRoom } from './lines.ts';
import { offeredTerms } from './offered-terms.ts';
import { type AnalyseDeed, type AnalyseFacts, openingAnalysis, type Worked } from './screen.ts';
import { reduceAnalyse } from './state.ts';

export interface AnalyseProps {
  readonly journal: Journal;
  readonly asked: number;
  readonly priors: ResponsePriors;
  readonly theme: Theme;
}

/** The analyst's screens: what matters, model, surface, residuals, window, next runs. */
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
  const worked = useWorked(analysis, asked, screen.at !== 'matters' && screen.at !== 'model');
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
    ...worked,
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

interface WorkedOut {
  readonly window: Worked<Recommendation>;
  readonly influences: Worked<readonly CellInfluence[]>;
  readonly next: Worked<readonly NextStep[]>;
}

const working = { kind: 'working' } as const;

/** What takes longer than a key press is worked out piece by piece after the screen is drawn. */
function useWorked(analysis: Analysis, asked: number, isWanted: boolean): WorkedOut {
  const done = useRef<{ of: Analysis; out: WorkedOut } | null>(null);
  const [, redraw] = useState(0);
  useEffect(() => {
    if (!isWanted && done.current?.of !== analysis) return;
    if (done.current?.of !== analysis)
      done.current = { of: analysis, out: { window: working, influences: working, next: working } };
    const timer = setTimeout(() => {
      const current = done.current;
      if (current?.of !== analysis) return;
      const further = nextPiece(current.out, analysis, asked);
      if (further === current.out) return;
      done.current = { of: analysis, out: further };
      redraw((count) => count + 1);
    }, 20);
    return () => clearTimeout(timer);
  });
  const current = done.current;
  return current?.of === analysis
    ? current.out
    : { window: working, influences: working, next: working };
}

function nextPiece(out: WorkedOut, { predictor }: Analysis, asked: number): WorkedOut {
  const known = <T,>(value: T): Worked<T> => ({ kind: 'known', value });
  if (out.window.kind === 'working')
    return { ...out, window: known(recommendation(predictor, asked)) };
  const found = out.window.value;
  const recipe = found.kind === 'found' || found.kind === 'nowhere acceptable' ? found : null;
  if (out.influences.kind === 'working')
    return { ...out, influences: known(recipe ? cellInfluences(predictor, recipe) : []) };
  if (out.next.kind === 'working')
    return { ...out, next: known(recipe ? nextSteps(predictor, recipe, { asked }) : []) };
  return out;
}
