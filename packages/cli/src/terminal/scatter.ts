import type { Role, Theme } from '../theme.ts';
import { type Line, type Span, span } from './line.ts';
import { figures } from './number.ts';

/** A point of a picture; the mark is one letter, so that nothing needs colour to be read. */
export interface ScatterMark {
  readonly x: number;
  readonly y: number;
  readonly mark: string;
  readonly role?: Role;
}

export interface ScatterPicture {
  readonly marks: readonly ScatterMark[];
  /** Heights with a line across and what it says at its end. */
  readonly guides?: readonly { readonly at: number; readonly says: string }[];
  readonly x: string;
  readonly y: string;
}

const AXIS = 9;
const SHARED = '*';

interface Grid {
  readonly letters: string[][];
  readonly roles: Role[][];
}

/**
 * Points in letters over both axes, the ends of the axes named: what a residual plot is on a
 * terminal. Points that fall on one place show a star.
 *
 * @returns height + 3 lines of at most `width` letters
 */
export function scatterLines(
  { marks, guides = [], x, y }: ScatterPicture,
  size: { readonly width: number; readonly height: number },
  theme: Theme,
): Line[] {
  const columns = Math.max(10, size.width - AXIS - 1);
  const rows = Math.max(3, size.height);
  if (marks.length === 0) return [[span('   nothing to draw', 'quiet')]];
  const across = extent(marks.map((mark) => mark.x));
  const up = extent([...marks.map((mark) => mark.y), ...guides.map(({ at }) => at)]);
  const grid: Grid = {
    letters: Array.from({ length: rows }, () => new Array<string>(columns).fill(' ')),
    roles: Array.from({ length: rows }, () => new Array<Role>(columns).fill('plain')),
  };
  const rowOf = (value: number): number =>
    rows - 1 - Math.round(((value - up.low) / (up.high - up.low)) * (rows - 1));
  for (const { at, says } of guides) drawGuide(grid, rowOf(at), says, theme);
  for (const { mark, role = 'plain', ...at } of marks) {
    const column = Math.round(((at.x - across.low) / (across.high - across.low)) * (columns - 1));
    const row = rowOf(at.y);
    const there = grid.letters[row]![column]!;
    const isTaken = grid.roles[row]![column] !== 'quiet' && there !== ' ' && there !== mark;
    grid.letters[row]![column] = isTaken ? SHARED : mark;
    grid.roles[row]![column] = role;
  }
  const wall = theme.isUnicode ? '│' : '|';
  const labels = new Map([
    [0, figures(up.high)],
    [rows - 1, figures(up.low)],
  ]);
  const pad = ' '.repeat(AXIS);
  return [
    [span(` ${y}`, 'quiet')],
    ...grid.letters.map((letters, row) => [
      span(`${(labels.get(row) ?? '').padStart(AXIS - 2)} ${wall}`, 'quiet'),
      ...painted(letters, grid.roles[row]!),
    ]),
    [span(`${' '.repeat(AXIS - 1)}${theme.glyphs.rule.repeat(columns + 1)}`, 'quiet')],
    [span(`${pad}${axisWords(figures(across.low), x, figures(across.high), columns)}`, 'quiet')],
  ];
}

function drawGuide({ letters, roles }: Grid, row: number, says: string, theme: Theme): void {
  const columns = letters[row]!.length;
  const words = says === '' ? '' : ` ${says}`;
  const rule = theme.isUnicode ? '┄' : '.';
  const text = (rule.repeat(Math.max(0, columns - words.length)) + words).slice(0, columns);
  for (const [column, letter] of [...text].entries()) {
    letters[row]![column] = letter;
    roles[row]![column] = 'quiet';
  }
}

/** Neighbours of one role as one piece. */
function painted(letters: readonly string[], roles: readonly Role[]): Span[] {
  const out: { text: string; role: Role }[] = [];
  for (const [i, letter] of letters.entries()) {
    const last = out.at(-1);
    if (last && last.role === roles[i]) last.text += letter;
    else out.push({ text: letter, role: roles[i]! });
  }
  return out;
}

/** "low   what it is   high" over a width. */
export function axisWords(low: string, name: string, high: string, columns: number): string {
  const room = columns - low.length - high.length;
  const words = name.length <= room - 2 ? name : '';
  const left = Math.max(1, Math.floor((room - words.length) / 2));
  return `${low}${' '.repeat(left)}${words}${' '.repeat(Math.max(1, room - left - words.length))}${high}`;
}

function extent(values: readonly number[]): { readonly low: number; readonly high: number } {
  const low = Math.min(...values);
  const high = Math.max(...values);
  return high > low ? { low, high } : { low: low - 1, high: high + 1 };
}
