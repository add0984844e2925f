import type { Chance, Recipe, Recommendation, Recommended, StudyState } from '@strandwise/core';
import { type Line, line } from '../terminal/line.ts';
import { decimalsFor, figures } from '../terminal/number.ts';
import type { Theme } from '../theme.ts';
import { expectedLines } from './expected-lines.ts';
import { cannotJudgeWords, edgeWords, nearestMissWords } from './recipe-word.ts';
import { inwardEnds, roomLines } from './room-lines.ts';
import { told } from './told.ts';

/** The recommendation: set points, what to expect, how sure, how far it may wander. */
export function windowLines(
  recommendation: Recommendation,
  state: StudyState,
  columns: number,
  theme: Theme,
): Line[] {
  switch (recommendation.kind) {
    case 'no model':
    case 'nothing feasible':
      return told(recommendation.says, columns, { role: 'warning' });
    case 'nowhere acceptable':
      return [
        ...told(nearestMissWords, columns, { role: 'warning' }),
        ...recommendedLines(recommendation, state, columns, theme),
      ];
    case 'found':
      return recommendedLines(recommendation, state, columns, theme);
  }
}

function recommendedLines(
  recommended: Recommended,
  state: StudyState,
  columns: number,
  theme: Theme,
): Line[] {
  const { shortfall, says } = recommended;
  return [
    ...recipeLines(recommended, state, columns, theme),
    ...(shortfall ? told(shortfall.says, columns, { role: 'warning' }) : []),
    ...told(says, columns, { role: 'quiet' }),
  ];
}

/** What a screen that shows the rest as tables still has to say: parts of the chance, single set points. */
export function restLines(recipe: Recommended, columns: number): Line[] {
  return [
    ...(recipe.chance ? partLines(recipe.chance, columns) : []),
    ...setPointLines(recipe, columns),
    ...told(recipe.says, columns, { role: 'quiet' }),
  ];
}

/** What is known of one place. */
export function recipeLines(
  recipe: Recipe,
  state: StudyState,
  columns: number,
  theme: Theme,
): Line[] {
  const { predictions, onEdge } = recipe;
  return [
    line(`   ${setPointText(recipe, theme)}`, 'strong'),
    ...chanceLines(recipe, columns),
    ...expectedLines(predictions, state, columns),
    ...roomLines(recipe, columns, theme),
    ...setPointLines(recipe, columns),
    ...(onEdge.length > 0 ? told(edgeWords(onEdge), columns, { role: 'warning' }) : []),
  ];
}

function setPointText({ setPoints }: Recipe, { glyphs, isUnicode }: Theme): string {
  const { zonesCelsius, screwRpm, fanPercent, other } = setPoints;
  const more = Object.entries(other).map(([name, value]) => `    ${name} ${value}`);
  const degrees = isUnicode ? ' °C' : glyphs.degree.trimEnd().concat('C');
  return `zones ${zonesCelsius.join(isUnicode ? ' · ' : ' / ')} ${degrees.trim()}    screw ${screwRpm} rpm    fan ${fanPercent} %${more.join('')}`;
}

function chanceLines({ chance, probability }: Recipe, columns: number): Line[] {
  if (!chance)
    return probability === null
      ? told(cannotJudgeWords, columns, { role: 'warning' })
      : [line(`   chance that a spool conforms: ${probability.toFixed(2)}`, 'strong')];
  return [
    line(`   chance that a spool conforms: ${chance.says}`, 'strong'),
    ...partLines(chance, columns),
  ];
}

/** What the chance is made of, a row a requirement, and how far it is to be trusted. */
function partLines({ confidence, parts, error }: Chance, columns: number): Line[] {
  return [
    ...rowLines(
      parts.map(({ says, probability }) => [says, probability.toFixed(2)]),
      columns,
    ),
    ...told(
      `"not below" holds with ${Math.round(100 * confidence)} % confidence; computed within ${figures(Math.max(error, 1e-4), 1)}`,
      columns,
      { indent: 5, role: 'quiet' },
    ),
  ];
}

/** Room of each set point that is no factor; those without a controller step of it are held exactly. */
function setPointLines({ window, setPointWindow }: Recipe, columns: number): Line[] {
  if (!setPointWindow) return [];
  const factors = new Set(window?.map(({ factor }) => factor));
  const own = setPointWindow.filter(({ setPoint }) => !factors.has(setPoint));
  const tight = setPointWindow.filter(({ hasMargin }) => !hasMargin);
  const rows = own.map(({ setPoint, unit, at, alone }) => [
    setPoint,
    `${at} ${unit}`,
    inwardEnds(alone, decimalsFor(alone[1] - alone[0])),
  ]);
  return [
    ...(own.length > 0
      ? told('each alone, the others as they are:', columns, { role: 'quiet' })
      : []),
    ...rowLines(rows, columns),
    ...(tight.length > 0
      ? told(
          `No room of one controller step: ${tight.map(({ setPoint }) => setPoint).join(', ')}. Hold exactly.`,
          columns,
          { role: 'warning' },
        )
      : []),
  ];
}

/** Rows with their cells one below the other, or as sentences where the lines are too short for that. */
function rowLines(rows: readonly (readonly string[])[], columns: number): Line[] {
  const widths = rows[0]?.map((_, i) => Math.max(...rows.map((row) => [...row[i]!].length))) ?? [];
  const isWide = 5 + widths.reduce((sum, width) => sum + width + 2, 0) <= columns;
  return rows.flatMap((row) =>
    isWide
      ? [
          line(
            `     ${row.map((cell, i) => cell.padEnd(widths[i]!)).join('  ')}`.trimEnd(),
            'quiet',
          ),
        ]
      : told(row.join(' '), columns, { indent: 5, role: 'quiet' }),
  );
}
