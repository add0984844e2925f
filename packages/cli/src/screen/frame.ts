import { cutLine, type Line, line, wrapped } from '../terminal/line.ts';
import type { Theme } from '../theme.ts';

export interface ScreenSize {
  readonly columns: number;
  readonly rows: number;
}

export interface FrameParts {
  readonly head: Line;
  readonly body: readonly Line[];
  readonly notice?: string | null;
  readonly foot: readonly Line[];
}

/** Head, rule, body, notice, rule, foot: exactly as many lines as fit, the body cut or filled. */
export function framed(
  { head, body, notice, foot }: FrameParts,
  size: ScreenSize,
  theme: Theme,
): Line[] {
  const { columns, rows } = size;
  const rule = line(theme.glyphs.rule.repeat(columns), 'quiet');
  const told = notice ? wrapped(notice, columns - 3, 3).map((text) => line(text, 'warning')) : [];
  const room = Math.max(1, rows - 3 - foot.length - told.length);
  const shown =
    body.length > room
      ? [...body.slice(0, room - 1), moreBelow(body.length - room + 1, theme)]
      : [...body, ...Array.from({ length: room - body.length }, () => line())];
  return [head, rule, ...shown, ...told, rule, ...foot].map((spans) =>
    cutLine(spans, columns, theme),
  );
}

/** What stands on the last line of a body that goes on. */
const moreBelow = (lines: number, { glyphs }: Theme): Line =>
  line(`   ${glyphs.ellipsis} ${lines} more below`, 'quiet');

/** The body from a line on, the first one shown saying that something is above. */
export function scrolled(body: readonly Line[], first: number, { glyphs }: Theme): readonly Line[] {
  if (first === 0) return body;
  return [line(`   ${glyphs.ellipsis} ${first + 1} more above`, 'quiet'), ...body.slice(first + 1)];
}

/** Keys with what they do, as many to a line as fit. */
export function keyLines(keys: readonly (readonly [string, string])[], columns: number): Line[] {
  const out: Line[] = [];
  let text = '';
  for (const [key, says] of keys) {
    const piece = ` ${key} ${says}   `;
    if (text !== '' && text.length + piece.trimEnd().length > columns) {
      out.push(line(text));
      text = '';
    }
    text += piece;
  }
  return text === '' ? out : [...out, line(text)];
}
