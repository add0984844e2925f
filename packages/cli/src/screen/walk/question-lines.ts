import { describeCellLoss, duration, type StudyState } from '@strandwise/core';
import { clockTime } from '../../terminal/duration.ts';
import { type Line, line, span, wrapped } from '../../terminal/line.ts';
import { type Block, block } from './fitted.ts';
import { gates } from './gate.ts';
import { cellKeys, directionKeys, skipKeys, thenKeys } from './keys.ts';
import type { Look } from './look.ts';
import { cautionsFor, safeStop } from './safety.ts';
import {
  setPointsNow,
  type WalkFacts,
  type WalkMode,
  type WalkQuestion,
  type WalkScreen,
} from './screen.ts';
import { settingAt, settingCount, settingName } from './set-point.ts';

type ModeOf<K extends WalkMode['kind']> = Extract<WalkMode, { kind: K }>;

const paragraphs = (texts: readonly string[], columns: number, indent = 3): Line[] =>
  texts.flatMap((text) => wrapped(text, columns - 3, indent).map((says) => line(says)));

/** The checklist before heating: done ones ticked, one asked, the rest to come. */
export function gateBlocks(mode: ModeOf<'gate'>, { study }: WalkFacts, look: Look): Block[] {
  const { columns, theme } = look;
  const all = gates(study, mode.answers);
  const done = all.slice(0, mode.at).map(({ name }, i): Block => {
    const answer = mode.answers[i]!;
    const said = answer === 'yes' ? '' : `   ${answer}`;
    return block(4, [
      span(`     ${theme.glyphs.ok} `, 'good'),
      span(name, 'quiet'),
      span(said, 'quiet'),
    ]);
  });
  const gate = all[mode.at];
  const later = all
    .slice(mode.at + 1)
    .map(({ name }) => block(6, line(`     ${theme.glyphs.wait} ${name}`, 'quiet')));
  const head = block(0, line('   BEFORE HEATING', 'strong'));
  if (!gate) return [head, ...done];
  if (gate.kind === 'refused') {
    const says = gate.says.flatMap((text) => wrapped(text, columns - 6, 5));
    return [
      head,
      ...done,
      block(0, line('     STOP: this may not be heated', 'danger'), ...says.map((t) => line(t))),
      block(0, line(), line('     esc goes back to correct what was said', 'quiet')),
    ];
  }
  const asks = wrapped(gate.asks, columns - 6, 5).map((text) => line(text));
  const answer =
    gate.kind === 'sure' ? line('     y yes    n not yet', 'strong') : answerLine(mode, 5);
  return [
    head,
    ...done,
    block(0, line(`     ${theme.glyphs.arrow} ${gate.name}`, 'strong'), ...asks, answer),
    ...later,
    block(
      7,
      line(),
      ...wrapped(
        'A yes to all does not make it safe. Follow the manual, local rules and your supervisor.',
        columns - 6,
        5,
      ).map((t) => line(t, 'quiet')),
    ),
  ];
}

/** What is typed so far; a suggestion says that enter takes it. */
function answerLine(
  mode: { readonly draft: string; readonly isOffered?: boolean },
  indent: number,
): Line {
  const start = span(`${' '.repeat(indent)}> `);
  return mode.isOffered
    ? [start, span(mode.draft, 'strong'), span('   enter takes this, typing replaces it', 'quiet')]
    : [start, span(mode.draft, 'strong'), span('_', 'quiet')];
}

