import { guessLineFormat, LineFormat, lineReader } from '@strandwise/gauge';
import { describe, expect, it } from 'vitest';
import { headerName } from '../../../packages/gauge/src/format/header-name.ts';

describe('headerName', () => {
  it.each([
    ['diameter (mm)', { kind: 'field', means: 'diameter', unit: 'mm' }],
    ['Durchmesser_um', { kind: 'field', means: 'diameter', unit: 'µm' }],
    ['Durchmesser [µm]', { kind: 'field', means: 'diameter', unit: 'µm' }],
    ['OD in', { kind: 'field', means: 'diameter' }],
    ['diameterMm', { kind: 'field', means: 'diameter', unit: 'mm' }],
    ['Dia X (mm)', { kind: 'field', means: 'axis', unit: 'mm' }],
    ['ovality_mm', { kind: 'field', means: 'ovality', unit: 'mm' }],
    ['Puller speed (m/min)', { kind: 'field', means: 'puller', unit: 'm/min' }],
    ['Abzugsgeschwindigkeit [m/min]', { kind: 'field', means: 'puller', unit: 'm/min' }],
    ['Zone 3 temperature (°C)', { kind: 'field', means: 'zone', unit: '°C', zone: 3 }],
    ['T2_C', { kind: 'field', means: 'zone', unit: '°C', zone: 2 }],
    ['Heizzone 1 [°C]', { kind: 'field', means: 'zone', unit: '°C', zone: 1 }],
    ['time (s)', { kind: 'time', unit: 'seconds' }],
    ['t_ms', { kind: 'time', unit: 'milliseconds' }],
    ['Zeitstempel', { kind: 'time' }],
    ['Datum', { kind: 'date' }],
    ['zone 1 set point', { kind: 'other' }],
    ['diameter tolerance', { kind: 'other' }],
    ['motor current (A)', { kind: 'other' }],
  ])('%s', (name, expected) => {
    expect(headerName(name)).toEqual(expected);
  });
});

describe('LineFormat', () => {
  const base = {
    delimiter: ',',
    time: { from: 'column', column: 1, as: 'seconds' },
    fields: [{ column: 2, means: 'diameter', unit: 'mm' }],
  };
  const faultOf = (change: object): string | undefined =>
    LineFormat.safeParse({ ...base, ...change }).error?.issues[0]?.message;

  it('takes a plain description', () => {
    expect(faultOf({})).toBeUndefined();
  });

  it('refuses contradictions and says what to change', () => {
    expect(faultOf({ decimalMark: ',' })).toContain('must differ from the delimiter');
    expect(faultOf({ pattern: 'D=(.*)' })).toContain('not both');
    expect(faultOf({ delimiter: undefined, pattern: 'D=(' })).toContain('regular expression');
    expect(faultOf({ fields: [{ column: 1, means: 'diameter', unit: 'mm' }] })).toContain(
      'used once',
    );
    expect(faultOf({ fields: [{ column: 2, means: 'diameter', unit: '°C' }] })).toContain(
      'must be in mm',
    );
    expect(faultOf({ fields: [{ column: 2, means: 'puller', unit: 'mm/s' }] })).toContain(
      'must be the diameter',
    );
    expect(faultOf({ fields: [{ column: 2, means: 'axis', unit: 'mm' }] })).toContain('two axes');
  });
});

describe('lineReader', () => {
  it('reads a talkative line by a pattern', () => {
    const format = LineFormat.parse({
      pattern: 'OD=\\s*([\\d.]+)\\s*mm.*V=\\s*([\\d.]+)',
      time: { from: 'arrival' },
      fields: [
        { column: 1, means: 'diameter', unit: 'mm' },
        { column: 2, means: 'puller', unit: 'm/min' },
      ],
    });
    const row = new Float64Array(3);
    const read = lineReader(format);
    expect(read('OD= 1.752 mm OK V=0.90', row)).toBeUndefined();
    expect([...row]).toEqual([Number.NaN, 1.752, 0.9]);
    expect(read('HELLO', row)).toEqual({ reason: 'no-match' });
  });
});

describe('guessLineFormat', () => {
  const rows = (f: (i: number) => string): string[] => Array.from({ length: 12 }, (_, i) => f(i));
  const unsureOf = (lines: string[]): readonly string[] => {
    const guess = guessLineFormat(lines);
    return guess.kind === 'guess' ? guess.unsure : [guess.says];
  };

  it('passes over a preamble and comments', () => {
    const guess = guessLineFormat([
      '# invented bench gauge',
      'Serial number;4711',
      '',
      'Time;Diameter (mm);Status',
      ...rows((i) => `${i};1,75${i % 10};OK`),
    ]);
    expect(guess).toMatchObject({
      kind: 'guess',
      unsure: ['column 1 (time) names no unit; taken as seconds by its step'],
      format: { delimiter: ';', decimalMark: ',', headerLines: 4, fieldCount: 3 },
    });
  });

  it('says which units it took by size', () => {
    expect(unsureOf(['t (s),diameter', ...rows((i) => `${i},17${50 + i}`)])).toEqual([
      'column 2 (diameter) names no unit; taken as µm by its size',
    ]);
    expect(unsureOf(['t,diameter (mm)', ...rows((i) => `${i * 1000},1.75`)])).toEqual([
      'column 1 (time) names no unit; taken as milliseconds by its step',
    ]);
  });

  it('says that it told columns by their values when there is no header', () => {
    expect(unsureOf(rows((i) => `${i},1.75${i % 10}`))[0]).toBe(
      'there is no header, so columns were told by their values',
    );
  });

  it('takes date and clock in columns of their own', () => {
    const guess = guessLineFormat([
      'Date;Time;Diameter (mm)',
      ...rows((i) => `01.05.2024;10:00:${10 + i};1,75`),
    ]);
    expect(guess).toMatchObject({ kind: 'guess', format: { time: { column: 2, as: 'clock' } } });
  });

  it('does not believe a size against a name', () => {
    expect(guessLineFormat(['t,pressure (bar)', ...rows((i) => `${i},1.75`)])).toMatchObject({
      kind: 'no-guess',
      code: 'missing_column',
    });
  });
});
