import { cutLine, type Line, line, span, wrapped } from '../../terminal/line.ts';
import type { Theme } from '../../theme.ts';
import type { Size } from '../walk/lines.ts';
import { fields } from './fields.ts';
import { proposedValues } from './filled-description.ts';
import { fieldAt, type NewScreen } from './state.ts';

/** The form as lines: the fields round the one in hand, its help, and the keys. */
export function newLines(screen: NewScreen, { columns, rows }: Size, theme: Theme): Line[] {
  const rule = line(theme.glyphs.rule.repeat(columns), 'quiet');
  const field = fieldAt(screen);
  const help = wrapped(field.help, columns - 4, 3).map((text) => line(text, 'quiet'));
  const notice =
    screen.notice === null
      ? []
      : wrapped(screen.notice, columns - 4, 3).map((text) => line(text, 'warning'));
  const room = Math.max(3, rows - 6 - help.length - notice.length);
  const first = Math.max(0, Math.min(screen.at - Math.floor(room / 2), fields.length - room));
  const proposed = proposedValues(screen.values, screen.base);
  const shown = fields
    .slice(first, first + room)
    .map((_, i) => fieldLine(screen, first + i, proposed));
  return [
    line(` new study · ${field.section} · question ${screen.at + 1} of ${fields.length}`, 'strong'),
    rule,
    ...shown,
    ...Array.from({ length: Math.max(0, room - shown.length) }, () => line()),
    ...help,
    ...notice,
    rule,
    line(' enter next    up/down move    ctrl-s make the study    esc leave without one'),
  ].map((spans) => cutLine(spans, columns, theme));
}

function fieldLine(
  screen: NewScreen,
  index: number,
  proposed: Readonly<Record<string, number>>,
): Line {
  const { label, unit, section, key } = fields[index]!;
  const isHere = index === screen.at;
  const isFirst = fields[index - 1]?.section !== section;
  const value = screen.values[key] ?? '';
  return [
    span(` ${isHere ? '>' : ' '} `, 'strong'),
    span((isFirst ? section : '').padEnd(9), 'quiet'),
    span(label.padEnd(26), isHere ? 'strong' : 'plain'),
    span(value + (isHere ? '_' : ''), isHere ? 'strong' : 'plain'),
    span(value === '' && proposed[key] !== undefined ? `(${proposed[key]})` : '', 'quiet'),
    span(unit === '' ? '' : `  ${unit}`, 'quiet'),
  ];
}
