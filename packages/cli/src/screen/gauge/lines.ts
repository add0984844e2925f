import { cutLine, type Line, line, plainLetters, span, wrapped } from '../../terminal/line.ts';
import type { Theme } from '../../theme.ts';
import type { Size } from '../walk/lines.ts';
import { type GaugeScreen, linesWanted } from './state.ts';

/** The ten lines, what they seem to mean, and room to put it right. */
export function gaugeScreenLines(screen: GaugeScreen, size: Size, theme: Theme): Line[] {
  const { columns } = size;
  const rule = line(theme.glyphs.rule.repeat(columns), 'quiet');
  const said = (text: string, role: 'plain' | 'warning' | 'quiet' = 'plain'): Line[] =>
    wrapped(text, columns - 3, 3).map((words) => line(words, role));
  const wait =
    screen.lines.length < linesWanted
      ? said(`${screen.lines.length} of ${linesWanted} lines heard`, 'quiet')
      : [];
  const body = [
    line(' gauge · how does it write its lines? This is asked once.', 'strong'),
    rule,
    ...screen.lines.map((raw) => line(`     ${raw.replace(/\t/g, ' ⇥ ')}`)),
    ...wait,
    ...(screen.trouble === null ? [] : said(screen.trouble, 'warning')),
    line(),
    ...screen.unsure.flatMap((text) => said(`not sure: ${text}`, 'warning')),
    ...(screen.draft === ''
      ? said(
          'No guess yet. Columns count from 1; for example: time arrival; diameter 1 mm',
          'quiet',
        )
      : said('It seems to mean the following. Change what is wrong.')),
    line(),
    ...wrapped(`> ${screen.draft}_`, columns - 3, 3).map((text): Line => [span(text, 'strong')]),
    ...(screen.notice === null ? [] : said(screen.notice, 'warning')),
  ];
  const foot = [rule, line(' enter this is right    esc leave')];
  const room = Math.max(1, size.rows - foot.length);
  const padded = [
    ...body.slice(0, room),
    ...Array.from({ length: Math.max(0, room - body.length) }, () => line()),
  ];
  const lines = [...padded, ...foot];
  const letters = theme.isUnicode ? lines : lines.map(plainLetters);
  return letters.map((spans) => cutLine(spans, columns, theme));
}
