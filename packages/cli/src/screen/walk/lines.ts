import type { Briefing, SettingChange } from '@strandwise/core';
import { bar } from '../../terminal/bar.ts';
import { clockTime, countdown, roughly } from '../../terminal/duration.ts';
import { cutLine, ends, type Line, line, span, wrapped } from '../../terminal/line.ts';
import type { Theme } from '../../theme.ts';
import { directionKeys, thenKeys } from './keys.ts';
import { cautionsFor, shutdownSteps } from './safety.ts';
import { heldSeconds, type WalkFacts, type WalkScreen } from './state.ts';

export interface Size {
  readonly columns: number;
  readonly rows: number;
}

/** The operator's screen as lines, exactly as many as fit. */
export function walkLines(screen: WalkScreen, facts: WalkFacts, size: Size, theme: Theme): Line[] {
  const { columns } = size;
  const rule = line(theme.glyphs.rule.repeat(columns), 'quiet');
  const head = headLine(facts, columns, theme);
  const foot = footLines(screen, facts, columns);
  const body = bodyLines(screen, facts, columns, theme);
  const notice =
    screen.notice === null
      ? []
      : wrapped(screen.notice, columns - 3, 3).map((text) => line(text, 'warning'));
  const room = Math.max(1, size.rows - 3 - foot.length - notice.length);
  const shown =
    body.length > room
      ? body.slice(0, room)
      : [...body, ...Array.from({ length: room - body.length }, () => line())];
  return [head, rule, ...shown, ...notice, rule, ...foot].map((spans) =>
    cutLine(spans, columns, theme),
  );
}

function headLine({ study, briefing, nowMs }: WalkFacts, columns: number, theme: Theme): Line {
  const grade = study.opened.grade.name;
  if (!briefing) return ends([span(` walk · ${grade}`, 'strong')], [], columns, theme);
  const plot = briefing.cell.run.wholePlot;
  const plots = new Set(study.cells.map(({ run }) => run.wholePlot)).size;
  const zone = plot === null || columns < 70 ? '' : ` · zone setting ${plot} of ${plots}`;
  const finish =
    columns < 60
      ? []
      : [span(`finish about ${clockTime(nowMs + 1000 * secondsLeft(briefing, nowMs))} `, 'quiet')];
  return ends(
    [span(` walk · ${grade} · cell ${briefing.place} of ${briefing.of}${zone}`, 'strong')],
    finish,
    columns,
    theme,
  );
}

function secondsLeft(briefing: Briefing, nowMs: number): number {
  return Math.max(0, briefing.secondsLeft - heldSeconds({ briefing, nowMs }));
}

function bodyLines(screen: WalkScreen, facts: WalkFacts, columns: number, theme: Theme): Line[] {
  switch (screen.mode.kind) {
    case 'asking':
      return askingLines(screen.mode, facts, columns);
    case 'failed how':
      return [
        line(),
        line(`   CELL ${facts.briefing?.cell.cell ?? ''} FAILED: which way?`, 'strong'),
        line(),
        ...directionKeys.map(([key, , says]) => [span(`     ${key}   `, 'strong'), span(says)]),
      ];
    case 'failed then':
      return failedThenLines(screen.mode.direction, facts, columns);
    case 'stopping':
      return [
        line('   STOP SAFELY', 'danger'),
        ...shutdownSteps(facts.study).flatMap((text, i) =>
          wrapped(`${i + 1}  ${text}`, columns - 4, 4).map((t) => line(t)),
        ),
      ];
    case 'keys':
      return keyLines();
    case 'cell':
      return facts.study.checks === null
        ? openingLines(facts, columns)
        : cellLines(screen, facts, columns, theme);
  }
}

function openingLines({ study }: WalkFacts, columns: number): Line[] {
  return [
    line('   BEFORE HEATING', 'strong'),
    ...cautionsFor(study, 'before heating').flatMap((text) =>
      wrapped(`· ${text}`, columns - 5, 5).map((t) => line(t)),
    ),
    line(),
    line('   Enter when all of this is so.'),
  ];
}

function cellLines(screen: WalkScreen, facts: WalkFacts, columns: number, theme: Theme): Line[] {
  const { briefing } = facts;
  if (!briefing) return doneLines(facts);
  const blocks = [settingLines(briefing.settings, columns, theme), [line()]];
  const { status } = briefing.cell;
  if (status === 'waiting') blocks.push(waitingLines(briefing, columns));
  if (status === 'holding') blocks.push(holdLines(facts, briefing, columns, theme));
  if (status === 'measuring') blocks.push(measureLines(screen, briefing));
  if (briefing.next) blocks.push([line(), line(nextLine(briefing.next), 'quiet')]);
  return blocks.flat();
}

