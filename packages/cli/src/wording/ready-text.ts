import {
  type Changeover,
  type DryingAdvice,
  gradeWord,
  type Readiness,
  type SheetConflict,
} from '@strandwise/core';
import { wrapped } from '../terminal/line.ts';
import type { Theme } from '../theme.ts';

const heading = (theme: Theme, text: string): string => theme.paint('strong', text);
const told = (text: string, columns: number): string => wrapped(text, columns, 2).join('\n');

/** Readiness as text: first whether, then in the order of the morning: dry, barrel, start, cautions. */
export function readyText(
  ready: Readiness,
  { theme, columns, barrel }: { theme: Theme; columns: number; barrel: string },
): string {
  const { verdict, refusals, permission, drying, start, changeover, cautions } = ready;
  const room = Math.min(columns, 100);
  const head =
    verdict === 'may heat'
      ? heading(theme, 'Nothing on record stands against heating.')
      : theme.paint('danger', 'DO NOT HEAT');
  const excepted =
    permission.kind === 'excepted'
      ? [
          told(
            `${permission.says} Allowed by ${permission.exception.by}: ${permission.exception.reason}`,
            room,
          ),
        ]
      : [];
  if (verdict === 'refused')
    return [
      head,
      ...refusals.map((says) => theme.paint('danger', told(says, room))),
      '',
      ...cautions.slice(0, 1).map(({ says }) => told(says, room)),
    ].join('\n');
  return [
    head,
    ...excepted,
    '',
    heading(theme, 'DRY'),
    ...dryingLines(drying, room),
    '',
    heading(theme, `BARREL holds ${barrel}`),
    ...changeoverLines(changeover, room, theme),
    '',
    heading(theme, 'START'),
    told(start.says, room),
    ...(start.assumed.length > 0
      ? [
          theme.paint(
            'warning',
            told(
              `Rests on numbers nobody has confirmed: ${start.assumed.map(gradeWord).join(', ')}.`,
              room,
            ),
          ),
        ]
      : []),
    '',
    heading(theme, 'BEFORE HEATING'),
    ...cautions.map(({ says }) => told(says, room)),
  ].join('\n');
}

function dryingLines(drying: DryingAdvice, room: number): string[] {
  const cautions = drying.kind === 'dry' ? drying.cautions : [];
  return [told(drying.says, room), ...cautions.map((says) => told(says, room))];
}

/** The path through the barrel, one numbered step a displacement. */
export function changeoverLines(path: Changeover, room: number, theme: Theme): string[] {
  if (path.kind === 'refused') return [theme.paint('danger', told(path.says, room))];
  if (path.steps.length === 0) return ['  Nothing to change over.'];
  return [
    ...path.steps.flatMap((step, i) => [
      told(`${i + 1}. ${step.says} About ${step.minutes} min.`, room),
      ...step.warnings.map((says) => theme.paint('warning', told(says, room))),
    ]),
    `  In all ${path.grams} g and ${path.minutes} min, heating and cooling apart.`,
  ];
}

/** What the family filled in and where the sheet leaves it. */
export function gradeCheckLines(
  { assumed, conflicts }: { assumed: readonly string[]; conflicts: readonly SheetConflict[] },
  family: string,
  { theme, columns }: { readonly theme: Theme; readonly columns: number },
): string[] {
  const lines = (head: string, says: string): string =>
    wrapped(says, Math.min(100, columns), 11).join('\n').replace(' '.repeat(11), head.padEnd(11));
  return [
    ...(assumed.length > 0
      ? [
          lines(
            '  assumed',
            `${assumed.map(gradeWord).join(', ')}: usual for ${family}, to be confirmed`,
          ),
        ]
      : []),
    ...conflicts.map(({ says }) => theme.paint('warning', lines('  check', says))),
  ];
}
