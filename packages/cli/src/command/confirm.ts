import {
  confirmationBounds,
  confirmationRuns,
  currentCell,
  type Journal,
  usualProbability,
} from '@strandwise/core';
import { plannedSetUps, type StudyRecipe, studyRecipe } from '../release/study-recipe.ts';
import { themeOf, themeWish } from '../theme.ts';
import { boundLines, verdictLines } from '../wording/confirm-text.ts';
import type { Command, ExitCode, Given, Surroundings } from './command.ts';
import { whoOption, withStudy } from './study-file.ts';
import { UsageError, wholeOption } from './usage-error.ts';

export const confirmCommand: Command = {
  name: 'confirm',
  summary: 'plan fresh set-ups at the proposed recipe, and judge them when they are walked',
  usage: 'confirm STUDY [--set-ups N] [--more N]',
  example: {
    line: 'strandwise confirm px-31.strandwise --set-ups 3',
    says: 'adds three fresh set-ups to the plan, with a cell beside the recipe between them; after the walk the same command says whether the recipe holds (exit code 1 when it does not).',
  },
  options: {
    'set-ups': {
      type: 'string',
      value: 'N',
      says: 'fresh set-ups (default: as many as would catch a recipe at its limit, 3 to 6)',
    },
    more: { type: 'string', value: 'N', says: 'plan more set-ups after those that were run' },
    json: { type: 'boolean', says: 'bounds and verdict as JSON' },
    ...whoOption,
  },
  run(given, around) {
    return withStudy<ExitCode>(given, around, (journal): ExitCode => {
      const found = studyRecipe(journal.state(), usualProbability);
      const wanted = setUpsToPlan(journal, given, found);
      const bounds = wanted > 0 ? planned(journal, wanted, found) : found.bounds;
      return told(journal, { ...found, bounds }, wanted, given, around);
    });
  },
};

/** How many set-ups this call adds: the first ones, or more when asked. */
function setUpsToPlan(journal: Journal, { options }: Given, { bounds }: StudyRecipe): number {
  const more = wholeOption(options, 'more');
  const asked = wholeOption(options, 'set-ups');
  for (const [name, value] of [
    ['more', more],
    ['set-ups', asked],
  ] as const)
    if (value !== undefined && (value < 1 || value > 20))
      throw new UsageError(`--${name} must lie between 1 and 20; got ${value}.`);
  const already = plannedSetUps(journal.state());
  if (already > 0) {
    if (asked !== undefined && asked !== already)
      throw new UsageError(`${already} set-ups are planned already; add some with --more N.`);
    return more ?? 0;
  }
  return more ?? asked ?? bounds?.setUps ?? 3;
}

function planned(
  journal: Journal,
  setUps: number,
  { predictor, recipe }: StudyRecipe,
): StudyRecipe['bounds'] {
  for (const extension of confirmationRuns(journal.state(), setUps)) journal.record(extension);
  return confirmationBounds(predictor, recipe, { setUps: plannedSetUps(journal.state()) });
}

function told(
  journal: Journal,
  { bounds, verdict, recipe }: StudyRecipe,
  added: number,
  { options, rest }: Given,
  around: Surroundings,
): ExitCode {
  const study = rest[0] ?? 'STUDY';
  const theme = themeOf(themeWish(around.env, around.isTerminal));
  const state = journal.state();
  const isMissed = added === 0 && verdict?.kind === 'misses';
  if (options['json']) {
    around.out(
      JSON.stringify(
        { setPoints: recipe.setPoints, added, bounds, verdict: added > 0 ? null : verdict },
        null,
        2,
      ),
    );
    return isMissed ? 1 : 0;
  }
  const { zonesCelsius, screwRpm, fanPercent } = recipe.setPoints;
  around.out(
    theme.paint(
      'strong',
      `zones ${zonesCelsius.join(' · ')} °C    screw ${screwRpm} rpm    fan ${fanPercent} %`,
    ),
  );
  if (bounds) around.out(boundLines(bounds, around.columns).join('\n'));
  else around.out(theme.paint('warning', '  The data cannot say where a new set-up should fall.'));
  around.out('');
  if (added > 0) {
    around.out(
      `  ${added} fresh set-up${added === 1 ? '' : 's'} added to the plan, each after a change away and back.\n  Next: strandwise walk ${study}`,
    );
    return 0;
  }
  if (verdict) around.out(verdictLines(verdict, { theme, columns: around.columns }).join('\n'));
  if (verdict?.kind === 'not yet')
    around.out(
      currentCell(state) ? `  Next: strandwise walk ${study}` : '  Add set-ups with --more N.',
    );
  if (verdict?.kind === 'holds') around.out(`  Next: strandwise release ${study}`);
  return isMissed ? 1 : 0;
}