function settingLines(settings: readonly SettingChange[], columns: number, theme: Theme): Line[] {
  const isNarrow = columns < 60;
  const width = Math.max(...settings.map(({ name }) => name.length));
  const head = isNarrow
    ? '   SET NOW'
    : `   SET NOW${' '.repeat(Math.max(2, width + 22 - 10))}before`;
  return [
    line(head, 'strong'),
    ...settings.map(({ name, unit, now, before, by }): Line => {
      const value = `${String(now).padStart(7)} ${unit}`.padEnd(13);
      const change =
        by === null
          ? typeof now === 'string' && before !== null && before !== now
            ? 'changed'
            : ''
          : changeText(by, theme);
      const role = change === '' ? 'plain' : 'changed';
      const old = isNarrow || before === null ? '' : String(before);
      return [
        span(`     ${name.padEnd(width)} `),
        span(value, change === '' ? 'strong' : role),
        span(change.padEnd(10), role),
        span(old, 'quiet'),
      ];
    }),
  ];
}

function changeText(by: number, { glyphs, isUnicode }: Theme): string {
  const size = String(Number(Math.abs(by).toPrecision(6)));
  if (!isUnicode) return `${by > 0 ? '+' : '-'}${size}`;
  return `${by > 0 ? glyphs.up : glyphs.down} ${size}`;
}

function waitingLines({ refusals, hold }: Briefing, columns: number): Line[] {
  if (refusals.length > 0) {
    return refusals.flatMap(({ says }) =>
      wrapped(says, columns - 5, 3).map((text) => line(text, 'danger')),
    );
  }
  return [
    line(`   then hold ${roughly(hold.seconds)}; slowest: ${hold.binding}`),
    line('   enter when the settings are in', 'strong'),
  ];
}

function holdLines(
  facts: WalkFacts,
  { cell, hold }: Briefing,
  columns: number,
  theme: Theme,
): Line[] {
  const wanted = cell.holdSeconds ?? hold.seconds;
  const held = heldSeconds(facts);
  const left = wanted - held;
  const width = Math.max(8, Math.min(40, columns - 34));
  const zonesWanted = hold.parts.thermal;
  const flushed = Math.max(0, held - zonesWanted);
  const flushWanted = hold.parts.flush;
  const share = (part: number, whole: number): number => (whole <= 0 ? 1 : part / whole);
  return [
    left > 0
      ? [
          span(`   HOLD   ${countdown(left)} to go`, 'strong'),
          span(columns < 60 ? '' : `        slowest: ${hold.binding}`, 'quiet'),
        ]
      : line('   HOLD IS OVER   enter to measure', 'good'),
    line(
      `     zones   ${bar(share(held, zonesWanted), width, theme)} ${held >= zonesWanted ? 'settled by the clock' : countdown(zonesWanted - held)}`,
    ),
    line(
      `     flush   ${bar(share(flushed, flushWanted), width, theme)} ${flushVolumes(hold, flushed)}`,
    ),
  ];
}

function flushVolumes(
  { parts, barrelVolumes, seconds }: Briefing['hold'],
  flushed: number,
): string {
  const perSecond = barrelVolumes / Math.max(1e-9, seconds - parts.thermal);
  return `${(perSecond * flushed).toFixed(1)} barrel volumes`;
}

function measureLines({ tally }: WalkScreen, { cell }: Briefing): Line[] {
  const { log, measured, bubbles } = cell.readings;
  const read =
    log && measured
      ? line(
          `     log       ${log.raw.name}: SD ${measured.diameterSdMm.toFixed(4)} mm over ${Math.round(measured.toSeconds - measured.fromSeconds)} s`,
          'good',
        )
      : line('     log       l attaches the diameter log');
  const counted = bubbles
    ? line(`     bubbles   ${bubbles.count} in ${bubbles.metres} m`, 'good')
    : line(`     bubbles   ${tally} counted    space +1    backspace -1`);
  return [
    line('   MEASURE', 'strong'),
    read,
    counted,
    line(log || bubbles || tally > 0 ? '   enter when this cell is measured' : ''),
  ];
}

function nextLine({ cell, settings, hold }: NonNullable<Briefing['next']>): string {
  const changed = settings
    .filter(({ now, before }) => now !== before)
    .map(({ name, before, now }) => `${name.split('  ')[0]} ${before} → ${now}`);
  const what =
    changed.length === 0
      ? 'the same settings again'
      : changed.length > 3
        ? `${changed.length} settings change`
        : changed.join(', ');
  return `   next   cell ${cell.cell}: ${what}, hold ${roughly(hold.seconds)}`;
}

