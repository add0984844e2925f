import { type Content, element, type Markup } from '../markup/markup.ts';
import { type Place, pathData } from './drawing.ts';
import { ink, paper, warn } from './palette.ts';

/** How a run ended: measured, or lost in the direction it failed. */
export type Outcome = 'measured' | 'cold' | 'hot' | 'feed' | 'other';

export const failureOutcomes = ['cold', 'hot', 'feed', 'other'] as const;

/** Words of the key, one an outcome. */
export const outcomeWords: Readonly<Record<Outcome, string>> = {
  measured: 'measured',
  cold: 'failed cold (C)',
  hot: 'failed hot (H)',
  feed: 'failed to feed (F)',
  other: 'failed otherwise (O)',
};

const letters: Readonly<Record<Outcome, string>> = {
  measured: '',
  cold: 'C',
  hot: 'H',
  feed: 'F',
  other: 'O',
};

/**
 * A run's mark: solid disc when measured; when failed, an open shape with a letter that points down
 * for cold, up for hot, sideways for feed, and is a lozenge for anything else.
 */
export function runMark(outcome: Outcome, [x, y]: Place): Markup {
  if (outcome === 'measured') {
    return element('circle', {
      cx: x,
      cy: y,
      r: 4.5,
      fill: ink,
      stroke: paper,
      'stroke-width': 1.5,
    });
  }
  const [outline, drop] = openShape(outcome, x, y);
  return element(
    'g',
    {},
    element('path', {
      d: pathData(outline, true),
      fill: paper,
      stroke: warn,
      'stroke-width': 1.75,
      'stroke-linejoin': 'round',
    }),
    element(
      'text',
      {
        x: drop[0],
        y: drop[1],
        'text-anchor': 'middle',
        'font-size': 8.5,
        'font-weight': 'bold',
        fill: warn,
      },
      letters[outcome],
    ),
  );
}

function openShape(outcome: Outcome, x: number, y: number): readonly [Place[], Place] {
  switch (outcome) {
    case 'cold':
      return [
        [
          [x - 10, y - 7],
          [x + 10, y - 7],
          [x, y + 11],
        ],
        [x, y + 1],
      ];
    case 'hot':
      return [
        [
          [x - 10, y + 7],
          [x + 10, y + 7],
          [x, y - 11],
        ],
        [x, y + 5],
      ];
    case 'feed':
      return [
        [
          [x - 7, y - 9],
          [x - 7, y + 9],
          [x + 12, y],
        ],
        [x - 1.5, y + 3],
      ];
    default:
      return [
        [
          [x, y - 11],
          [x + 11, y],
          [x, y + 11],
          [x - 11, y],
        ],
        [x, y + 3],
      ];
  }
}

/** The recommended point: a ring with four ticks, rimmed so that it stands on any band. */
export function targetMark([x, y]: Place): Markup {
  const strokes = (color: string, width: number): Content[] => [
    element('circle', { cx: x, cy: y, r: 8, fill: 'none', stroke: color, 'stroke-width': width }),
    ...[
      [0, -1],
      [1, 0],
      [0, 1],
      [-1, 0],
    ].map(([dx = 0, dy = 0]) =>
      element('path', {
        d: pathData([
          [x + 5 * dx, y + 5 * dy],
          [x + 14 * dx, y + 14 * dy],
        ]),
        stroke: color,
        'stroke-width': width,
      }),
    ),
  ];
  return element('g', {}, strokes(paper, 5), strokes(ink, 2));
}
