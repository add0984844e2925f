import type { Check } from '@strandwise/core';
import { type Line, line, span } from '../../terminal/line.ts';
import { scatterLines } from '../../terminal/scatter.ts';
import type { Theme } from '../../theme.ts';
import { told } from '../../wording/told.ts';
import type { ScreenSize } from '../frame.ts';
import type { AnalyseFacts, AnalyseScreen } from './screen.ts';

const LETTERS = 'abcdefgh';

/** One check at a time: its sentence, its picture, and where the others stand. */
export function residualLines(
  screen: AnalyseScreen,
  facts: AnalyseFacts,
  { columns, rows }: ScreenSize,
  theme: Theme,
): Line[] {
  const { checks } = facts.result.responses[screen.response]!;
  const check = checks[screen.check];
  if (!check) return [line(), ...told('There is nothing to check this fit by.', columns)];
  const says = told(check.says, columns, {
    role: check.standing === 'concern' ? 'warning' : 'plain',
  });
  const others = otherLines(checks, screen.check, columns);
  const height = Math.max(4, Math.min(16, rows - says.length - others.length - 5));
  return [
    [
      span(`   ${check.kind}`, 'strong'),
      span(`  ${screen.check + 1} of ${checks.length}`, 'quiet'),
    ],
    ...says,
    ...pictureLines(check, facts, { width: Math.min(columns, 90), height }, theme),
    ...others,
  ];
}

function pictureLines(
  { picture, rows }: Check,
  { study }: AnalyseFacts,
  size: { readonly width: number; readonly height: number },
  theme: Theme,
): Line[] {
  if (!picture) return [];
  const flagged = rows.slice(0, LETTERS.length);
  const marks = picture.points.map(({ row, x, y }) => {
    const at = flagged.indexOf(row);
    return at < 0
      ? { x, y, mark: theme.glyphs.openDot }
      : { x, y, mark: LETTERS[at]!, role: 'warning' as const };
  });
  const cells = study.cells.filter(({ status }) => status === 'done' || status === 'failed');
  const key = flagged.map((row, i) => `${LETTERS[i]} cell ${cells[row - 1]?.cell ?? row}`);
  return [
    ...scatterLines({ marks, guides: picture.guides, x: picture.x, y: picture.y }, size, theme),
    ...(key.length > 0 ? [line(`   ${key.join('   ')}`, 'warning')] : []),
  ];
}

const standings = { sound: '', concern: '!', unknown: '?' } as const;

/** All checks in a row, those of concern marked; the one shown in brackets. */
function otherLines(checks: readonly Check[], at: number, columns: number): Line[] {
  const names = checks.map(({ kind, standing }, i) => {
    const text = `${standings[standing]}${kind}`;
    return i === at ? `[${text}]` : text;
  });
  return told(names.join(' · '), columns, { role: 'quiet' });
}
