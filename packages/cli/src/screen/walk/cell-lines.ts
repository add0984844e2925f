import {
  type Briefing,
  type SetPoints,
  type SettingChange,
  type SettingStep,
  settingSequence,
} from '@strandwise/core';
import type { WindowSoFar } from '../../reading/live-cell.ts';
import type { LiveView } from '../../reading/live-recorder.ts';
import { bar, spark } from '../../terminal/bar.ts';
import { countdown, roughly } from '../../terminal/duration.ts';
import { type Line, line, type Span, span, wrapped } from '../../terminal/line.ts';
import { trace } from '../../terminal/trace.ts';
import type { Theme } from '../../theme.ts';
import { type Block, block } from './fitted.ts';
import { type HoldState, holdState } from './hold.ts';
import { cautionsFor } from './safety.ts';
import { setPointsNow, type WalkFacts, type WalkScreen } from './screen.ts';
import { settingAt } from './set-point.ts';

export interface Look {
  readonly columns: number;
  readonly theme: Theme;
}

const isNarrow = ({ columns }: Look): boolean => columns < 60;

/** The cell in hand: what to set, how the hold stands, what is measured. */
export function cellBlocks(screen: WalkScreen, facts: WalkFacts, look: Look): Block[] {
  const { briefing } = facts;
  if (!briefing) return doneBlocks(facts, look);
  switch (briefing.cell.status) {
    case 'waiting':
      return waitingBlocks(facts, briefing, look);
    case 'holding':
      return holdingBlocks(facts, briefing, look);
    default:
      return measuringBlocks(screen, facts, briefing, look);
  }
}

function waitingBlocks(facts: WalkFacts, briefing: Briefing, look: Look): Block[] {
  const { hold, refusals, cell } = briefing;
  const failed = cell.failures.at(-1);
  const again = failed
    ? [line(`   again: it failed ${failed.direction} before`, 'warning')]
    : cell.purpose === 'plan'
      ? []
      : [line(`   ${purposeWords[cell.purpose]}`, 'quiet')];
  const then =
    refusals.length > 0
      ? refusals.flatMap(({ says }) =>
          wrapped(says, look.columns - 5, 3).map((text) => line(text, 'danger')),
        )
      : [line('   enter   when the settings are in', 'strong')];
  const howLong =
    refusals.length > 0
      ? []
      : [
          line(
            `   then    hold ${roughly(hold.seconds)}${isNarrow(look) ? '' : `, slowest: ${hold.binding}`}`,
          ),
        ];
  return [
    block(0, ...settingLines(briefing, 'SET NOW', look)),
    ...again.map((text) => block(2, text)),
    block(3, line()),
    block(4, ...orderLines(facts, briefing, look)),
    block(1, ...howLong),
    block(0, ...then),
    ...(facts.offer ? [block(2, line(`   h       ${facts.offer.title}`, 'good'))] : []),
    block(6, line()),
    block(5, ...nextLines(briefing, look)),
    block(7, line(), ...cautionLine(facts, look)),
  ];
}

const purposeWords = {
  plan: '',
  augment: 'added to the plan',
  confirm: 'confirms the recipe: a longer flush',
  replace: 'stands in for a cell that failed',
} as const;

function holdingBlocks(facts: WalkFacts, briefing: Briefing, look: Look): Block[] {
  const hold = holdState(facts);
  const settings = settingLines(briefing, 'SET', look);
  return [
    block(0, settings[0]!),
    ...settings.slice(1).map((text, i) => block(isChanged(briefing.settings[i]) ? 3 : 8, text)),
    block(6, line()),
    block(0, holdLine(hold, briefing, look)),
    block(1, ...lightLines(hold, briefing, look)),
    block(7, line()),
    block(2, ...gaugeLines(facts.live, look)),
    block(5, ...nextLines(briefing, look)),
    block(9, line(), ...cautionLine(facts, look)),
  ];
}

