import { writeFileSync } from 'node:fs';
import { resolve } from 'node:path';
import {
  type Journal,
  RecipeCard,
  recipeCard,
  releaseObjections,
  usualProbability,
} from '@strandwise/core';
import { recipeCardPage } from '../page/recipe-card-page.ts';
import { studyRecipe } from '../release/study-recipe.ts';
import { wrapped } from '../terminal/line.ts';
import { themeOf, themeWish } from '../theme.ts';
import { cardText } from '../wording/card-text.ts';
import type { Command, ExitCode, Given, Surroundings } from './command.ts';
import { signerOf, whoOption, withStudy } from './study-file.ts';
import { numberOption, textOption, UsageError, wholeOption } from './usage-error.ts';

export const releaseCommand: Command = {
  name: 'release',
  summary: 'the recipe card: set points, what they may drift to, what to expect, signed',
  usage: 'release STUDY [--who NAME] [--html FILE]   |   release STUDY --show [--recipe N]',
  example: {
    line: 'strandwise release px-31.strandwise --who "Robin" --html recipe.html',
    says: 'releases a confirmed recipe as the next version and writes the card to print; exit code 1 and nothing released when something speaks against it.',
  },
  options: {
    show: { type: 'boolean', says: 'show a card that was released; releases nothing' },
    recipe: { type: 'string', value: 'N', says: 'with --show: version (default: the latest)' },
    asked: {
      type: 'string',
      value: 'P',
      says: `chance of conforming that is asked (default ${usualProbability})`,
    },
    despite: {
      type: 'string',
      value: 'TEXT',
      says: 'release although something speaks against it, for this reason; it stands on the card',
    },
    html: { type: 'string', value: 'FILE', says: 'the card as a page to print' },
    json: { type: 'boolean', says: 'the card as JSON' },
    ...whoOption,
  },
  run(given, around) {
    return withStudy<ExitCode>(given, around, (journal): ExitCode => {
      const card = given.options['show']
        ? releasedCard(journal, given)
        : newRelease(journal, given, around);
      if (card === null) return 1;
      shown(card, given, around);
      return 0;
    });
  },
};

function releasedCard(journal: Journal, { options }: Given): RecipeCard {
  const wanted = wholeOption(options, 'recipe');
  const cards = journal
    .events()
    .flatMap(({ what }) => (what.kind === 'recipe released' ? [RecipeCard.parse(what.card)] : []));
  const found =
    wanted === undefined
      ? cards.at(-1)
      : cards.find(({ recipeVersion }) => recipeVersion === wanted);
  if (found) return found;
  throw new UsageError(
    cards.length === 0
      ? 'no recipe has been released yet.'
      : `there is no recipe ${wanted}; released are ${cards.map(({ recipeVersion }) => recipeVersion).join(', ')}.`,
  );
}

/** Releases the proposed recipe; null, with the reasons told, when something speaks against it. */
function newRelease(journal: Journal, given: Given, around: Surroundings): RecipeCard | null {
  const asked = numberOption(given.options, 'asked') ?? usualProbability;
  if (!(asked > 0 && asked < 1))
    throw new UsageError(`--asked must lie between 0 and 1; got ${asked}.`);
  const { predictor, recipe, verdict } = studyRecipe(journal.state(), asked);
  const despite = textOption(given.options, 'despite')?.trim();
  const judged = verdict ?? {
    kind: 'not yet' as const,
    done: 0,
    wanted: 0,
    says: 'The data cannot say where a new set-up should fall.',
  };
  const objections = releaseObjections(recipe, judged, journal.state());
  if (objections.length > 0 && !despite) {
    const theme = themeOf(themeWish(around.env, around.isTerminal));
    around.tell(theme.paint('danger', 'Not released.'));
    for (const says of objections)
      around.tell(wrapped(says, Math.min(around.columns, 100), 2).join('\n'));
    around.tell(
      '  A named person may release all the same with --despite "REASON"; it stands on the card.',
    );
    return null;
  }
  const card = recipeCard({
    predictor,
    recipe,
    verdict: judged,
    signedBy: signerOf(given, around),
    at: new Date(around.clock.now()).toISOString(),
    ...(despite && objections.length > 0
      ? { despite: `${despite} (${objections.join(' ')})` }
      : {}),
  });
  journal.record({
    kind: 'recipe released',
    version: card.recipeVersion,
    setPoints: card.setPoints,
    card,
  });
  around.tell(`Released as recipe ${card.recipeVersion}.`);
  return card;
}

function shown(card: RecipeCard, { options }: Given, around: Surroundings): void {
  const theme = themeOf(themeWish(around.env, around.isTerminal));
  if (options['json']) around.out(JSON.stringify(card, null, 2));
  else around.out(cardText(card, { theme, columns: around.columns }));
  const html = textOption(options, 'html');
  if (html === undefined) return;
  writeFileSync(resolve(around.cwd, html), recipeCardPage(card));
  around.tell(`Card written to ${html}.`);
}