/** The title and the help of each question. */
function questionWords(question: WalkQuestion, facts: WalkFacts): readonly [string, string] {
  const { briefing, study } = facts;
  const cell = briefing?.cell.cell ?? '';
  switch (question.kind) {
    case 'log file':
      return ['DIAMETER LOG', 'Path of the log file for this cell.'];
    case 'metres':
      return [
        'METRES INSPECTED',
        `${question.count} bubbles counted. How many metres of strand were looked at? From the puller where it is known.`,
      ];
    case 'note':
      return ['NOTE', 'Anything worth knowing later.'];
    case 'why early':
      return ['MEASURE EARLY', 'Why, in a few words? It stands in the record beside the cell.'];
    case 'why longer':
      return ['HELD LONGER', 'Why, in a few words? Enter takes what stands there.'];
    case 'why cut short':
      return ['CUT THE WINDOW SHORT', 'Why? A short window makes the SD less sure.'];
    case 'why unsettled':
      return [
        'NOT SETTLED',
        `${question.says} To keep it as it is, say why; esc goes on measuring.`,
      ];
    case 'why failed':
      return [
        `CELL ${cell} FAILED ${question.direction.toUpperCase()}`,
        'What was seen? Enter alone if there is nothing to add.',
      ];
    case 'evidence':
      return [
        'PHOTO OR FILE',
        'Path or name of a photo or file that shows it. Enter alone if there is none.',
      ];
    case 'why left out':
      return ['LEAVE OUT', 'Why will this cell not be run?'];
    case 'set point': {
      const { name, unit } = settingAt(briefing!.cell.run.setPoints!, question.at);
      return [name.toUpperCase(), `What does the controller truly show, in ${unit || 'its unit'}?`];
    }
    case 'value': {
      const unit = study.opened.responses.find(({ name }) => name === question.response)?.unit;
      return [question.response.toUpperCase(), `The value${unit ? ` in ${unit}` : ''}.`];
    }
    case 'recounted by':
      return [
        `SECOND COUNT, CELL ${question.cell}`,
        'Who counts? They should not have seen the first count.',
      ];
    case 'recount': {
      const metres = study.cells[question.cell - 1]?.readings.bubbles?.metres;
      return [
        `SECOND COUNT, CELL ${question.cell}`,
        `${question.by}: how many bubbles on the same ${metres} m?`,
      ];
    }
    case 'who takes over':
      return ['HAND OVER', 'Who walks from here?'];
    case 'word to the next':
      return ['HAND OVER', `What should ${question.to} know?`];
    case 'barrel leaves with':
      return ['SHUT DOWN', 'What stays in the barrel? Whoever heats it next needs to know.'];
  }
}

export function askingBlocks(mode: ModeOf<'asking'>, facts: WalkFacts, look: Look): Block[] {
  const [title, help] = questionWords(mode.question, facts);
  return [
    block(0, line(`   ${title}`, 'strong'), line(), ...paragraphs([help], look.columns), line(), [
      span('   > '),
      span(mode.draft, 'strong'),
      span('_', 'quiet'),
    ]),
  ];
}

const keyRows = (keys: readonly (readonly [string, unknown, string])[]): Line[] =>
  keys.map(([key, , says]): Line => [span(`     ${key}   `, 'strong'), span(says)]);

export function failedHowBlocks({ briefing, study }: WalkFacts, look: Look): Block[] {
  const caution = cautionsFor(study, 'failed cell').slice(1, 3);
  return [
    block(
      0,
      line(),
      line(`   CELL ${briefing?.cell.cell ?? ''} FAILED: which way?`, 'strong'),
      line(),
      ...keyRows(directionKeys),
    ),
    block(
      2,
      line(),
      ...caution.flatMap((t) => wrapped(t, look.columns - 4, 3).map((x) => line(x, 'warning'))),
    ),
  ];
}

export function failedThenBlocks(
  { direction }: ModeOf<'failed then'>,
  facts: WalkFacts,
  look: Look,
): Block[] {
  const { briefing, nearer } = facts;
  const keys = thenKeys.filter(([, next]) => next !== 'nearer' || nearer !== null);
  return [
    block(
      0,
      line(),
      line(
        `   CELL ${briefing?.cell.cell ?? ''} FAILED ${direction.toUpperCase()}: and now?`,
        'strong',
      ),
      line(),
      ...keyRows(keys),
      line(),
      ...costLines(facts, look),
    ),
    block(
      2,
      line(),
      ...wrapped(
        'How it failed stays in the record and tells the fit where the line does not run.',
        look.columns - 4,
        3,
      ).map((text) => line(text, 'quiet')),
    ),
  ];
}

export function skippingBlocks(facts: WalkFacts, look: Look): Block[] {
  return [
    block(
      0,
      line(),
      line(`   SKIP CELL ${facts.briefing?.cell.cell ?? ''}`, 'strong'),
      line(),
      ...keyRows(skipKeys),
      line(),
      ...costLines(facts, look),
    ),
  ];
}

function costLines({ loss }: WalkFacts, look: Look): Line[] {
  if (!loss) return [];
  return [
    line('   Left out, the plan loses:', 'strong'),
    ...describeCellLoss(loss).flatMap((text) =>
      wrapped(text, look.columns - 6, 5).map((says) => line(says)),
    ),
  ];
}

