import { LineFormat } from '@strandwise/gauge';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { formatFromWords, formatWords } from '../../packages/cli/src/reading/format-words.ts';
import { gaugeChoice } from '../../packages/cli/src/reading/gauge-choice.ts';
import { gaugeScreenLines } from '../../packages/cli/src/screen/gauge/lines.ts';
import {
  type GaugeScreen,
  openingGauge,
  reduceGauge,
} from '../../packages/cli/src/screen/gauge/state.ts';
import { lineWidth, plainText } from '../../packages/cli/src/terminal/line.ts';
import { themeOf } from '../../packages/cli/src/theme.ts';

const hearing = (lines: readonly string[]): GaugeScreen =>
  lines.reduce<GaugeScreen>(
    (screen, raw) => reduceGauge(screen, { kind: 'line', raw }),
    openingGauge('/dev/ttyUSB0 at 9600 baud'),
  );
const semicolons = Array.from({ length: 12 }, (_, i) => `${i},0;1,75${i % 10};16,2${i % 10}`);

describe('describing a gauge', () => {
  it('guesses from ten lines, says what it is not sure of, and takes a yes', () => {
    const screen = hearing(semicolons);
    expect(screen.lines).toHaveLength(10);
    expect(screen.draft).toContain('diameter 2 mm');
    expect(screen.draft).toContain('decimal comma');
    expect(screen.unsure.join()).toContain('no header');
    const { outcome } = reduceGauge(screen, { kind: 'accept' });
    expect(outcome).toMatchObject({ format: { delimiter: ';', decimalMark: ',' } });
  });

  it('takes what a person changes, and says what it does not understand', () => {
    let screen = hearing(semicolons);
    const erased = Array.from({ length: screen.draft.length }, () => ({ kind: 'erased' }) as const);
    screen = erased.reduce<GaugeScreen>((now, intent) => reduceGauge(now, intent), screen);
    screen = reduceGauge(screen, { kind: 'accept' });
    expect(screen.notice).toContain('no lines to go by');
    screen = reduceGauge(screen, { kind: 'typed', text: 'time arrival; width 2 mm' });
    expect(reduceGauge(screen, { kind: 'accept' }).notice).toContain('"width" is not known');
    const right = 'time arrival; diameter 2 mm; puller 3 m/min; separator semicolon; decimal comma';
    screen = reduceGauge({ ...screen, draft: '' }, { kind: 'typed', text: right });
    expect(reduceGauge(screen, { kind: 'accept' }).outcome).toMatchObject({
      format: { time: { from: 'arrival' }, fields: [{ column: 2 }, { column: 3, unit: 'm/min' }] },
    });
  });

  it('keeps what was typed when more lines come', () => {
    let screen = hearing(semicolons.slice(0, 5));
    screen = reduceGauge(screen, { kind: 'typed', text: ' ' });
    const { draft } = screen;
    screen = reduceGauge(screen, { kind: 'line', raw: 'something else' });
    expect(screen.draft).toBe(draft);
  });

  it('draws its screen at 80 and 40 columns', async () => {
    for (const [columns, rows] of [
      [80, 24],
      [40, 24],
    ] as const) {
      const theme = themeOf({ colour: false, unicode: true });
      const lines = gaugeScreenLines(hearing(semicolons), { columns, rows }, theme);
      expect(lines).toHaveLength(rows);
      expect(Math.max(...lines.map(lineWidth))).toBeLessThanOrEqual(columns);
      await expect(`${plainText(lines)}\n`).toMatchFileSnapshot(`frames/gauge.${columns}.txt`);
    }
  });
});

describe('formatWords', () => {
  it('law: what it writes is read back as the same format', () => {
    const column = fc.integer({ min: 1, max: 9 });
    const format = fc
      .record({
        delimiter: fc.constantFrom(';', '\t', ' ', '|'),
        decimalMark: fc.constantFrom('.', ','),
        time: fc.constantFrom(
          { from: 'arrival' },
          { from: 'step', seconds: 0.5 },
          { from: 'column', column: 10, as: 'iso' },
        ),
        columns: fc.uniqueArray(column, { minLength: 4, maxLength: 4 }),
        unit: fc.constantFrom('mm', 'µm', 'inch'),
      })
      .map(({ columns, unit, ...rest }) =>
        LineFormat.parse({
          ...rest,
          fields: [
            { column: columns[0], means: 'diameter', unit },
            { column: columns[1], means: 'puller', unit: 'mm/s' },
            { column: columns[2], means: 'zone', unit: '°C', zone: 1 },
            { column: columns[3], means: 'zone', unit: '°F', zone: 2 },
          ],
        }),
      );
    fc.assert(
      fc.property(format, (given) => {
        expect(formatFromWords(formatWords(given))).toEqual({ kind: 'format', format: given });
      }),
      { seed: 3 },
    );
  });
});

describe('gaugeChoice', () => {
  it('reads each kind', () => {
    expect(gaugeChoice('virtual')).toEqual({ kind: 'virtual' });
    expect(gaugeChoice('file:logs/a.csv')).toEqual({ kind: 'file', path: 'logs/a.csv' });
    expect(gaugeChoice('tcp:10.0.0.7:4001')).toEqual({ kind: 'tcp', host: '10.0.0.7', port: 4001 });
    expect(gaugeChoice('serial:/dev/ttyUSB0')).toEqual({
      kind: 'serial',
      path: '/dev/ttyUSB0',
      baud: 9600,
    });
    expect(gaugeChoice('serial:COM3@19200')).toMatchObject({ path: 'COM3', baud: 19200 });
  });

  it.each(['', 'tcp:host', 'tcp:host:99999', 'usb:1', 'file:', 'virtual:2'])(
    'refuses %j',
    (text) => {
      expect(() => gaugeChoice(text)).toThrow('must be file:PATH, tcp:HOST:PORT');
    },
  );
});
