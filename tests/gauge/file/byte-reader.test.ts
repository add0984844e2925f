import { type LineFormat, logParser, readLog } from '@strandwise/gauge';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

/** Reads the text by the byte reader and by the general reader alone, in chunks of this size. */
function both(text: string, format: LineFormat, chunk: number) {
  const bytes = Buffer.from(text);
  return [false, true].map((isGeneralOnly) => {
    const parser = logParser(format, { isGeneralOnly });
    for (let i = 0; i < bytes.length; i += chunk) parser.push(bytes.subarray(i, i + chunk));
    parser.finish();
    const { seconds, diameterMm, pullerMmPerSecond } = parser.drain();
    return {
      columns: [seconds, diameterMm, pullerMmPerSecond!].map((column) => [...column]),
      unparsed: parser.unparsed(),
      notes: parser.notes(),
      lines: parser.lines(),
    };
  });
}

const odd = fc.constantFrom(
  '',
  ' ',
  'NaN',
  '-',
  'x',
  '1.2.3',
  '1e0',
  '"1.75"',
  ' 1.75',
  '1.75 ',
  '+1.75',
  '-1.75',
  '.5',
  '5.',
  '1234567890123456789',
  '0x1',
  '1,75',
  '\u00b5',
);
const number = fc.oneof(
  fc.double({ min: 0, max: 12, noNaN: true }).map((v) => v.toFixed(4)),
  fc.integer({ min: 0, max: 99 }).map(String),
);
const cell = fc.oneof({ weight: 8, arbitrary: number }, { weight: 1, arbitrary: odd });
const ending = fc.constantFrom('\n', '\n', '\n', '\r\n');
const clock = fc.integer({ min: 0, max: 86_399 }).map((s) => new Date(s * 1000).toISOString());
const time = (as: string): fc.Arbitrary<string> =>
  as === 'seconds'
    ? cell
    : fc.oneof(
        { weight: 8, arbitrary: clock.map((iso) => (as === 'iso' ? iso : iso.slice(11, 23))) },
        { weight: 1, arbitrary: odd },
        {
          weight: 1,
          arbitrary: fc.constantFrom(
            '2024-02-30T10:00:00',
            '24:00:00',
            '10:00',
            '2024-05-01 10:00:00+02:00',
            '10:00:00.1234567891',
            '2024-05-01T10:00:61',
          ),
        },
      );

describe('the byte reader', () => {
  it.each([
    ['seconds', ',', '.'],
    ['seconds', ';', ','],
    ['iso', ',', '.'],
    ['clock', '\t', '.'],
  ] as const)(
    'law: agrees with the general reader on any line, time as %s',
    (as, delimiter, decimalMark) => {
      const format: LineFormat = {
        delimiter,
        decimalMark,
        headerLines: 0,
        fieldCount: 3,
        time: { from: 'column', column: 1, as },
        fields: [
          { column: 2, means: 'diameter', unit: 'mm' },
          { column: 3, means: 'puller', unit: 'm/min' },
        ],
      };
      const marked = (text: string): string =>
        decimalMark === ',' ? text.replace('.', ',') : text;
      const line = fc
        .tuple(fc.tuple(time(as), cell, cell), fc.integer({ min: 0, max: 30 }), ending)
        .map(([cells, shape, end]) => {
          const texts = cells.map((text, i) => (i === 0 && as !== 'seconds' ? text : marked(text)));
          if (shape === 0) texts.pop();
          if (shape === 1) texts.push('');
          if (shape === 2) texts.push('7');
          return texts.join(delimiter) + end;
        });
      fc.assert(
        fc.property(
          fc.array(line, { minLength: 1, maxLength: 30 }),
          fc.integer({ min: 1, max: 200 }),
          (lines, chunk) => {
            const [fast, general] = both(lines.join(''), format, chunk);
            expect(fast).toEqual(general);
          },
        ),
        { seed: 5, numRuns: 300 },
      );
    },
  );

  it('law: rounds every plain number as Number does', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.6, max: 9.4, noNaN: true }),
        fc.integer({ min: 0, max: 14 }),
        (value, digits) => {
          const text = value.toFixed(digits);
          const { log } = readLog(`0,${text}\n1,${text}\n`, {
            format: {
              delimiter: ',',
              decimalMark: '.',
              headerLines: 0,
              fieldCount: 2,
              time: { from: 'column', column: 1, as: 'seconds' },
              fields: [{ column: 2, means: 'diameter', unit: 'mm' }],
            },
          });
          expect(log.diameterMm[0]).toBe(Number(text));
        },
      ),
      { seed: 6, numRuns: 500, examples: [[0.5, 1]] },
    );
  });
});
