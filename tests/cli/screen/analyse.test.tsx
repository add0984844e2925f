import { join } from 'node:path';
import {
  cellInfluences,
  type Happening,
  type Journal,
  nextSteps,
  recommendation,
  type StudyState,
} from '@strandwise/core';
import { render } from 'ink-testing-library';
import { describe, expect, it } from 'vitest';
import { tradedSettings } from '../../../packages/cli/src/analysis/traded-settings.ts';
import { analyst } from '../../../packages/cli/src/command/fit/study-analysis.ts';
import { analyseIntent, type Pressed } from '../../../packages/cli/src/screen/analyse/keys.ts';
import {
  analyseLines,
  bodyRoom,
  scrollRoom,
} from '../../../packages/cli/src/screen/analyse/lines.ts';
import { offeredTerms } from '../../../packages/cli/src/screen/analyse/offered-terms.ts';
import {
  type AnalyseDeed,
  type AnalyseFacts,
  type AnalyseScreen,
  openingAnalysis,
  screenNames,
} from '../../../packages/cli/src/screen/analyse/screen.ts';
import { reduceAnalyse } from '../../../packages/cli/src/screen/analyse/state.ts';
import { AnalyseView } from '../../../packages/cli/src/screen/analyse/view.tsx';
import { inLetters } from '../../../packages/cli/src/terminal/ascii.ts';
import { lineWidth, painted, plainText } from '../../../packages/cli/src/terminal/line.ts';
import { type Theme, themeOf } from '../../../packages/cli/src/theme.ts';
import { inventedStudy } from '../../core/recipe/invented-study.ts';

const plain = themeOf({ colour: false, unicode: true });
const colour = themeOf({ colour: true, unicode: true });
const ascii = themeOf({ colour: false, unicode: false });

// An invented study in zone settings of four cells, a corner failed hot.
const study: StudyState = inventedStudy({
  plotCells: 4,
  plotSd: 0.1,
  seed: 4,
  fails: (x) => (x['level']! > 0.9 && x['screw']! < -0.9 ? 'hot' : null),
});
const knows = analyst(study);
const worked = (() => {
  const { predictor } = knows.analysis(study, {});
  const window = recommendation(predictor, 0.9);
  const recipe = window.kind === 'found' || window.kind === 'nowhere acceptable' ? window : null;
  return {
    window: { kind: 'known' as const, value: window },
    influences: { kind: 'known' as const, value: recipe ? cellInfluences(predictor, recipe) : [] },
    next: {
      kind: 'known' as const,
      value: recipe ? nextSteps(predictor, recipe, { asked: 0.9 }) : [],
    },
    traded: { kind: 'known' as const, value: tradedSettings(predictor) },
  };
})();

const size = { columns: 80, rows: 23 };

const analyses = new Map<string, ReturnType<typeof knows.analysis>>();

function analysisOf(tried: AnalyseScreen['tried']): ReturnType<typeof knows.analysis> {
  const key = JSON.stringify(tried);
  const known = analyses.get(key) ?? knows.analysis(study, tried);
  analyses.set(key, known);
  return known;
}

function factsFor(screen: AnalyseScreen, at = size, theme: Theme = plain): AnalyseFacts {
  const analysis = analysisOf(screen.tried);
  const kept = analysisOf({});
  const name = analysis.result.responses[screen.response]!.name;
  const known = {
    study,
    asked: 0.9,
    models: analysis.models,
    kept: kept.models,
    result: analysis.result,
    before: kept.result,
    predictor: analysis.predictor,
    offered: offeredTerms(analysis, name, 'hours since drying'),
    best: knows.reduced[name] ?? null,
    ...worked,
    windowBefore: worked.window,
    mostScroll: 0,
    page: bodyRoom(screen, at) - 2,
  };
  return { ...known, mostScroll: scrollRoom(screen, known, at, theme) };
}

