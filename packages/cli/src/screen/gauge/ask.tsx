import type { ReadingSource } from '@strandwise/core';
import type { LineFormat } from '@strandwise/gauge';
import { useApp } from 'ink';
import { useEffect, useState } from 'react';
import type { Theme } from '../../theme.ts';
import { fullScreen } from '../full-screen.ts';
import { useKeyPresses } from '../key-press.ts';
import { LinesView } from '../lines-view.tsx';
import { useWindowSize } from '../window-size.ts';
import { gaugeScreenLines } from './lines.ts';
import { type GaugeScreen, openingGauge, reduceGauge } from './state.ts';

/** A gauge's format as a person confirmed it, with the lines it was read off; null when they left. */
export async function askedFormat(
  source: ReadingSource,
  theme: Theme,
): Promise<{ readonly format: LineFormat; readonly sample: readonly string[] } | null> {
  let last: GaugeScreen = openingGauge(source.place);
  const follow = (screen: GaugeScreen): void => {
    last = screen;
  };
  await fullScreen(<GaugeView source={source} theme={theme} onChange={follow} />);
  const { outcome, lines } = last;
  return outcome === null || outcome === 'left' ? null : { ...outcome, sample: lines };
}

function GaugeView({
  source,
  theme,
  onChange,
}: {
  readonly source: ReadingSource;
  readonly theme: Theme;
  readonly onChange: (screen: GaugeScreen) => void;
}) {
  const app = useApp();
  const size = useWindowSize();
  const [screen, setScreen] = useState(() => openingGauge(source.place));
  useEffect(() => {
    const listening = source.listen((event) => {
      if (event.kind === 'unparsed')
        setScreen((now) => reduceGauge(now, { kind: 'line', raw: event.line }));
      else if (event.kind === 'reading' || event.kind === 'beyond-belief')
        setScreen((now) => reduceGauge(now, { kind: 'line', raw: event.raw ?? '' }));
      else if (event.kind === 'lost')
        setScreen((now) => reduceGauge(now, { kind: 'trouble', says: event.why }));
      else if (event.kind === 'silent')
        setScreen((now) =>
          // The watch over silence knows readings only, and nothing is one yet.
          now.lines.length > 0
            ? now
            : reduceGauge(now, {
                kind: 'trouble',
                says: 'nothing comes yet; is the gauge switched on?',
              }),
        );
    });
    return () => void listening.stop();
  }, [source]);
  useEffect(() => {
    onChange(screen);
    if (screen.outcome !== null) app.exit();
  }, [screen, onChange, app]);
  useKeyPresses(({ input, key }) => {
    setScreen((now) => {
      if (key.escape || (key.ctrl && input === 'c')) return reduceGauge(now, { kind: 'leave' });
      if (key.return) return reduceGauge(now, { kind: 'accept' });
      if (key.backspace || key.delete) return reduceGauge(now, { kind: 'erased' });
      return input === '' || key.ctrl ? now : reduceGauge(now, { kind: 'typed', text: input });
    });
  });
  return (
    <LinesView
      lines={gaugeScreenLines(screen, { ...size, rows: size.rows - 1 }, theme)}
      theme={theme}
    />
  );
}
