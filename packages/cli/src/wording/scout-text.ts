import type { ScoutAdvice, ScoutProposal, ScoutStep } from '@strandwise/core';
import { wrapped } from '../terminal/line.ts';
import { figures } from '../terminal/number.ts';

/** What scouting found: bracket, ranges, corners and how sure. */
export function proposalLines(
  { factors, centreCelsius, corners, says }: ScoutProposal,
  columns: number,
): string[] {
  const room = Math.min(columns, 100) - 3;
  return [
    '   PROPOSED RANGES',
    ...factors.map(({ name, low, high, unit }) =>
      `     ${name.padEnd(8)} ${figures(low)} to ${figures(high)} ${unit ?? ''}`.trimEnd(),
    ),
    '',
    `   Centre of the level: ${figures(centreCelsius, 4)} °C`,
    ...corners.map(
      ({ corner, held, attempts }) =>
        `     ${corner.name.padEnd(14)} ${held ? 'held' : 'did not hold; drawn in unseen'}${attempts > 1 ? `, ${attempts} attempts` : ''}`,
    ),
    '',
    ...wrapped(says, room, 3),
  ];
}

/** The advice as text for a terminal without a screen. */
export function adviceText(advice: ScoutAdvice, columns: number): string {
  if (advice.kind === 'nothing holds') return wrapped(advice.says, columns, 3).join('\n');
  if (advice.kind === 'done') return proposalLines(advice.proposal, columns).join('\n');
  const { zonesCelsius, screwRpm, fanPercent } = advice.setPoints;
  return [
    `set  zones ${zonesCelsius.join(' · ')} °C    screw ${screwRpm} rpm    fan ${fanPercent} %`,
    ...wrapped(advice.says, columns, 5),
  ].join('\n');
}

export const stepLine = (
  { levelCelsius, seen, purpose, setPoints }: ScoutStep,
  number: number,
): string =>
  `  ${String(number).padStart(2)}  ${purpose.padEnd(6)} level ${figures(levelCelsius, 4).padStart(5)} °C  screw ${String(setPoints.screwRpm).padStart(4)} rpm  fan ${String(setPoints.fanPercent).padStart(3)} %   ${seen}`;
