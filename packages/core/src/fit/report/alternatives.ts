import { termName } from '../../term/term.ts';
import type { Alternatives } from './fit-result.ts';
import type { ChosenModel, ModelChoice } from './model-choice.ts';

type Chosen = Extract<ModelChoice, { kind: 'chosen' }>;

/** Models listed one by one; how many there are is said. */
const MOST_LISTED = 30;

/**
 * What models that are nearly as good agree on: a term in all of them is what the runs insist on,
 * one in none of them they can do without.
 *
 * @param offered - names of all terms that could have been chosen
 */
export function alternatives(
  choice: Chosen,
  offered: readonly string[],
  within: number,
): Alternatives {
  const { nearlyAsGood, criterion, looked, search } = choice;
  const isIn = (name: string) => (model: ChosenModel) => model.names.includes(name);
  const names = offered.filter((name) => name !== termName({}));
  const inAll = names.filter((name) => nearlyAsGood.every(isIn(name)));
  const inNone = names.filter((name) => !nearlyAsGood.some(isIn(name)));
  return {
    criterion,
    within,
    looked,
    search,
    says: agreement(nearlyAsGood, { inAll, inNone, within, offered: names.length, search }),
    inAll,
    inNone,
    models: nearlyAsGood.slice(0, MOST_LISTED).map((model) => ({
      terms: [...model.terms],
      names: [...model.names],
      criterion: model.criterion,
      behind: model.behind,
    })),
  };
}

interface Agreed {
  readonly inAll: readonly string[];
  readonly inNone: readonly string[];
  readonly within: number;
  readonly offered: number;
  readonly search: Chosen['search'];
}

function agreement(
  models: readonly ChosenModel[],
  { inAll, inNone, within, offered, search }: Agreed,
): string {
  const kept = inAll.length === 0 ? 'no term' : listed(inAll);
  const found = search === 'guided' ? ' (of those a guided search met)' : '';
  if (models.length === 1) {
    const keeps = inAll.length === 0 ? 'it keeps no term' : `it keeps ${kept}`;
    return `One model stands alone within ${within} of the best${found}; ${keeps}.`;
  }
  const idle =
    inNone.length === 0 || inNone.length > offered / 2 ? '' : `; none keeps ${listed(inNone)}`;
  const agreed = inAll.length === 0 ? 'they agree on no term' : `all keep ${kept}`;
  return `${models.length} models within ${within} of the best${found}; ${agreed}${idle}.`;
}

function listed(names: readonly string[]): string {
  const shown = names.length > 6 ? [...names.slice(0, 5), `${names.length - 5} more`] : names;
  return shown.length <= 1
    ? (shown[0] ?? '')
    : `${shown.slice(0, -1).join(', ')} and ${shown.at(-1)}`;
}