export function choosingBlocks(
  screen: WalkScreen,
  { what }: ModeOf<'choosing'>,
  facts: WalkFacts,
): Block[] {
  const numbered = (names: readonly string[]): Line[] =>
    names.map((name, i): Line => [span(`     ${i + 1}   `, 'strong'), span(name)]);
  if (what === 'value') {
    const names = facts.study.opened.responses.map(
      ({ name, unit }) => `${name}${unit ? `, ${unit}` : ''}`,
    );
    return [block(0, line('   ENTER BY HAND: which?', 'strong'), line(), ...numbered(names))];
  }
  const setPoints = setPointsNow(screen, facts)!;
  const names = Array.from({ length: settingCount(setPoints) }, (_, at) => {
    const { value, unit } = settingAt(setPoints, at);
    return `${settingName(setPoints, at, facts.study.opened.line).padEnd(16)} ${value} ${unit}`;
  });
  return [
    block(
      0,
      line('   KEYED IN DIFFERENTLY: which set point?', 'strong'),
      line(),
      ...numbered(names),
    ),
  ];
}

/** The step to do now and those after it; a small terminal shows fewer of the later ones. */
export function stoppingBlocks(
  { at }: ModeOf<'stopping'>,
  { study }: WalkFacts,
  look: Look,
): Block[] {
  const { steps } = safeStop(study);
  const holds = study.barrelHolds ?? study.opened.grade.name;
  const now = Math.min(at, steps.length - 1);
  const done = now === 0 ? [] : [block(2, line(`     ${now} of ${steps.length} done`, 'quiet'))];
  const step = (text: string, i: number): Line[] =>
    wrapped(text, look.columns - 10, 0).map((says, k): Line => {
      const number = k > 0 ? '' : i === now ? `${look.theme.glyphs.arrow} ${i + 1}` : String(i + 1);
      return [span(`   ${number.padStart(4)}  `), span(says, i === now ? 'strong' : 'quiet')];
    });
  return [
    block(0, line(`   STOP SAFELY   in the barrel: ${holds}`, 'danger')),
    ...done,
    ...steps.flatMap((text, i) => (i < now ? [] : [block(i - now, ...step(text, i))])),
  ];
}

export function holdsBlocks({ offer }: WalkFacts, look: Look): Block[] {
  if (!offer) return [block(0, line('   Nothing is learned of the holds yet.'))];
  return [
    block(
      0,
      line('   HOLDS LEARNED FROM THIS WALK', 'strong'),
      line(),
      ...paragraphs(offer.says, look.columns, 5),
      line(),
      line('     y use them from here on    n leave the holds as they are', 'strong'),
    ),
  ];
}

/** What has been noted: for the next shift, and for someone who watches. */
export function recordBlocks({ study }: WalkFacts, look: Look, room: number): Block[] {
  const lines = recordOf(study).slice(-(room - 2));
  return [
    block(
      0,
      line('   NOTED SO FAR', 'strong'),
      ...(lines.length === 0 ? [line('     nothing yet')] : []),
      ...lines.map(({ at, text }) =>
        line(`   ${clockTime(Date.parse(at))}  ${text}`.slice(0, look.columns - 1)),
      ),
    ),
  ];
}

function recordOf({ notes, troubles, cells }: StudyState): { at: string; text: string }[] {
  const failed = cells.flatMap(({ cell, failures }) =>
    failures.map(({ at, direction, why }) => ({
      at,
      text: `cell ${cell} failed ${direction}${why ? `: ${why}` : ''}`,
    })),
  );
  const done = cells.flatMap(({ cell, finishedAt, status, heldSeconds }) =>
    finishedAt !== null && status === 'done'
      ? [{ at: finishedAt, text: `cell ${cell} measured, held ${duration(heldSeconds ?? 0)}` }]
      : [],
  );
  return [
    ...notes.map(({ at, who, cell, text }) => ({
      at,
      text: `${who}${cell === null ? '' : `, cell ${cell}`}: ${text}`,
    })),
    ...troubles.map(({ at, says }) => ({ at, text: `gauge or clock: ${says}` })),
    ...failed,
    ...done,
  ].sort((a, b) => (a.at < b.at ? -1 : 1));
}

/** All keys in two columns, which fit into a small terminal. */
export function keyBlocks({ columns }: Look): Block[] {
  const isNarrow = columns < 60;
  const half = Math.ceil(cellKeys.length / 2);
  const width = Math.floor((columns - 2) / 2);
  const entry = ([key, , says, short]: (typeof cellKeys)[number]): Line => {
    const words = isNarrow ? short : says;
    return [
      span(` ${(key === ' ' ? 'space' : key).padEnd(6)}`, 'strong'),
      span(words.padEnd(width - 7).slice(0, width - 7)),
    ];
  };
  const rows = Array.from({ length: half }, (_, i): Line => {
    const right = cellKeys[half + i];
    return [...entry(cellKeys[i]!), ...(right ? entry(right) : [])];
  });
  return [block(0, line('   KEYS', 'strong'), line(), ...rows)];
}