const isChanged = (setting: SettingChange | undefined): boolean =>
  setting !== undefined && setting.before !== null && setting.now !== setting.before;

function settingLines({ settings, cell }: Briefing, title: string, look: Look): Line[] {
  const width = Math.max(...settings.map(({ name }) => name.length));
  const planned = cell.run.setPoints;
  const head = `   ${title}`;
  const isFirst = settings.every(({ before }) => before === null);
  const withBefore = isNarrow(look) || isFirst ? head : `${head.padEnd(width + 31)}before`;
  return [
    line(withBefore, 'strong'),
    ...settings.map((setting, at) =>
      settingLine(setting, width, plannedNote(planned, setting, at), look),
    ),
  ];
}

/** A setting that is not the plan's says what the plan had. */
function plannedNote(planned: SetPoints | null, { now }: SettingChange, at: number): string {
  if (!planned) return '';
  const { value } = settingAt(planned, at);
  return value === now ? '' : `plan ${value}`;
}

function settingLine(
  { name, unit, now, before, by }: SettingChange,
  width: number,
  note: string,
  look: Look,
): Line {
  const value = `${String(now).padStart(7)} ${unit}`.padEnd(13);
  const isDifferent = before !== null && now !== before;
  const change = by !== null ? changeText(by, look.theme) : isDifferent ? 'changed' : '';
  const old = isNarrow(look) || before === null ? '' : String(before).padStart(6);
  return [
    span(`     ${name.padEnd(width)} `),
    span(value, change === '' ? 'strong' : 'changed'),
    span(change.padEnd(10), 'changed'),
    span(old, 'quiet'),
    span(note === '' ? '' : `   ${note}`, 'warning'),
  ];
}

function changeText(by: number, { glyphs, isUnicode }: Theme): string {
  const size = String(Number(Math.abs(by).toPrecision(6)));
  if (!isUnicode) return `${by > 0 ? '+' : '-'}${size}`;
  return `${by > 0 ? glyphs.up : glyphs.down} ${size}`;
}

/** In which order to key in, when more than one thing changes. */
function orderLines({ study }: WalkFacts, { settings, cell }: Briefing, look: Look): Line[] {
  const to = cell.run.setPoints!;
  const from = beforePoints(to, settings);
  const steps = settingSequence(from, to, study.opened.line);
  if (from === null) {
    return labelled('order', 'die end first, screw still until every zone has soaked', look);
  }
  return steps.length < 2 ? [] : labelled('order', steps.map(stepWords).join(', then '), look);
}

/** Words behind a label, with further lines indented under them. */
function labelled(label: string, says: string, look: Look): Line[] {
  return wrapped(says, look.columns - 2, 11).map((text, i) =>
    line(i === 0 ? `   ${label.padEnd(8)}${text.trim()}` : text, 'quiet'),
  );
}

const stepWords = ({ what, name, afterSettling }: SettingStep): string =>
  `${what === 'zone' ? name : name}${afterSettling ? ' once the zones have settled' : ''}`;

function beforePoints(to: SetPoints, settings: readonly SettingChange[]): SetPoints | null {
  if (settings.every(({ before }) => before === null)) return null;
  const n = to.zonesCelsius.length;
  const was = settings.map(({ before, now }) => before ?? now);
  return {
    zonesCelsius: was.slice(0, n).map(Number),
    screwRpm: Number(was[n]),
    fanPercent: Number(was[n + 1]),
    other: Object.fromEntries(Object.keys(to.other).map((name, i) => [name, was[n + 2 + i]!])),
  };
}

function holdLine(hold: HoldState, { hold: planned }: Briefing, look: Look): Line {
  if (hold.isOver) return line('   HOLD IS OVER   enter to measure', 'good');
  const slowest = isNarrow(look) || hold.by === 'gauge' ? '' : `      slowest: ${planned.binding}`;
  const about = hold.by === 'gauge' ? 'about ' : '';
  const left = hold.leftSeconds
    ? `${about}${countdown(hold.leftSeconds)} to go`
    : `waits for ${unlit(hold).join(' and ')}`;
  const late =
    hold.held > hold.wanted + 300 && !isNarrow(look) ? '   m measures, with a reason' : '';
  return [span(`   HOLD   ${left}`, 'strong'), span(slowest + late, 'quiet')];
}

