import type { Role, Theme } from '../theme.ts';

/** A piece of a screen line with what it is for. */
export interface Span {
  readonly text: string;
  readonly role: Role;
}

/** One line of a screen. Screens are built as lines, so that they can be tested without a terminal. */
export type Line = readonly Span[];

export const span = (text: string, role: Role = 'plain'): Span => ({ text, role });
export const line = (text = '', role: Role = 'plain'): Line => [span(text, role)];

export const lineWidth = (spans: Line): number =>
  spans.reduce((sum, { text }) => sum + [...text].length, 0);

/** Whether two screens show the same. */
export function sameLines(a: readonly Line[], b: readonly Line[]): boolean {
  return (
    a.length === b.length &&
    a.every((spans, i) => {
      const others = b[i]!;
      return (
        spans.length === others.length &&
        spans.every(({ text, role }, k) => text === others[k]!.text && role === others[k]!.role)
      );
    })
  );
}

/** The line cut to a width, with an ellipsis where something is lost. */
export function cutLine(given: Line, columns: number, { glyphs }: Theme): Line {
  if (lineWidth(given) <= columns) return given;
  const spans = withoutTail(given);
  if (lineWidth(spans) <= columns) return spans;
  let room = columns - glyphs.ellipsis.length;
  const out: Span[] = [];
  for (const { text, role } of spans) {
    const letters = [...text];
    if (letters.length <= room) {
      out.push({ text, role });
      room -= letters.length;
      continue;
    }
    out.push({ text: letters.slice(0, Math.max(0, room)).join('') + glyphs.ellipsis, role });
    break;
  }
  return out;
}

/** The line without the blanks at its end. */
function withoutTail(spans: Line): Line {
  const last = spans.at(-1);
  if (!last) return spans;
  const text = last.text.trimEnd();
  if (text === '') return withoutTail(spans.slice(0, -1));
  return [...spans.slice(0, -1), { ...last, text }];
}

const inAscii: Readonly<Record<string, string>> = {
  '·': '|',
  '°': '',
  '→': '->',
  '−': '-',
  '–': '-',
  '—': '-',
  '×': 'x',
  '²': '^2',
  µ: 'u',
  '…': '...',
  '’': "'",
  '±': '+-',
  σ: 's',
  '▲': '+',
  '▼': '-',
};

/** The line in plain letters for a terminal that has no others; what has none becomes "?". */
export function plainLetters(spans: Line): Line {
  return spans.map(({ text, role }) => ({
    role,
    text: text.replace(/[^\x20-\x7e]/gu, (letter) => inAscii[letter] ?? '?'),
  }));
}

/** Two pieces at the ends of one line, the left one cut first when they do not fit. */
export function ends(left: Line, right: Line, columns: number, theme: Theme): Line {
  const room = columns - lineWidth(right) - 1;
  const cut = cutLine(left, Math.max(0, room), theme);
  const gap = ' '.repeat(Math.max(1, columns - lineWidth(cut) - lineWidth(right)));
  return [...cut, span(gap), ...right];
}

/** Words put into lines of at most `columns`, indented. */
export function wrapped(text: string, columns: number, indent = 0): string[] {
  const pad = ' '.repeat(indent);
  const out: string[] = [];
  let current = '';
  for (const word of text.split(/\s+/)) {
    const next = current === '' ? word : `${current} ${word}`;
    if (next.length + indent > columns && current !== '') {
      out.push(pad + current);
      current = word;
    } else current = next;
  }
  if (current !== '') out.push(pad + current);
  return out;
}

/** Lines as text for a terminal without a screen. */
export const painted = (lines: readonly Line[], theme: Theme): string =>
  lines.map((spans) => spans.map(({ text, role }) => theme.paint(role, text)).join('')).join('\n');

/** Lines as text without paint: what a test compares. */
export const plainText = (lines: readonly Line[]): string =>
  lines
    .map((spans) =>
      spans
        .map(({ text }) => text)
        .join('')
        .trimEnd(),
    )
    .join('\n');
