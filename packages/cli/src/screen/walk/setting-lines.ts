import {
  type Briefing,
  type SetPoints,
  type SettingChange,
  type SettingStep,
  settingSequence,
} from '@strandwise/core';
import { roughly } from '../../terminal/duration.ts';
import { type Line, line, span, wrapped } from '../../terminal/line.ts';
import type { Theme } from '../../theme.ts';
import { isNarrow, type Look } from './look.ts';
import type { WalkFacts } from './screen.ts';
import { settingAt } from './set-point.ts';

export function settingLines({ settings, cell }: Briefing, title: string, look: Look): Line[] {
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

export const isChanged = (setting: SettingChange | undefined): boolean =>
  setting !== undefined && setting.before !== null && setting.now !== setting.before;

/** In which order to key in, when more than one thing changes. */
export function orderLines({ study }: WalkFacts, { settings, cell }: Briefing, look: Look): Line[] {
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

export function setPointsLine({ zonesCelsius, screwRpm, fanPercent }: SetPoints, look: Look): Line {
  const zones = zonesCelsius.join(isNarrow(look) ? ' ' : ' · ');
  return line(`   at   ${zones} °C   ${screwRpm} rpm   fan ${fanPercent} %`, 'quiet');
}

export function nextLines({ next }: Briefing, look: Look): Line[] {
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
