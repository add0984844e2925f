import { useApp, useInput } from 'ink';
import { useEffect, useState } from 'react';
import type { Theme } from '../../theme.ts';
import { LinesView } from '../lines-view.tsx';
import { useWindowSize } from '../window-size.ts';
import type { Pressed } from './keys.ts';
import { walkLines } from './lines.ts';
import type { WalkSession } from './session.ts';

export interface WalkProps {
  readonly session: WalkSession;
  readonly theme: Theme;
}

const TICK_MS = 250;

/** The operator's screen: one thing to do now. */
export function WalkView({ session, theme }: WalkProps) {
  const app = useApp();
  const size = useWindowSize();
  const [, redraw] = useState(0);
  useEffect(() => {
    const timer = setInterval(() => {
      session.tick();
      redraw((count) => count + 1);
    }, TICK_MS);
    return () => clearInterval(timer);
  }, [session]);

  useInput((input, key) => {
    const named = {
      isReturn: key.return,
      isEscape: key.escape,
      isBackspace: key.backspace || key.delete,
      isControl: key.ctrl,
    };
    for (const pressed of singleKeys(input, named)) session.press(pressed);
    redraw((count) => count + 1);
    if (session.screen().isLeaving) app.exit();
  });

  const lines = walkLines(
    session.screen(),
    session.facts(),
    { ...size, rows: size.rows - 1 },
    theme,
  );
  return <LinesView lines={lines} theme={theme} />;
}

/** Keys pressed fast arrive together: each is one press, so that none is lost. */
export function singleKeys(input: string, named: Omit<Pressed, 'input'>): Pressed[] {
  const isNamed = named.isReturn || named.isEscape || named.isBackspace || named.isControl;
  const letters = [...input];
  if (isNamed || letters.length <= 1) return [{ input, ...named }];
  return letters.map((letter) => ({
    ...named,
    input: letter === '\r' || letter === '\n' ? '' : letter,
    isReturn: letter === '\r' || letter === '\n',
    isBackspace: letter === '\u007F' || letter === '\b',
  }));
}