const none: Pressed = {
  input: '',
  arrow: null,
  isReturn: false,
  isEscape: false,
  isTab: false,
  isShift: false,
  isControl: false,
};
const keys: Readonly<Record<string, Partial<Pressed>>> = {
  up: { arrow: 'up' },
  down: { arrow: 'down' },
  left: { arrow: 'left' },
  right: { arrow: 'right' },
  enter: { isReturn: true },
  escape: { isEscape: true },
  tab: { isTab: true },
  space: { input: ' ' },
};

/** Presses keys one after the other; letters stand for themselves. */
function pressed(first: AnalyseScreen, ...presses: string[]) {
  let screen = first;
  const deeds: AnalyseDeed[] = [];
  for (const press of presses) {
    const key = { ...none, ...(keys[press] ?? { input: press }) };
    const intent = analyseIntent(screen, key);
    if (!intent) continue;
    const step = reduceAnalyse(screen, intent, factsFor(screen));
    screen = step.screen;
    deeds.push(...step.deeds);
  }
  return { screen, deeds };
}

const text = (screen: AnalyseScreen, at = size, theme: Theme = plain): string =>
  plainText(inLetters(analyseLines(screen, factsFor(screen, at, theme), at, theme), theme));

const frame = (name: string): string => join(import.meta.dirname, 'frames', name);

describe('analyse screens', () => {
  it.each(screenNames)('draw %s exactly as large as the terminal, at any width', (at) => {
    for (const columns of [40, 80, 120])
      for (const theme of [plain, colour]) {
        const box = { columns, rows: columns === 120 ? 39 : 23 };
        const screen = { ...openingAnalysis, at };
        const lines = analyseLines(screen, factsFor(screen, box, theme), box, theme);
        expect(lines.length).toBe(box.rows);
        for (const spans of lines) expect(lineWidth(spans)).toBeLessThanOrEqual(columns);
      }
  });

  it.each(screenNames)('show the same words of %s with and without colour', (at) => {
    const screen = { ...openingAnalysis, at };
    expect(text(screen, size, colour)).toBe(text(screen, size, plain));
    const shown = analyseLines(screen, factsFor(screen), size, plain);
    expect(painted(shown, plain)).not.toContain('\u001B');
  });

  it.each(screenNames)('show %s in plain letters', (at) => {
    expect(text({ ...openingAnalysis, at }, size, ascii)).toMatch(/^[\n -~]*$/);
  });

  it.each(['matters', 'model', 'surface', 'residuals', 'window'] as const)(
    'keep %s as it was drawn, 80 and 40 columns',
    async (at) => {
      const screen = { ...openingAnalysis, at };
      const working = { kind: 'working' as const };
      for (const columns of [80, 40]) {
        const box = { columns, rows: 23 };
        const facts = {
          ...factsFor(screen, box),
          window: working,
          influences: working,
          next: working,
          traded: working,
        };
        const drawn = plainText(analyseLines(screen, facts, box, plain));
        await expect(drawn).toMatchFileSnapshot(frame(`analyse-${at}.${columns}.txt`));
      }
    },
  );

  it('answer on the first window screen of 80 × 24: settings, chance, room, next step', () => {
    const shown = text({ ...openingAnalysis, at: 'window' });
    expect(shown).toMatch(/zones \d+ · \d+ · \d+ · \d+ °C, screw/);
    expect(shown).toMatch(/chance that a spool conforms: \d\.\d\d/);
    expect(shown).toMatch(/one new set-up falls in/);
    for (const factor of ['level, °C', 'screw, rpm', 'fan, %']) expect(shown).toContain(factor);
    expect(shown).toMatch(/next +\S/);
  });

  it('say how much is above and below', () => {
    const top = pressed(openingAnalysis, '1').screen;
    const [, below] = /… (\d+) more below/.exec(text(top))!;
    const down = pressed(top, 'down', 'down', 'down').screen;
    expect(text(down)).toMatch(/… 4 more above/);
    expect(text(down)).toContain(`… ${Number(below) - 3} more below`);
    const end = pressed(top, ...Array.from({ length: 9 }, () => 'space')).screen;
    expect(end.scroll).toBe(factsFor(end).mostScroll);
    expect(text(end)).not.toMatch(/more below/);
    expect(pressed(end, ...Array.from({ length: 9 }, () => 'b')).screen.scroll).toBe(0);
  });

  it('lose no word of a sentence in plain letters', () => {
    for (const at of screenNames)
      for (const line of text({ ...openingAnalysis, at }, { columns: 80, rows: 60 }, ascii).split(
        '\n',
      ))
        expect(line.length).toBeLessThanOrEqual(80);
  });

  it('name their keys on the screen', () => {
    for (const at of screenNames) {
      const foot = text({ ...openingAnalysis, at })
        .split('\n')
        .slice(-3)
        .join(' ');
      expect(foot).toMatch(/1 matters.*2 model.*3 surface.*4 residuals.*5 window.*6 next.*7 trade/);
      expect(foot).toMatch(/\? keys\s+q leave/);
    }
    expect(text(pressed(openingAnalysis, '2', '?').screen)).toMatch(
      /take the term in or leave it out/,
    );
  });
});

