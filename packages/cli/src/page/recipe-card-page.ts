import type { RecipeCard } from '@strandwise/core';
import { cardPage } from '@strandwise/report';
import { figures } from '../terminal/number.ts';
import { allowedWords, endsWords, evidenceFacts, momentWords } from '../wording/card-text.ts';

/** The recipe card as a page to print, sign and hang beside the line. */
export function recipeCardPage(card: RecipeCard): string {
  const { grade, product } = card;
  return cardPage({
    title: `Recipe ${card.recipeVersion}: ${grade.name}`,
    answer: `${product.diameterMm} ± ${product.toleranceMm} mm on ${card.line}${card.chance ? `; a new set-up conforms with chance ${card.chance.says}` : ''}.`,
    ...noticeOf(card),
    facts: [
      {
        name: 'grade',
        value: `${grade.name}, ${grade.family}${grade.lot === null ? '' : `, ${grade.lot}`}`,
      },
      { name: 'study', value: card.study },
      { name: 'signed', value: `${card.signedBy}, ${momentWords(card.at)}` },
    ],
    setPoints: card.settings.map(({ name, unit, value, allowed }) => ({
      name,
      unit,
      value: String(value),
      range: typeof value === 'number' ? allowedWords(allowed, value) : null,
    })),
    sections: [
      {
        heading: 'How far settings may drift',
        sentences: [
          'Under each setting above: what all may drift to at once. Below: one alone while the others stand.',
        ],
        facts: card.settings.flatMap(({ name, alone, value, unit }) =>
          alone ? [{ name, value: `${allowedWords(alone, value)} ${unit}` }] : [],
        ),
      },
      {
        heading: 'What to expect',
        tables: [
          {
            caption: 'At these settings (95 % intervals)',
            columns: [
              { head: 'response', holds: 'words' },
              { head: 'expected', holds: 'numbers' },
              { head: 'mean lies in', holds: 'words' },
              { head: 'a new set-up falls in', holds: 'words' },
            ],
            rows: card.expected.map(({ response, unit, value, mean, next }) => [
              unit ? `${response} (${unit})` : response,
              figures(value),
              endsWords(mean),
              endsWords(next),
            ]),
          },
        ],
      },
      { heading: 'Dry', list: card.drying },
      { heading: 'Change over', list: card.changeover },
      { heading: 'Warm up', list: card.warmUp },
      { heading: 'What it rests on', facts: evidenceFacts(card) },
    ],
    signatures: ['prepared by', 'released by', 'date'],
    cautions: card.cautions,
  });
}

function noticeOf({ invented, despite }: RecipeCard): { notice?: string } {
  const words = [
    ...(invented ? ['Invented example: no such grade exists.'] : []),
    ...(despite === null ? [] : [`Released although something speaks against it: ${despite}`]),
  ];
  return words.length === 0 ? {} : { notice: words.join(' ') };
}