const unlit = ({ lights }: HoldState): string[] =>
  (['zones', 'flush', 'strand'] as const).filter((name) => lights && !lights[name].isOn);

function lightLines(hold: HoldState, { hold: planned }: Briefing, look: Look): Line[] {
  if (hold.lights) {
    return (['zones', 'flush', 'strand'] as const).map((name): Line => {
      const { isOn, says } = hold.lights![name];
      const mark = isOn ? look.theme.glyphs.dot : look.theme.glyphs.openDot;
      const words = shorn(says, name);
      return [
        span(`     ${mark} `, isOn ? 'good' : 'plain'),
        span(`${name.padEnd(7)} `, isOn ? 'good' : 'strong'),
        span(words),
      ];
    });
  }
  const { held } = hold;
  const { thermal, flush } = planned.parts;
  const width = Math.max(8, Math.min(36, look.columns - 38));
  const share = (part: number, whole: number): number => (whole <= 0 ? 1 : part / whole);
  const flushed = Math.max(0, held - thermal);
  const volumes = (flushed / Math.max(1, planned.seconds - thermal)) * planned.barrelVolumes;
  const zonesSay = held >= thermal ? 'settled by the clock' : countdown(thermal - held);
  const flushSays = flush <= 0 ? 'not needed' : `${volumes.toFixed(1)} barrel volumes`;
  const row = (name: string, done: number, says: string): Line =>
    isNarrow(look)
      ? line(`     ${name.padEnd(7)} ${says}`)
      : line(`     ${name.padEnd(7)} ${bar(done, width, look.theme)}  ${says}`);
  return [
    row('zones', share(held, thermal), zonesSay),
    row('flush', share(flushed, flush), flushSays),
  ];
}

/** The reason without the name of its light in front. */
function shorn(says: string, name: string): string {
  const short = says.startsWith(`${name} `) || says.startsWith(`${name}: `);
  if (says.startsWith('0.0 of 0.0 barrel volumes')) return 'nothing to flush';
  return short ? says.slice(name.length).replace(/^:?\s*/, '') : says;
}

/** The gauge at this moment: value, last minute, how it is. */
export function gaugeLines(live: LiveView | null, look: Look): Line[] {
  if (!live) return [];
  const { theme, columns } = look;
  if (live.trouble !== null) {
    return wrapped(`gauge: ${live.trouble}. The walk goes on by hand.`, columns - 4, 3).map(
      (text) => line(text, 'warning'),
    );
  }
  if (!live.isHeard) return [line(`   gauge   nothing heard yet from ${live.place}`, 'quiet')];
  const value = live.diameterMm === null ? '' : `${live.diameterMm.toFixed(3)} mm`;
  const width = isNarrow(look) ? 12 : 30;
  const minute = spark(thinned(live.lastMinute, width), width, theme);
  const rate = live.perSecond >= 0.5 ? `${Math.round(live.perSecond)} a second` : 'slow';
  const how = isNarrow(look) ? '' : `  last 60 s   gauge live, ${rate}`;
  return [[span(`   ${value} `, 'strong'), span(minute), span(how, 'quiet')]];
}

/** Every so-many-th value, so that the last minute fits. */
function thinned(values: Float64Array, most: number): Float64Array {
  if (values.length <= most) return values;
  return Float64Array.from(
    { length: most },
    (_, i) => values[Math.floor(((i + 1) * values.length) / most) - 1]!,
  );
}