describe('the model screen', () => {
  const at = pressed(openingAnalysis, '2').screen;
  const { offered } = factsFor(at);
  const place = (name: string): string[] =>
    Array.from({ length: offered.findIndex((term) => term.name === name) }, () => 'down');
  const out = offered.find(({ isIn, name }) => !isIn && name !== 'hours since drying')!.name;

  it('takes a term in and says what that does', () => {
    const { screen, deeds } = pressed(at, ...place(out), 'space');
    expect(deeds).toEqual([]);
    expect(factsFor(screen).offered.find(({ name }) => name === out)!.isIn).toBe(true);
    expect(text(screen)).toMatch(/Tried, not recorded: Now with/);
  });

  it('keeps hierarchy, in words', () => {
    const { screen } = pressed(at, 'a', ...place('level'), 'space');
    expect(screen.notice).toMatch(/"level" must stay while/);
  });

  it('counts what was tried last when keys come faster than fits', () => {
    const facts = factsFor(at);
    const flip = (screen: AnalyseScreen, name: string): AnalyseScreen => {
      const term = facts.offered.findIndex((found) => found.name === name);
      return reduceAnalyse({ ...screen, term }, { kind: 'toggle' }, facts).screen;
    };
    const twice = flip(flip(pressed(at, 'a').screen, 'level × screw'), 'level × fan');
    const model = twice.tried['SD of diameter'];
    const names =
      typeof model === 'object'
        ? model.terms.map((powers) => Object.keys(powers).sort().join(' '))
        : [];
    expect(names).not.toContain('level screw');
    expect(names).not.toContain('fan level');
  });

  it('goes back, to all and to the best', () => {
    const all = pressed(at, 'a').screen;
    expect(factsFor(all).offered.filter(({ isIn }) => isIn).length).toBe(9);
    expect(pressed(all, 'u').screen.tried).toEqual({});
    expect(pressed(all, 'b').screen.tried['SD of diameter']).toEqual(
      knows.reduced['SD of diameter'],
    );
  });

  it('records the model once asked, and only then', () => {
    expect(pressed(at, 'enter').deeds).toEqual([]);
    const { deeds, screen } = pressed(at, 'a', 'enter');
    expect(deeds).toMatchObject([{ kind: 'choose model', response: 'SD of diameter' }]);
    expect(screen.tried).toEqual({});
    expect(screen.notice).toBe('Recorded as the model of SD of diameter.');
  });
});

