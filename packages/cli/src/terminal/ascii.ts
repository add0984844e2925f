import type { Theme } from '../theme.ts';
import type { Line } from './line.ts';

/** Letters that a terminal without Unicode cannot show, in plain ones. */
const plain: Readonly<Record<string, string>> = {
  '…': '...',
  '−': '-',
  '–': '-',
  '—': '-',
  '×': 'x',
  '²': '^2',
  '³': '^3',
  '±': '+-',
  '°': ' deg ',
  '·': '.',
  '’': "'",
  '‘': "'",
  '“': '"',
  '”': '"',
  '′': "'",
  χ: 'chi',
  '→': '->',
  '≤': '<=',
  '≥': '>=',
};

/** Text in plain letters; what has no likeness becomes a question mark. Columns keep their places. */
export const asciiText = (text: string): string =>
  text
    .replace(/°C(?=\s{2}|$)/g, 'C ')
    .replaceAll('°C', 'C')
    .replace(/[^\n\r\t -~]/gu, (letter) => plain[letter] ?? '?');

/** Lines in plain letters. */
export const asciiLines = (lines: readonly Line[]): Line[] =>
  lines.map((spans) => spans.map(({ text, role }) => ({ text: asciiText(text), role })));

/** Lines in the letters that a theme allows. */
export const inLetters = (lines: readonly Line[], { isUnicode }: Theme): readonly Line[] =>
  isUnicode ? lines : asciiLines(lines);