function measuringBlocks(
  screen: WalkScreen,
  facts: WalkFacts,
  briefing: Briefing,
  look: Look,
): Block[] {
  const { readings } = briefing.cell;
  const window = readings.log === null ? (facts.live?.window ?? null) : null;
  const now = setPointsNow(screen, facts)!;
  return [
    block(6, setPointsLine(now, look)),
    block(7, line()),
    ...(window ? windowBlocks(window, facts, look) : logBlocks(facts, briefing)),
    block(4, line()),
    block(0, ...bubbleLines(screen, facts, briefing, look)),
    ...Object.entries(readings.values).map(([name, value]) =>
      block(2, line(`   ${name}: ${value}`, 'good')),
    ),
    block(3, line()),
    block(0, ...measureAction(screen, facts, briefing)),
    block(5, ...nextLines(briefing, look)),
  ];
}

function setPointsLine({ zonesCelsius, screwRpm, fanPercent }: SetPoints, look: Look): Line {
  const zones = zonesCelsius.join(isNarrow(look) ? ' ' : ' · ');
  return line(`   at   ${zones} °C   ${screwRpm} rpm   fan ${fanPercent} %`, 'quiet');
}

function windowBlocks(window: WindowSoFar, facts: WalkFacts, look: Look): Block[] {
  const { seconds, neededSeconds, because, figures, ripple } = window;
  const isFull = seconds >= neededSeconds;
  const head = isFull
    ? line(`   MEASURED   ${countdown(seconds)}   enter keeps it`, 'good')
    : line(`   MEASURE   ${countdown(seconds)} of ${countdown(neededSeconds)}`, 'strong');
  const why = isNarrow(look) || isFull ? [] : [line(`     needed: ${because}`, 'quiet')];
  const trouble = facts.live?.trouble ? gaugeLines(facts.live, look) : [];
  const said = figures
    ? `SD ${figures.sdMm.toFixed(4)} mm, worth ${Math.round(figures.effectiveN)} independent readings; outside ${(100 * figures.outsideShare).toFixed(1)} %`
    : 'too few readings for a figure yet';
  return [
    block(0, head),
    block(5, ...why),
    block(1, ...trouble),
    block(3, ...traceLines(window, facts, look)),
    block(1, ...wrapped(said, look.columns - 6, 5).map((text) => line(text))),
    ...(ripple === null
      ? []
      : [block(4, ...wrapped(`ripple ${ripple}`, look.columns - 6, 5).map((t) => line(t)))]),
  ];
}

/** The trace between the limits of the tolerance, which are drawn as rules. */
function traceLines({ trace: values }: WindowSoFar, { study }: WalkFacts, look: Look): Line[] {
  const { diameterMm, toleranceMm } = study.opened.product;
  const { theme } = look;
  const columns = Math.max(20, Math.min(80, look.columns - (isNarrow(look) ? 8 : 20)));
  if (values.length === 0) return [];
  const rows = trace(
    {
      values,
      low: diameterMm - toleranceMm,
      high: diameterMm + toleranceMm,
      columns,
      rows: theme.isUnicode ? 2 : 4,
    },
    theme,
  );
  const limit = (sign: string): Line =>
    line(
      `     ${theme.glyphs.rule.repeat(columns)}${isNarrow(look) ? '' : ` ${sign}${toleranceMm}`}`,
      'quiet',
    );
  return [limit('+'), ...rows.map((row) => line(`     ${row}`)), limit(theme.glyphs.minus)];
}

function logBlocks({ live }: WalkFacts, { cell }: Briefing): Block[] {
  const { log, measured } = cell.readings;
  const said =
    log && measured
      ? [
          line('   MEASURED', 'strong'),
          line(
            `     SD ${measured.diameterSdMm.toFixed(4)} mm over ${countdown(measured.toSeconds - measured.fromSeconds)}   ${log.raw.name}`,
            'good',
          ),
        ]
      : [
          line('   MEASURE', 'strong'),
          line(
            live
              ? '     nothing heard from the gauge yet'
              : '     l attaches the diameter log, v enters a value',
          ),
        ];
  return [block(0, ...said)];
}

