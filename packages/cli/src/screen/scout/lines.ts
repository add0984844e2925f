import {
  cautions,
  gradeMaterial,
  type ScoutStep,
  type StudyState,
  settingChanges,
  shutdownAdvice,
  startTemperature,
} from '@strandwise/core';
import { bar } from '../../terminal/bar.ts';
import { countdown } from '../../terminal/duration.ts';
import { type Line, line, span, wrapped } from '../../terminal/line.ts';
import type { Theme } from '../../theme.ts';
import { proposalLines } from '../../wording/scout-text.ts';
import { framed, keyLines, type ScreenSize } from '../frame.ts';
import { lookKeys, type ScoutFacts, type ScoutScreen } from './state.ts';

/** The scouting screen as lines: what to set, how long to wait, what to look for. */
export function scoutLines(
  screen: ScoutScreen,
  facts: ScoutFacts,
  {
    study,
    size,
    theme,
  }: { readonly study: StudyState; readonly size: ScreenSize; readonly theme: Theme },
): Line[] {
  const { columns } = size;
  const head = line(` scout · ${study.opened.grade.name} · step ${facts.stepsTaken + 1}`, 'strong');
  return framed(
    {
      head,
      body: body(screen, facts, study, columns, theme),
      notice: screen.notice,
      foot: foot(screen, facts, columns),
    },
    size,
    theme,
  );
}

function body(
  screen: ScoutScreen,
  facts: ScoutFacts,
  study: StudyState,
  columns: number,
  theme: Theme,
): Line[] {
  const told = (text: string): Line[] => wrapped(text, columns - 3, 3).map((t) => line(t));
  const { grade, line: machine } = study.opened;
  if (screen.mode === 'before heating')
    return [
      line('   BEFORE HEATING', 'strong'),
      ...told(
        `${startTemperature(grade, machine).says} Let it soak there with the screw still; the steps set zone by zone from there.`,
      ),
      ...cautions('before heating', grade).flatMap(({ says }) =>
        told(`${theme.glyphs.wait} ${says}`),
      ),
    ];
  if (screen.mode === 'stopping')
    return [
      line('   STOP SAFELY', 'danger'),
      ...shutdownAdvice(gradeMaterial(grade), machine).steps.flatMap((text, i) =>
        told(`${i + 1}  ${text}`),
      ),
    ];
  const { advice } = facts;
  if (advice.kind === 'nothing holds') return [line(), ...told(advice.says)];
  if (advice.kind === 'done')
    return proposalLines(advice.proposal, columns).map((text) => line(text));
  const before = study.scouting.at(-1)?.setPoints ?? null;
  return [
    line('   SET NOW', 'strong'),
    ...settingChanges(machine, advice.setPoints, before).map(({ name, now, unit, by }): Line => {
      const change =
        by === null
          ? ''
          : `${by > 0 ? theme.glyphs.up : theme.glyphs.down} ${Number(Math.abs(by).toFixed(2))}`;
      return [
        span(`     ${name.padEnd(18)}`),
        span(`${String(now).padStart(6)} ${unit}`.padEnd(14), by === null ? 'plain' : 'changed'),
        span(change, 'changed'),
      ];
    }),
    line(),
    ...holdLines(screen, facts, theme),
    ...told(advice.says),
    ...levelLines(study.scouting, columns, theme),
    line(),
    line('   WHAT DO YOU SEE', 'strong'),
    ...lookKeys.map(
      ([key, look, says]): Line => [
        span(`     ${key}  `, 'strong'),
        span(look.padEnd(13), 'strong'),
        span(says),
      ],
    ),
  ];
}

function holdLines(
  { since }: ScoutScreen,
  { holdSeconds, nowMs }: ScoutFacts,
  theme: Theme,
): Line[] {
  const held = (nowMs - since) / 1000;
  const left = holdSeconds - held;
  return left > 0
    ? [
        [
          span('   HOLD   ', 'strong'),
          span(`${countdown(left)} to go  `),
          span(bar(held / holdSeconds, 24, theme), 'quiet'),
        ],
      ]
    : [[span('   HOLD IS OVER: look at the strand now', 'good')]];
}

/** The levels tried so far, cold to hot, with what was seen. */
function levelLines(steps: readonly ScoutStep[], columns: number, theme: Theme): Line[] {
  const levels = steps.filter(({ purpose }) => purpose === 'level');
  if (levels.length === 0) return [];
  const text = [...levels]
    .sort((a, b) => a.levelCelsius - b.levelCelsius)
    .map(({ levelCelsius, seen }) => `${levelCelsius} ${seen}`)
    .join(` ${theme.glyphs.arrow} `);
  return wrapped(`so far, °C: ${text}`, columns - 3, 3).map((t) => line(t, 'quiet'));
}

function foot({ mode }: ScoutScreen, { advice, isAdopted }: ScoutFacts, columns: number): Line[] {
  if (mode === 'before heating')
    return keyLines(
      [
        ['enter', 'all of this is so'],
        ['q', 'leave'],
      ],
      columns,
    );
  if (mode === 'stopping')
    return keyLines(
      [
        ['esc', 'back'],
        ['q', 'leave'],
      ],
      columns,
    );
  if (advice.kind === 'done')
    return keyLines(
      [
        isAdopted ? ['enter', 'leave'] : ['enter', 'take these ranges'],
        ['u', 'take a step back'],
        ['q', 'leave'],
      ],
      columns,
    );
  return keyLines(
    [
      ['1-6', 'what you see'],
      ['u', 'undo'],
      ['s', 'stop safely'],
      ['q', 'leave; resumes here'],
    ],
    columns,
  );
}
