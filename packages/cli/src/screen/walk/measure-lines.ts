import type { Briefing } from '@strandwise/core';
import type { WindowSoFar } from '../../reading/live-cell.ts';
import { countdown } from '../../terminal/duration.ts';
import { type Line, line, span, wrapped } from '../../terminal/line.ts';
import { trace } from '../../terminal/trace.ts';
import { type Block, block } from './fitted.ts';
import { gaugeLines } from './hold-lines.ts';
import { isNarrow, type Look } from './look.ts';
import { setPointsNow, type WalkFacts, type WalkScreen } from './screen.ts';
import { nextLines, setPointsLine } from './setting-lines.ts';

export function measuringBlocks(
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
