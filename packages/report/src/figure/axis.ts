import { nameInUnit } from '../format/unit.ts';
import type { Content, Markup } from '../markup/markup.ts';
import { group, label, segment, wrappedText } from './drawing.ts';
import { ink, quiet, rule } from './palette.ts';
import type { Scale } from './scale.ts';

/** What an axis measures, and in what. */
export interface AxisWords {
  readonly label: string;
  readonly unit?: string;
}

/** Edges of the plotting area in px. */
export interface Area {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

const isInside = (scale: Scale, value: number): boolean =>
  value >= scale.low - 1e-9 * Math.abs(scale.low) &&
  value <= scale.high + 1e-9 * Math.abs(scale.high);

/** Axis below the area: baseline, ticks, numbers, its name centred under them; `clearance` px for marks on the edge. */
export function axisBelow(
  scale: Scale,
  area: Area,
  words: AxisWords,
  { clearance = 0 } = {},
): Markup {
  const pieces: Content[] = [
    segment([area.left, area.bottom], [area.right, area.bottom], { color: ink }),
  ];
  for (const { value, label: text } of scale.ticks.filter((tick) => isInside(scale, tick.value))) {
    const x = scale.at(value);
    pieces.push(segment([x, area.bottom], [x, area.bottom + 4], { color: ink }));
    pieces.push(label([x, area.bottom + 17 + clearance], text, { anchor: 'middle' }));
  }
  const middle = (area.left + area.right) / 2;
  const name = nameInUnit(words.label, words.unit);
  pieces.push(
    label([middle, area.bottom + 35 + clearance], name, { anchor: 'middle', color: quiet }),
  );
  return group({}, ...pieces);
}

/** Axis left of the area: numbers with hairlines across, its name lying level above the numbers. */
export function axisLeft(
  scale: Scale,
  area: Area,
  words: AxisWords,
  { lines = true, clearance = 0 } = {},
): Markup {
  const pieces: Content[] = [];
  for (const { value, label: text } of scale.ticks.filter((tick) => isInside(scale, tick.value))) {
    const y = scale.at(value);
    pieces.push(
      lines
        ? segment([area.left, y], [area.right, y], { color: rule, width: 0.75 })
        : segment([area.left - 4, y], [area.left, y], { color: ink }),
    );
    pieces.push(label([area.left - 8 - clearance, y + 4], text, { anchor: 'end' }));
  }
  if (!lines) pieces.push(segment([area.left, area.top], [area.left, area.bottom], { color: ink }));
  const name = wrappedText(nameInUnit(words.label, words.unit), area.right - 8);
  for (const [i, line] of name.entries()) {
    const y = area.top - 12 - 15 * (name.length - 1 - i);
    pieces.push(label([8, y], line, { color: quiet }));
  }
  return group({}, ...pieces);
}
