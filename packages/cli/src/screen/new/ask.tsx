import type { StudyDescription } from '@strandwise/core';
import { useApp } from 'ink';
import { useRef, useState } from 'react';
import type { Surroundings } from '../../command/command.ts';
import { type Theme, themeOf, themeWish } from '../../theme.ts';
import { fullScreen } from '../full-screen.ts';
import { type KeyPress, useKeyPresses } from '../key-press.ts';
import { LinesView } from '../lines-view.tsx';
import { useWindowSize } from '../window-size.ts';
import { type FormBase, filledDescription } from './filled-description.ts';
import { newLines } from './lines.ts';
import { type NewIntent, type NewScreen, openingForm, reduceNew } from './state.ts';

/**
 * Asks for a study on the screen; null when the scientist leaves without making one.
 *
 * @param base - grade and line taken from the library
 */
export async function askedDescription(
  around: Surroundings,
  base: FormBase = {},
): Promise<StudyDescription | null> {
  let last: NewScreen = openingForm(base);
  const theme = themeOf(themeWish(around.env, around.isTerminal));
  await fullScreen(
    <NewView
      theme={theme}
      base={base}
      onDone={(screen) => {
        last = screen;
      }}
    />,
  );
  if (last.outcome !== 'made') return null;
  const filled = filledDescription(last.values, base);
  return filled.kind === 'description' ? filled.description : null;
}

interface NewViewProps {
  readonly theme: Theme;
  readonly base?: FormBase;
  readonly onDone: (screen: NewScreen) => void;
}

export function NewView({ theme, base = {}, onDone }: NewViewProps) {
  const app = useApp();
  const size = useWindowSize();
  const [screen, setScreen] = useState(() => openingForm(base));
  const latest = useRef(screen);
  useKeyPresses((press) => {
    const intent = intentOf(press);
    if (intent === null || latest.current.outcome !== 'asking') return;
    const next = reduceNew(latest.current, intent);
    latest.current = next;
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

function intentOf({ input, key }: KeyPress): NewIntent | null {
  if (key.ctrl && input === 's') return { kind: 'make' };
  if (key.escape || (key.ctrl && input === 'c')) return { kind: 'leave' };
  if (key.return) return { kind: 'next' };
  if (key.upArrow || (key.tab && key.shift)) return { kind: 'move', by: -1 };
  if (key.downArrow || key.tab) return { kind: 'move', by: 1 };
  if (key.backspace || key.delete) return { kind: 'erased' };
  return input !== '' && !key.ctrl && !key.meta ? { kind: 'typed', text: input } : null;
}
