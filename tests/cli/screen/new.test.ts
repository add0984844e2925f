import { GradeSheet, Line, openedFrom } from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import {
  type FormBase,
  filledDescription,
} from '../../../packages/cli/src/screen/new/filled-description.ts';
import { newLines } from '../../../packages/cli/src/screen/new/lines.ts';
import { openingForm, reduceNew } from '../../../packages/cli/src/screen/new/state.ts';
import { lineWidth, plainText } from '../../../packages/cli/src/terminal/line.ts';
import { themeOf } from '../../../packages/cli/src/theme.ts';

const theme = themeOf({ colour: false, unicode: true });
/** Keys as typed: text, then enter, field after field. */
function typed(answers: readonly string[], base: FormBase = {}) {
  let screen = openingForm(base);
  for (const answer of answers) {
    if (answer !== '') screen = reduceNew(screen, { kind: 'typed', text: answer });
    screen = reduceNew(screen, { kind: 'next' });
  }
  return screen;
}

describe('new study form', () => {
  it('lets the family stand for what the sheet leaves open, and marks it', () => {
    const screen = typed(['trial', 'QP-1', 'PP', '', '', '', '', '', '', '', '0.76']);
    const made = reduceNew(screen, { kind: 'make' });
    expect(made.outcome).toBe('made');
    const filled = filledDescription(made.values);
    if (filled.kind === 'problem') throw new Error(filled.says);
    const { grade } = openedFrom(filled.description);
    expect(grade.solidDensityGPerCm3).toBeLessThan(0.95);
    expect(grade.sources['floorCelsius']).toBe('assumed');
    expect(grade.sources['ceilingCelsius']).toBe('assumed');
    expect(grade.meltDensityGPerCm3).toBe(0.76);
    expect(grade.sources['meltDensityGPerCm3']).toBe('data sheet');
  });

  it('asks for numbers where the family is not known, and names the nearest', () => {
    const screen = reduceNew(typed(['trial', 'QP-1', 'PLAA']), { kind: 'make' });
    expect(screen.outcome).toBe('asking');
    expect(screen.notice).toContain('PLA');
  });

  it('shows what the family stands for in brackets, in 80 columns', () => {
    const lines = newLines(typed(['trial', 'QP-1', 'PETG']), { columns: 80, rows: 24 }, theme);
    for (const each of lines) expect(lineWidth(each)).toBeLessThanOrEqual(80);
    expect(plainText(lines)).toMatch(/hottest barrel setting +_?\(255\) +°C/);
  });

  it('keeps what the library knows beside the form', () => {
    const base = {
      grade: GradeSheet.parse({
        name: 'QP-2',
        family: 'PLA',
        lot: 'invented lot 3',
        ceilingCelsius: 215,
        sources: { ceilingCelsius: 'measured' },
      }),
      line: Line.parse({
        name: 'bench line 9',
        zones: ['feed', 'die'].map((name) => ({ name, heaterLimitCelsius: 300 })),
        screw: {},
        measureMinutes: 7,
      }),
    };
    const filled = filledDescription({ ...openingForm(base).values, name: 'trial' }, base);
    if (filled.kind === 'problem') throw new Error(filled.says);
    const { grade, line } = openedFrom(filled.description);
    expect(grade).toMatchObject({ lot: 'invented lot 3', ceilingCelsius: 215 });
    expect(grade.sources['ceilingCelsius']).toBe('measured');
    expect(line).toEqual(base.line);
  });
});
