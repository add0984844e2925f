import type { Chance, Recipe, Recommendation, SetPoints } from '@strandwise/core';
import { type Line, line } from '../../terminal/line.ts';
import type { Theme } from '../../theme.ts';
import { expectedLines } from '../../wording/expected-lines.ts';
import {
  belowAskedWords,
  cannotJudgeWords,
  edgeWords,
  nearestMissWords,
} from '../../wording/recipe-word.ts';
import { roomLines } from '../../wording/room-lines.ts';
import { told } from '../../wording/told.ts';
import { restLines } from '../../wording/window-lines.ts';
import type { AnalyseFacts } from './screen.ts';

/** A recommendation with a place. */
type Found = Extract<Recommendation, { kind: 'found' | 'nowhere acceptable' }>;

/**
 * The window as a screen: what to set, how sure, what to expect, how far it may wander and what to do
 * next come first and fit 80 × 24; all else stands below.
 */
export function windowScreenLines(
  found: Recommendation,
  facts: AnalyseFacts,
  columns: number,
  theme: Theme,
): Line[] {
  if (found.kind === 'no model' || found.kind === 'nothing feasible')
    return [line(), ...told(found.says, columns, { role: 'warning' })];
  return [
    ...settingLines(found, columns, theme),
    ...verdictLines(found, facts, columns),
    ...expectedLines(found.predictions, facts.study, columns),
    ...roomLines(found, columns, theme),
    ...firstNext(facts, columns),
    line(),
    ...restLines(found, columns),
  ];
}

function settingLines({ setPoints }: Recipe, columns: number, theme: Theme): Line[] {
  return told(setPointText(setPoints, theme), columns, { role: 'strong' });
}

/** "zones 184 · 192 · 194 · 188 °C   screw 4.4 rpm   fan 55 %". */
export function setPointText(
  { zonesCelsius, screwRpm, fanPercent, other }: SetPoints,
  { isUnicode }: Theme,
): string {
  const more = Object.entries(other).map(([name, value]) => `, ${name} ${value}`);
  return `zones ${zonesCelsius.join(isUnicode ? ' · ' : ' / ')} °C, screw ${screwRpm} rpm, fan ${fanPercent} %${more.join('')}`;
}

/** The chance, or why there is none; then everything that speaks against the place. */
function verdictLines(found: Found, { asked }: AnalyseFacts, columns: number): Line[] {
  const { chance, probability, onEdge, shortfall } = found;
  return [
    ...(found.kind === 'nowhere acceptable'
      ? told(nearestMissWords, columns, { role: 'warning' })
      : []),
    ...(probability === null
      ? told(cannotJudgeWords, columns, { role: 'warning' })
      : [line(`   chance that a spool conforms: ${chanceWords(chance, probability)}`, 'strong')]),
    ...(shortfall
      ? told(shortfall.says, columns, { role: 'warning' })
      : probability !== null && probability < asked
        ? told(belowAskedWords(asked), columns, { role: 'warning' })
        : []),
    ...(onEdge.length > 0 ? told(edgeWords(onEdge), columns, { role: 'warning' }) : []),
  ];
}

const chanceWords = (chance: Chance | null, probability: number): string =>
  chance ? chance.says : probability.toFixed(2);

function firstNext({ next }: AnalyseFacts, columns: number): Line[] {
  const first = next.kind === 'known' ? next.value[0] : undefined;
  return first ? told(`next   ${first.says}`, columns, { role: 'strong' }) : [];
}