function doneLines({ study }: WalkFacts): Line[] {
  const count = (status: string): number =>
    study.cells.filter((cell) => cell.status === status).length;
  return [
    line(),
    line('   THE WALK IS DONE', 'good'),
    line(),
    line(`     ${count('done')} cells measured, ${count('failed')} failed`),
    line('     next: strandwise fit'),
    line(),
    line(
      '     Before leaving the machine press s: what the barrel needs before it cools.',
      'warning',
    ),
  ];
}

function askingLines(
  mode: Extract<WalkScreen['mode'], { kind: 'asking' }>,
  { study }: WalkFacts,
  columns: number,
): Line[] {
  const { question, draft } = mode;
  const [title, help]: readonly [string, string] = {
    'log file': ['DIAMETER LOG', 'Path of the log file for this cell (CSV).'] as const,
    metres: ['METRES INSPECTED', 'How many metres of strand were looked at for bubbles.'] as const,
    note: ['NOTE', 'Anything worth knowing later.'] as const,
    'why early': [
      'MEASURE EARLY',
      'Why, in a few words? It stands in the record beside the cell.',
    ] as const,
    barrel: [
      'IN THE BARREL',
      `What plastic is in the barrel now? ("${study.opened.grade.name}" if it is this grade, "clean" if empty)`,
    ] as const,
    dried: ['DRIED', 'For how many hours were the pellets dried? Empty if not.'] as const,
  }[question.kind];
  const count = question.kind === 'metres' ? [line(`   ${question.count} bubbles counted`)] : [];
  return [
    line(`   ${title}`, 'strong'),
    line(),
    ...count,
    ...wrapped(help, columns - 4, 3).map((text) => line(text)),
    line(),
    [span('   > '), span(draft, 'strong'), span('_', 'quiet')],
  ];
}

function failedThenLines(
  direction: string,
  { briefing, study }: WalkFacts,
  columns: number,
): Line[] {
  const left =
    study.cells.filter(({ status }) => status !== 'failed' && status !== 'left out').length - 1;
  return [
    line(),
    line(
      `   CELL ${briefing?.cell.cell ?? ''} FAILED ${direction.toUpperCase()}: and now?`,
      'strong',
    ),
    line(),
    ...thenKeys.map(([key, , says]): Line => [span(`     ${key}   `, 'strong'), span(says)]),
    line(),
    ...wrapped(
      `Left out, the plan keeps ${left} cells. How it failed stays in the record and tells the fit where the line does not run.`,
      columns - 4,
      3,
    ).map((t) => line(t, 'quiet')),
  ];
}

function keyLines(): Line[] {
  const keys: readonly (readonly [string, string])[] = [
    ['enter', 'the one thing that comes next'],
    ['m', 'measure before the hold is over (asks why)'],
    ['l', 'attach a diameter log'],
    ['space', 'one bubble more; backspace one less'],
    ['x', 'this cell failed'],
    ['p', 'move this cell to the end'],
    ['n', 'write a note'],
    ['u', 'undo the latest entry'],
    ['r', 'do the cell before again'],
    ['s', 'stop safely: what the barrel needs'],
    ['q', 'leave; the walk resumes exactly here'],
  ];
  return [
    line('   KEYS', 'strong'),
    ...keys.map(([key, says]): Line => [span(`     ${key.padEnd(8)}`, 'strong'), span(says)]),
  ];
}

function footLines(screen: WalkScreen, { briefing }: WalkFacts, columns: number): Line[] {
  const isNarrow = columns < 60;
  switch (screen.mode.kind) {
    case 'asking':
      return [line(' enter done    esc back')];
    case 'failed how':
    case 'failed then':
      return [line(' esc back')];
    case 'stopping':
      return [line(' any key back    q leave')];
    case 'keys':
      return [line(' any key back')];
    case 'cell': {
      const status = briefing?.cell.status;
      if (isNarrow) return [line(' enter next  x failed  u undo  ? keys')];
      const enter =
        { waiting: 'settings are in', holding: 'measure when over', measuring: 'cell is measured' }[
          status as 'waiting'
        ] ?? 'go on';
      return [
        line(` enter ${enter}    x cell failed    n note    u undo    q leave`),
        line(' s stop safely    m measure early    l log    space bubble    ? all keys'),
      ];
    }
  }
}
