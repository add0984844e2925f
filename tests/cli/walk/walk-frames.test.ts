import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { walkLines } from '../../../packages/cli/src/screen/walk/lines.ts';
import type { WalkFacts } from '../../../packages/cli/src/screen/walk/screen.ts';
import { lineWidth, painted, plainText } from '../../../packages/cli/src/terminal/line.ts';
import { themeOf } from '../../../packages/cli/src/theme.ts';
import { quietGauge, startedWalk, type Walk } from './walk-study.ts';

const light = (isOn: boolean, says: string, remainingSeconds?: number) => ({
  isOn,
  says,
  ...(remainingSeconds === undefined ? {} : { remainingSeconds }),
});
const holdingLights = {
  zones: light(true, 'zones ready 3 min ago'),
  flush: light(false, '0.4 of 1.0 barrel volumes, about 6 min more', 360),
  strand: light(false, 'strand watched for 8 of 15 screw turns, about 2 min more', 140),
  isSettled: false,
  atSeconds: 300,
};
const holdingGauge: WalkFacts['live'] = { ...quietGauge, lights: holdingLights };
const measuringGauge: WalkFacts['live'] = {
  ...quietGauge,
  window: {
    seconds: 378,
    neededSeconds: 600,
    because: '30 turns at 3 rpm',
    trace: Float64Array.from({ length: 378 }, (_, i) => 1.75 + 0.03 * Math.sin(i / 9)),
    metres: 6.2,
    figures: { sdMm: 0.0124, effectiveN: 41, outsideShare: 0, trendMmPerMinute: 0 },
    ripple: '4 µm. A wave of 13 s comes once a screw turn: feeding or melting surges.',
  },
};

/** Every screen an operator meets, by how one gets there. */
const screens: Readonly<
  Record<string, { keys: string; live?: WalkFacts['live']; open?: boolean }>
> = {
  'before heating': { keys: 'y y', open: true },
  'changeover refused': { keys: 'y y y y y "PVC" enter', open: true },
  'set now': { keys: '' },
  'keyed in differently': { keys: 'e 5 "3.2" enter' },
  'hold by the clock': { keys: 'enter' },
  'hold by the gauge': { keys: 'enter', live: holdingGauge },
  'hold waits for the strand': {
    keys: 'enter',
    live: {
      ...quietGauge,
      lights: {
        ...holdingLights,
        flush: light(true, '1.0 of 1.0 barrel volumes'),
        strand: light(false, 'drift 2.1 µm a minute'),
      },
    },
  },
  'gauge lost': {
    keys: 'enter',
    live: { ...quietGauge, trouble: 'gauge lost: 127.0.0.1:4001: nobody listens there' },
  },
  'measuring by the gauge': {
    keys: 'enter m "calm" enter space space',
    live: measuringGauge,
  },
  'measuring by hand': { keys: 'enter m "calm" enter space space space' },
  'how many metres': { keys: 'enter m "calm" enter space space enter' },
  'failed how': { keys: 'x' },
  'failed then': { keys: 'x c enter enter' },
  'stop safely': { keys: 's' },
  'stop safely, half way': { keys: 's enter enter enter' },
  keys: { keys: '?' },
  'walk is done': {
    keys: 'p o "a" enter p o "b" enter p o "c" enter p o "d" enter p o "e" enter p o "f" enter',
  },
};

const looks = [
  { name: '80', columns: 80, rows: 24, colour: false, unicode: true },
  { name: '80-colour', columns: 80, rows: 24, colour: true, unicode: true },
  { name: '80-ascii', columns: 80, rows: 24, colour: false, unicode: false },
  { name: '40', columns: 40, rows: 20, colour: false, unicode: true },
  { name: '40-colour', columns: 40, rows: 20, colour: true, unicode: true },
] as const;

function factsOf(walk: Walk, live: WalkFacts['live'] | undefined): WalkFacts {
  const facts = walk.session.facts();
  return live === undefined ? facts : { ...facts, live };
}

/** Clock times are local; the frames are the same everywhere. */
const withoutTimes = (text: string): string =>
  text.replace(/^.*$/m, (head) => head.replace(/\d\d:\d\d/, 'hh:mm'));

describe('walkLines', () => {
  for (const [name, { keys, live, open = false }] of Object.entries(screens)) {
    for (const look of looks) {
      it(`draws "${name}" at ${look.name}`, async () => {
        const walk = startedWalk({ isChecked: !open });
        walk.press(keys);
        walk.clock.pass(200);
        const theme = themeOf(look);
        const lines = walkLines(walk.session.screen(), factsOf(walk, live), look, theme);
        expect(lines).toHaveLength(look.rows);
        expect(Math.max(...lines.map(lineWidth))).toBeLessThanOrEqual(look.columns);
        const text = look.colour ? painted(lines, theme) : plainText(lines);
        // biome-ignore lint/suspicious/noControlCharactersInRegex: the escape is what is looked for
        if (!look.colour) expect(text).not.toMatch(/\u001B/);
        if (!look.unicode) expect(text).toMatch(/^[\x20-\x7e\n]*$/);
        await expect(`${withoutTimes(text)}\n`).toMatchFileSnapshot(
          `frames/${name.replaceAll(' ', '-')}.${look.name}.txt`,
        );
      });
    }
  }

  it('keeps no frame that nothing draws', () => {
    const known = Object.keys(screens).flatMap((name) =>
      looks.map((look) => `${name.replaceAll(' ', '-')}.${look.name}.txt`),
    );
    const files = readdirSync(join(import.meta.dirname, 'frames'));
    expect(files.filter((file) => !known.includes(file))).toEqual([]);
  });

  it('says the same with and without colour', () => {
    const walk = startedWalk();
    const facts = walk.session.facts();
    const size = { columns: 80, rows: 24 };
    const plain = walkLines(walk.session.screen(), facts, size, themeOf(looks[0]));
    const colour = walkLines(walk.session.screen(), facts, size, themeOf(looks[1]));
    expect(plainText(colour)).toBe(plainText(plain));
  });

  it('fits any size without a line too many or too wide', () => {
    const walk = startedWalk();
    walk.press('enter');
    for (const rows of [10, 12, 16, 24, 50]) {
      for (const columns of [20, 40, 60, 79, 200]) {
        const lines = walkLines(
          walk.session.screen(),
          { ...walk.session.facts(), live: holdingGauge },
          { rows, columns },
          themeOf(looks[0]),
        );
        expect(lines).toHaveLength(rows);
        expect(Math.max(...lines.map(lineWidth))).toBeLessThanOrEqual(columns);
        expect(plainText(lines)).toContain('HOLD');
      }
    }
  });
});
