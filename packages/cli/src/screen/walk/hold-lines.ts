import type { Briefing } from '@strandwise/core';
import type { LiveView } from '../../reading/live-recorder.ts';
import { bar, spark } from '../../terminal/bar.ts';
import { countdown } from '../../terminal/duration.ts';
import { type Line, line, span, wrapped } from '../../terminal/line.ts';
import type { HoldState } from './hold.ts';
import { isNarrow, type Look } from './look.ts';

export function holdLine(hold: HoldState, { hold: planned }: Briefing, look: Look): Line {
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

export function lightLines(hold: HoldState, { hold: planned }: Briefing, look: Look): Line[] {
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
  const how = isNarrow(look) ? '' : `  last 60 s   gauge live${rateWords(live.perSecond)}`;
  return [[span(`   ${value} `, 'strong'), span(minute), span(how, 'quiet')]];
}

function rateWords(perSecond: number): string {
  if (perSecond >= 0.75) return `, ${Math.round(perSecond)} a second`;
  return perSecond > 0.02 ? `, one in ${Math.round(1 / perSecond)} s` : '';
}

/** Every so-many-th value, so that the last minute fits. */
function thinned(values: Float64Array, most: number): Float64Array {
  if (values.length <= most) return values;
  return Float64Array.from(
    { length: most },
    (_, i) => values[Math.floor(((i + 1) * values.length) / most) - 1]!,
  );
}
