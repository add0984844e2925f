import type { StudyDescription } from '@strandwise/core';
import { useApp, useInput } from 'ink';
import { useState } from 'react';
import type { Surroundings } from '../../command/command.ts';
import { type Theme, themeOf, themeWish } from '../../theme.ts';
import { fullScreen } from '../full-screen.ts';
import { LinesView } from '../lines-view.tsx';
import { useWindowSize } from '../window-size.ts';
import { filledDescription } from './fields.ts';
import { newLines } from './lines.ts';
import { type NewIntent, type NewScreen, openingForm, reduceNew } from './state.ts';

/** Asks for a study on the screen; null when the scientist leaves without making one. */
export async function askedDescription(around: Surroundings): Promise<StudyDescription | null> {
  let last: NewScreen = openingForm;
  const theme = themeOf(themeWish(around.env, around.isTerminal));
  await fullScreen(
    <NewView
      theme={theme}
      onDone={(screen) => {
        last = screen;
      }}
    />,
  );
  if (last.outcome !== 'made') return null;
  const filled = filledDescription(last.values);
  return filled.kind === 'description' ? filled.description : null;
}

interface NewViewProps {
  readonly theme: Theme;
  readonly onDone: (screen: NewScreen) => void;
}

export function NewView({ theme, onDone }: NewViewProps) {
  const app = useApp();
  const size = useWindowSize();
  const [screen, setScreen] = useState(openingForm);
  useInput((input, key) => {
    const intent: NewIntent | null =
      key.ctrl && input === 's'
        ? { kind: 'make' }
        : key.escape || (key.ctrl && input === 'c')
          ? { kind: 'leave' }
          : key.return
            ? { kind: 'next' }
            : key.upArrow || (key.tab && key.shift)
              ? { kind: 'move', by: -1 }
              : key.downArrow || key.tab
                ? { kind: 'move', by: 1 }
                : key.backspace || key.delete
                  ? { kind: 'erased' }
                  : input !== '' && !key.ctrl && !key.meta
                    ? { kind: 'typed', text: input }
                    : null;
    if (intent === null) return;
    const next = reduceNew(screen, intent);
    setScreen(next);
    if (next.outcome !== 'asking') {
      onDone(next);
      app.exit();
    }
  });
  return (
    <LinesView lines={newLines(screen, { ...size, rows: size.rows - 1 }, theme)} theme={theme} />
  );
}
