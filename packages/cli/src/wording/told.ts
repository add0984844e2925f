import { type Line, line, wrapped } from '../terminal/line.ts';
import type { Role } from '../theme.ts';

/** A sentence set in lines with a hanging indent. */
export function told(
  text: string,
  columns: number,
  { indent = 3, role = 'plain', mark = '' }: { indent?: number; role?: Role; mark?: string } = {},
): Line[] {
  const hang = indent + (mark === '' ? 0 : [...mark].length + 1);
  return wrapped(text, columns, hang).map((words, i) =>
    line(
      i === 0 && mark !== '' ? `${' '.repeat(indent)}${mark} ${words.trimStart()}` : words,
      role,
    ),
  );
}
