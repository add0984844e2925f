import { useApp } from 'ink';
import { useRef, useState } from 'react';
import type { Theme } from '../../theme.ts';
import type { FoundStudy } from '../../workbench/found-studies.ts';
import { fullScreen } from '../full-screen.ts';
import { useKeyPresses } from '../key-press.ts';
import { LinesView } from '../lines-view.tsx';
import { useWindowSize } from '../window-size.ts';
import { workbenchLines } from './lines.ts';
import {
  openingWorkbench,
  reduceWorkbench,
  type Workbench,
  type WorkbenchOutcome,
  workbenchIntent,
} from './state.ts';

/** Shows the workbench until something is chosen. */
export async function chosenOnWorkbench(
  studies: readonly FoundStudy[],
  theme: Theme,
): Promise<WorkbenchOutcome> {
  let outcome: WorkbenchOutcome = { kind: 'leave' };
  await fullScreen(
    <WorkbenchView
      studies={studies}
      theme={theme}
      onChosen={(found) => {
        outcome = found;
      }}
    />,
  );
  return outcome;
}

interface WorkbenchProps {
  readonly studies: readonly FoundStudy[];
  readonly theme: Theme;
  readonly onChosen: (outcome: WorkbenchOutcome) => void;
}

export function WorkbenchView({ studies, theme, onChosen }: WorkbenchProps) {
  const app = useApp();
  const size = useWindowSize();
  const [screen, setScreen] = useState<Workbench>(() => openingWorkbench(studies));
  const latest = useRef(screen);
  useKeyPresses(({ input, key }) => {
    if (latest.current.outcome) return;
    const intent = workbenchIntent(latest.current, {
      input,
      isReturn: key.return,
      isEscape: key.escape,
      isUp: key.upArrow,
      isDown: key.downArrow,
      isBackspace: key.backspace || key.delete,
      isControl: key.ctrl,
    });
    if (intent === null) return;
    latest.current = reduceWorkbench(latest.current, intent);
    setScreen(latest.current);
    if (!latest.current.outcome) return;
    onChosen(latest.current.outcome);
    app.exit();
  });
  return (
    <LinesView
      lines={workbenchLines(screen, { ...size, rows: size.rows - 1 }, theme)}
      theme={theme}
    />
  );
}
