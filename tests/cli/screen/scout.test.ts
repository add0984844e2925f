import { scoutAdvice, studyState } from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { scoutOf } from '../../../packages/cli/src/scouting/study-scout.ts';
import { scoutLines } from '../../../packages/cli/src/screen/scout/lines.ts';
import {
  lookKeys,
  openingScout,
  reduceScout,
  scoutIntent,
} from '../../../packages/cli/src/screen/scout/state.ts';
import { scoutFacts } from '../../../packages/cli/src/screen/scout/view.tsx';
import { lineWidth, plainText } from '../../../packages/cli/src/terminal/line.ts';
import { themeOf } from '../../../packages/cli/src/theme.ts';
import { entry, openedStudy } from '../../core/study/example-study.ts';

const theme = themeOf({ colour: false, unicode: true });
const study = studyState([{ ...entry(openedStudy), seq: 1 }]);
const now = Date.UTC(2026, 0, 5, 9);
const facts = scoutFacts(study, scoutAdvice(scoutOf(study)), now);
const step = { ...openingScout(0, now), mode: 'step' as const };
const key = (input: string) => ({ input, isReturn: false, isEscape: false, isControl: false });

describe('scouting screen', () => {
  it('opens with the cautions and goes on only when told', () => {
    const opening = openingScout(0, now);
    expect(opening.mode).toBe('before heating');
    expect(reduceScout(opening, { kind: 'seen', look: 'runs' }, facts).deed).toBeNull();
    expect(reduceScout(opening, { kind: 'go on' }, facts).screen.mode).toBe('step');
  });

  it('records what is seen at the setting in hand', () => {
    const { deed } = reduceScout(step, { kind: 'seen', look: 'runs' }, facts);
    expect(deed).toMatchObject({
      kind: 'record',
      what: { kind: 'scout step', seen: 'runs', purpose: 'level' },
    });
  });

  it('keeps as the reason that a strand was looked at early, but not for a failure', () => {
    const early = reduceScout(step, { kind: 'seen', look: 'soft' }, facts).deed;
    expect(early).toMatchObject({ why: expect.stringContaining('looked at after') });
    expect(reduceScout(step, { kind: 'seen', look: 'runs' }, facts).deed).not.toHaveProperty('why');
    const full = { ...facts, nowMs: now + 1000 * facts.holdSeconds };
    expect(reduceScout(step, { kind: 'seen', look: 'soft' }, full).deed).not.toHaveProperty('why');
  });

  it('has a key for every look and takes no other letter for one', () => {
    expect(lookKeys.map(([letter]) => scoutIntent(key(letter))?.kind)).toEqual(
      lookKeys.map(() => 'seen'),
    );
    expect(scoutIntent(key('7'))).toBeNull();
  });

  it.each([
    [80, 24],
    [40, 24],
  ])('fits %i columns and %i rows in every mode', (columns, rows) => {
    for (const mode of ['before heating', 'step', 'stopping'] as const) {
      const lines = scoutLines({ ...step, mode }, facts, { study, size: { columns, rows }, theme });
      expect(lines).toHaveLength(rows);
      for (const spans of lines) expect(lineWidth(spans)).toBeLessThanOrEqual(columns);
    }
  });

  it('shows one step at 80 columns', () => {
    const lines = scoutLines(step, facts, { study, size: { columns: 80, rows: 24 }, theme });
    expect(plainText(lines)).toMatchInlineSnapshot(`
      " scout · PX-31 (invented) · step 1
      ────────────────────────────────────────────────────────────────────────────────
         SET NOW
           zone 1  feed         188 °C
           zone 2  middle       205 °C
           zone 3  metering     211 °C
           zone 4  die          208 °C
           screw                  5 rpm
           fan                   50 %

         HOLD   50:35 to go  ────────────────────────
         Start hot: a hot screw turns, a cold one may stall.

         WHAT DO YOU SEE
           1  unmelted     grains in the strand, torque alarm or stall: no strand
           2  stiff        a strand, but rough, stiff or with some grains
           3  holds shape  smooth and round, can be threaded, keeps its diameter
           4  soft         a strand, but it sags, necks or flattens at the puller
           5  runs         drips or tears, cannot be threaded: no strand
           6  no feed      pellets bridge or the screw starves: no strand


      ────────────────────────────────────────────────────────────────────────────────
       1-6 what you see    u undo    s stop safely    q leave; resumes here"
    `);
  });
});
