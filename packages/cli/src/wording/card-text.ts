import type { RecipeCard } from '@strandwise/core';
import { wrapped } from '../terminal/line.ts';
import { figures } from '../terminal/number.ts';
import type { Theme } from '../theme.ts';

type Ends = { readonly low: number | null; readonly high: number | null };

/** What a set point may drift to, or that nobody knows. */
export const allowedWords = (
  allowed: { low: number; high: number } | null,
  value: number | string,
): string => {
  if (allowed === null) return typeof value === 'number' ? 'keep exactly' : '';
  return `${figures(allowed.low)} … ${figures(allowed.high)}`;
};

export const endsWords = ({ low, high }: Ends): string =>
  low === null || high === null ? 'not known' : `${figures(low)} … ${figures(high)}`;

/** A moment to the minute, for people: "2026-01-06 07:02 UTC". */
export const momentWords = (at: string): string => `${at.slice(0, 16).replace('T', ' ')} UTC`;

/** What the recipe rests on, as named facts. */
export function evidenceFacts({
  evidence,
  exceptions,
  chance,
}: RecipeCard): { name: string; value: string }[] {
  return [
    {
      name: 'plan',
      value: `${evidence.plan}, ${evidence.cells} cells in ${evidence.zoneSettings} zone settings, ${evidence.failed} failed${evidence.seed === null ? '' : `, seed ${evidence.seed}`}`,
    },
    ...(evidence.scoutSteps > 0
      ? [{ name: 'scouting', value: `${evidence.scoutSteps} steps` }]
      : []),
    { name: 'models', value: evidence.models.join('; ') },
    {
      name: 'chance that a set-up conforms',
      value: chance ? `${chance.says}, asked ${chance.asked}` : 'not known',
    },
    { name: 'confirmation', value: evidence.confirmation },
    { name: 'log', value: `entries 1 to ${evidence.upToEntry} of the study` },
    ...exceptions.map(({ material, by, reason }) => ({
      name: 'exception',
      value: `${material}, allowed by ${by}: ${reason}`,
    })),
  ];
}

/** A recipe card as text. */
export function cardText(
  card: RecipeCard,
  { theme, columns }: { readonly theme: Theme; readonly columns: number },
): string {
  const room = Math.min(columns, 100);
  const told = (text: string): string => wrapped(text, room, 2).join('\n');
  const heading = (text: string): string => `\n${theme.paint('strong', text)}`;
  const { grade, settings, expected } = card;
  return [
    theme.paint(
      'strong',
      `RECIPE ${card.recipeVersion}   ${grade.name} on ${card.line}${card.invented ? '   (invented example)' : ''}`,
    ),
    `  ${card.product.diameterMm} ± ${card.product.toleranceMm} mm, signed by ${card.signedBy}, ${momentWords(card.at)}`,
    ...(card.despite === null
      ? []
      : [
          theme.paint(
            'warning',
            told(`Released although something speaks against it: ${card.despite}`),
          ),
        ]),
    `${heading('SET')}${''.padEnd(27)}may drift, all at once   alone`,
    ...settings.map(({ name, unit, value, allowed, alone }) =>
      `  ${name.padEnd(18)} ${String(value).padStart(6)} ${unit.padEnd(4)} ${allowedWords(allowed, value).padEnd(23)}  ${alone ? allowedWords(alone, value) : ''}`.trimEnd(),
    ),
    `${heading('EXPECT')}${''.padEnd(32)}mean, 95 %             a new set-up, 95 %`,
    ...expected.map(({ response, unit, value, mean, next }) =>
      `  ${`${response}${unit ? `, ${unit}` : ''}`.padEnd(24)}${figures(value).padStart(9)}  ${endsWords(mean).padEnd(21)}  ${endsWords(next)}`.trimEnd(),
    ),
    heading('DRY'),
    ...card.drying.map(told),
    heading('CHANGE OVER'),
    ...card.changeover.map(told),
    heading('WARM UP'),
    ...card.warmUp.map((text, i) => told(`${i + 1}. ${text}`)),
    heading('EVIDENCE'),
    ...evidenceFacts(card).map(({ name, value }) => told(`${name}: ${value}`)),
    heading('CAUTIONS'),
    ...card.cautions.map(told),
  ].join('\n');
}