describe('the model screen beside the model in use', () => {
  const screen = pressed(openingAnalysis, '2', 'a').screen;

  it('shows what becomes of foretelling, the chance and the recommendation', () => {
    const shown = text(screen, { columns: 80, rows: 40 });
    expect(shown).toMatch(/in use +as tried/);
    for (const row of ['predictive R²', 'chance to conform', 'recommended zones', 'screw, fan'])
      expect(shown).toContain(row);
    const before = factsFor(screen).before.responses[0]!.predictiveRSquared!.toFixed(2);
    const now = factsFor(screen).result.responses[0]!.predictiveRSquared!.toFixed(2);
    expect(shown).toMatch(new RegExp(`predictive R² +${before} +${now}`));
  });

  it('says that the window is still being worked out', () => {
    const working = { kind: 'working' as const };
    const facts = { ...factsFor(screen), window: working, windowBefore: working };
    expect(plainText(analyseLines(screen, facts, size, plain))).toMatch(/chance to conform +… +…/);
  });
});

describe('the trade screen', () => {
  const at = pressed(openingAnalysis, '7').screen;
  const front = worked.traded.value!;

  it('shows every setting of the front with its set points, and the picked one with its doubt', () => {
    const shown = text(at, { columns: 80, rows: 39 });
    for (const { setPoints } of front.settings) {
      expect(shown).toContain(setPoints.zonesCelsius.join('·'));
    }
    const [first] = front.settings;
    expect(shown).toContain(`chance ${first!.chance!.says}`);
    expect(shown).toMatch(/A?a?: SD of diameter [\d.]+ \([\d.]+ … [\d.]+\)/);
  });

  it('picks settings, never beyond the ends', () => {
    const far = pressed(at, ...Array.from({ length: 20 }, () => 'down')).screen;
    expect(far.traded).toBe(front.settings.length - 1);
    expect(pressed(far, 'up').screen.traded).toBe(front.settings.length - 2);
  });

  it('gives up the picture before a number on a small terminal', () => {
    const shown = text(at, { columns: 40, rows: 23 });
    expect(shown).not.toMatch(/more below/);
    expect(shown).toContain(front.settings.at(-1)!.chance!.probability.toFixed(2));
  });

  it('is made of settings that keep the limits and that nothing betters', () => {
    const values = front.settings.map(({ predictions }) =>
      predictions.map(({ mean }) => mean.value),
    );
    const better = (a: number[], b: number[]): boolean =>
      a.every((value, r) => {
        const sign = front.responses[r]!.aim === 'smallest' ? 1 : -1;
        return sign * value < sign * b[r]! - 0.02 * Math.abs(b[r]!);
      });
    for (const a of values) for (const b of values) expect(better(a, b)).toBe(false);
  });

  it('says in words when there is nothing to trade', () => {
    const facts = { ...factsFor(at), traded: { kind: 'known' as const, value: null } };
    expect(plainText(analyseLines(at, facts, size, plain))).toContain('There is nothing to trade');
  });
});