function bubbleLines(
  { tally }: WalkScreen,
  { trainer, live }: WalkFacts,
  { cell }: Briefing,
  look: Look,
): Line[] {
  const { bubbles, recounts } = cell.readings;
  if (bubbles) {
    const again = recounts.at(-1);
    const second = again ? `   ${again.by} counted ${again.count}` : '   b counts again';
    return [line(`   BUBBLES   ${bubbles.count} in ${bubbles.metres} m${second}`, 'good')];
  }
  const metres = live?.window?.metres ?? null;
  const run = metres === null ? '' : ` in ${metres.toFixed(1)} m`;
  const keys = isNarrow(look) ? '' : '         space +1    backspace -1';
  const hint = trainer
    ? [
        line(
          isNarrow(look)
            ? `     (to be seen: ${trainer.bubbles})`
            : `     to be seen on the virtual strand: ${trainer.bubbles}`,
          'quiet',
        ),
      ]
    : [];
  return [
    [span('   BUBBLES   ', 'strong'), span(`${tally}`, 'changed'), span(run), span(keys, 'quiet')],
    ...hint,
  ];
}

function measureAction({ tally }: WalkScreen, { live }: WalkFacts, { cell }: Briefing): Line[] {
  const { log, bubbles, values } = cell.readings;
  const window = log === null ? live?.window : null;
  if (window && live?.trouble === null) {
    return window.seconds >= window.neededSeconds
      ? [line('   enter   keeps the readings', 'strong')]
      : [];
  }
  if (tally > 0 || (bubbles === null && log !== null))
    return [line('   enter   the count is complete: how many metres?', 'strong')];
  return log || bubbles || Object.keys(values).length > 0
    ? [line('   enter   this cell is measured', 'strong')]
    : [];
}

function nextLines({ next }: Briefing, look: Look): Line[] {
  if (!next) return [line('   next    that was the last cell', 'quiet')];
  const { cell, settings, hold } = next;
  const changed = settings
    .filter(({ now, before }) => now !== before)
    .map(
      ({ name, before, now }) =>
        `${name.split('  ')[0]} ${before} ${look.theme.glyphs.arrow} ${now}`,
    );
  const what =
    changed.length === 0
      ? 'the same settings again'
      : changed.length > 3
        ? `${changed.length} settings change`
        : changed.join(', ');
  const text = isNarrow(look)
    ? `   next    ${what}`
    : `   next    cell ${cell.cell}: ${what}, hold ${roughly(hold.seconds)}`;
  return [line(text, 'quiet')];
}

/** One caution that belongs to this moment; they take turns from cell to cell. */
function cautionLine({ study, briefing }: WalkFacts, look: Look): Line[] {
  const isFirst = study.cells.every(({ enteredAt }) => enteredAt === null);
  const all = cautionsFor(study, isFirst ? 'heat-up' : 'walking').slice(1);
  const text = all[(briefing?.cell.cell ?? 0) % all.length];
  return text === undefined
    ? []
    : wrapped(text, look.columns - 4, 3).map((says): Line => [span(says, 'quiet')]);
}

function doneBlocks({ study }: WalkFacts, look: Look): Block[] {
  const count = (status: string): number =>
    study.cells.filter((cell) => cell.status === status).length;
  const left = count('left out');
  const words: Span = span(
    `     ${count('done')} cells measured, ${count('failed')} failed${left > 0 ? `, ${left} left out` : ''}`,
  );
  const advice = study.isShutDown
    ? [line(`     shut down; the barrel holds ${study.barrelHolds}`, 'good')]
    : wrapped(
        'Before leaving the machine press s: what the barrel needs before it cools.',
        look.columns - 6,
        5,
      ).map((text) => line(text, 'warning'));
  return [
    block(
      0,
      line(),
      line('   THE WALK IS DONE', 'good'),
      line(),
      [words],
      line('     next: strandwise fit'),
      line(),
      ...advice,
    ),
  ];
}
