import { useApp } from 'ink';
import { useEffect, useRef, useState } from 'react';
import { type Line, sameLines } from '../../terminal/line.ts';
import type { Theme } from '../../theme.ts';
import { type KeyPress, useSinglePresses } from '../key-press.ts';
import { LinesView } from '../lines-view.tsx';
import { useWindowSize } from '../window-size.ts';
import type { Pressed } from './keys.ts';
import { walkLines } from './lines.ts';
import type { WalkSession } from './session.ts';

export interface WalkProps {
  readonly session: WalkSession;
  readonly theme: Theme;
}

/** The operator's screen: one thing to do now. Drawn again only when a line of it has changed. */
export function WalkView({ session, theme }: WalkProps) {
  const app = useApp();
  const { columns, rows } = useWindowSize();
  const look = (): Line[] =>
    walkLines(session.screen(), session.facts(), { columns, rows: rows - 1 }, theme);
  const [lines, setLines] = useState(look);
  const latest = useRef(look);
  latest.current = look;
  const draw = (): void => {
    const next = latest.current();
    setLines((before) => (sameLines(before, next) ? before : next));
  };
  const drawing = useRef(draw);
  drawing.current = draw;
  useEffect(() => {
    const timer = setInterval(() => {
      session.tick();
      drawing.current();
    }, session.tickMs);
    return () => clearInterval(timer);
  }, [session]);
  // Another size asks for other lines at once.
  // biome-ignore lint/correctness/useExhaustiveDependencies: the size is why.
  useEffect(() => drawing.current(), [columns, rows]);

  useSinglePresses((press) => {
    session.press(pressedOf(press));
    draw();
    if (session.screen().isLeaving) app.exit();
  });
  return <LinesView lines={lines} theme={theme} />;
}

const pressedOf = ({ input, key }: KeyPress): Pressed => ({
  input,
  isReturn: key.return,
  isEscape: key.escape,
  isBackspace: key.backspace || key.delete,
  isControl: key.ctrl,
});