describe('the surface screen', () => {
  const at = pressed(openingAnalysis, '3').screen;

  it('moves the cross inside the studied range', () => {
    const far = pressed(at, ...Array.from({ length: 14 }, () => 'right'), 'up').screen.surface!;
    expect(far.place[far.x]).toBe(1);
    expect(far.place[far.y]).toBeCloseTo(0.1, 9);
    expect(pressed({ ...at, surface: far }, 'c').screen.surface!.place).toEqual([0, 0, 0]);
  });

  it('turns other factors onto its axes and moves a pinned one', () => {
    const before = pressed(at, 'right', 'left').screen.surface!;
    const turned = pressed(at, 'right', 'x').screen.surface!;
    expect(turned.x).not.toBe(before.x);
    expect(turned.x).not.toBe(turned.y);
    const pinned = pressed(at, 'p', '+', '+').screen.surface!;
    expect(pinned.place[pinned.pinned!]).toBeCloseTo(0.2, 9);
    expect(text({ ...at, surface: pinned })).toMatch(/pinned: \[/);
  });

  it('draws bands as digits, runs, and the failure where it was', () => {
    const shown = text(at);
    expect(shown).toMatch(/0{3,}/);
    expect(shown).toMatch(/[●○]/);
    expect(shown).toMatch(/H/);
    expect(shown).toMatch(/letters: failed cold, hot/);
    expect(shown).toMatch(/chance to conform/);
  });
});

describe('the other screens', () => {
  it('walk through the checks and the responses', () => {
    const first = pressed(openingAnalysis, '4').screen;
    const { checks } = factsFor(first).result.responses[0]!;
    expect(pressed(first, 'right').screen.check).toBe(1);
    expect(pressed(first, 'left').screen.check).toBe(checks.length - 1);
    expect(pressed(first, 'right', 'tab').screen).toMatchObject({ response: 1, check: 0 });
  });

  it('scroll no further than their end', () => {
    const end = pressed(openingAnalysis, ...Array.from({ length: 90 }, () => 'down')).screen;
    expect(end.scroll).toBe(factsFor(openingAnalysis).mostScroll);
    expect(pressed(end, 'up').screen.scroll).toBe(end.scroll - 1);
  });

  it('record the recipe from the window', () => {
    const { deeds, screen } = pressed(openingAnalysis, '5', 'enter');
    const isFound = worked.window.value.kind === 'found';
    expect(deeds).toEqual(isFound ? [{ kind: 'propose recipe' }] : []);
    expect(screen.notice).toMatch(
      isFound ? /Recorded as the proposed recipe/ : /no recipe to record/,
    );
  });

  it('leave on q and on control-c', () => {
    expect(pressed(openingAnalysis, 'q').screen.isLeaving).toBe(true);
    const stop = analyseIntent(openingAnalysis, { ...none, input: 'c', isControl: true });
    expect(stop).toEqual({ kind: 'leave' });
  });
});

describe('AnalyseView', () => {
  const journal = (recorded: Happening[]): Journal =>
    ({
      state: () => study,
      record: (what: Happening) => void recorded.push(what),
      refresh: () => study,
    }) as unknown as Journal;

  /** Waits for a frame that shows something, without guessing how long it takes. */
  async function shown(frames: () => string | undefined, what: RegExp): Promise<string> {
    for (;;) {
      const now = frames() ?? '';
      if (what.test(now)) return now;
      await new Promise((resolve) => setImmediate(resolve));
    }
  }

  it('follows keys, and records a model in the journal', async () => {
    const recorded: Happening[] = [];
    const app = render(
      <AnalyseView journal={journal(recorded)} asked={0.9} priors={{}} theme={plain} />,
    );
    await shown(app.lastFrame, /from low to high/);
    app.stdin.write('2');
    await shown(app.lastFrame, /\[2 model\]/);
    app.stdin.write('a');
    await shown(app.lastFrame, /Tried, not recorded/);
    app.stdin.write('\r');
    await shown(app.lastFrame, /Recorded as the model of SD of diameter/);
    expect(recorded).toMatchObject([{ kind: 'model chosen', response: 'SD of diameter' }]);
    // Two arrows that arrive as one chunk are two arrows.
    app.stdin.write('3');
    await shown(app.lastFrame, /\[3 surface\]/);
    const crossAt = (): number | undefined =>
      app
        .lastFrame()
        ?.split('\n')
        .find((row) => row.includes('╋'))
        ?.indexOf('╋');
    const before = crossAt()!;
    app.stdin.write('\u001B[C\u001B[C');
    while (crossAt() === before) await new Promise((resolve) => setImmediate(resolve));
    const two = pressed(openingAnalysis, '3', 'right', 'right').screen;
    const row = text(two, { columns: 100, rows: 23 })
      .split('\n')
      .find((found) => found.includes('╋'))!;
    expect(crossAt()).toBe(row.indexOf('╋'));
    app.unmount();
  });
});
