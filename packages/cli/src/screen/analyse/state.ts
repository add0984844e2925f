import {
  DomainError,
  editedModel,
  type Factor,
  isNumeric,
  type Model,
  modelTerms,
  termKey,
} from '@strandwise/core';
import type {
  AnalyseDeed,
  AnalyseFacts,
  AnalyseIntent,
  AnalyseScreen,
  AnalyseStep,
  SurfaceView,
} from './screen.ts';

/** One step of a factor on the surface screen, coded; a far step is five. */
const STEP = 0.1;
const FAR = 5;

const stay = (screen: AnalyseScreen, notice: string | null = null): AnalyseStep => ({
  screen: { ...screen, notice },
  deeds: [],
});

/** What a key press makes of the screen, and what it asks the outside to do. */
export function reduceAnalyse(
  screen: AnalyseScreen,
  intent: AnalyseIntent,
  facts: AnalyseFacts,
): AnalyseStep {
  switch (intent.kind) {
    case 'go to':
      return stay({ ...screen, at: intent.at, scroll: 0, hasKeys: false });
    case 'response': {
      const count = facts.result.responses.length;
      const response = (screen.response + intent.by + count) % count;
      return stay({ ...screen, response, scroll: 0, term: 0, check: 0 });
    }
    case 'move':
      return stay(moved(screen, intent, facts));
    case 'page':
      return stay({ ...screen, scroll: scrolledBy(screen, intent.by * facts.page, facts) });
    case 'axis':
      if (screen.at === 'trade') return stay({ ...screen, tradedAcross: screen.tradedAcross + 1 });
      return stay({ ...screen, surface: turned(surfaceView(screen, facts), intent.axis, facts) });
    case 'pin':
      return stay({ ...screen, surface: nextPinned(surfaceView(screen, facts), facts) });
    case 'pinned':
      return pinnedMoved(screen, intent.by, facts);
    case 'centre':
      return stay({ ...screen, surface: { ...surfaceView(screen, facts), place: centre(facts) } });
    case 'toggle':
      return toggled(screen, facts);
    case 'model':
      return modelTaken(screen, intent.which, facts);
    case 'record':
      return recorded(screen, facts);
    case 'keys':
      return stay({ ...screen, hasKeys: !screen.hasKeys });
    case 'leave':
      return { screen: { ...screen, notice: null, isLeaving: true }, deeds: [] };
  }
}

const nameOf = ({ response }: AnalyseScreen, { result }: AnalyseFacts): string =>
  result.responses[response]!.name;

function moved(
  screen: AnalyseScreen,
  { dx, dy, isFar }: Extract<AnalyseIntent, { kind: 'move' }>,
  facts: AnalyseFacts,
): AnalyseScreen {
  const times = isFar ? FAR : 1;
  switch (screen.at) {
    case 'model': {
      const last = facts.offered.length - 1;
      return { ...screen, term: Math.max(0, Math.min(last, screen.term + dy * times)) };
    }
    case 'residuals': {
      const count = facts.result.responses[screen.response]!.checks.length;
      if (count === 0) return screen;
      return { ...screen, check: (screen.check + dx + dy + count) % count };
    }
    case 'surface': {
      const view = surfaceView(screen, facts);
      // Up on the screen is more of the factor that stands upright.
      const place = shifted(
        shifted(view.place, view.x, dx * times, facts),
        view.y,
        -dy * times,
        facts,
      );
      return { ...screen, surface: { ...view, place } };
    }
    case 'trade': {
      const { traded } = facts;
      const count = traded.kind === 'known' ? (traded.value?.settings.length ?? 0) : 0;
      return { ...screen, traded: Math.max(0, Math.min(count - 1, screen.traded + dy * times)) };
    }
    default:
      return { ...screen, scroll: scrolledBy(screen, dy * times, facts) };
  }
}

const scrolledBy = ({ scroll }: AnalyseScreen, by: number, { mostScroll }: AnalyseFacts): number =>
  Math.max(0, Math.min(mostScroll, Math.min(scroll, mostScroll) + by));

/** The view of the surface: at first the two factors that the response follows most, at the centre. */
export function surfaceView(screen: AnalyseScreen, facts: AnalyseFacts): SurfaceView {
  if (screen.surface) return screen.surface;
  const { factors } = facts.study.opened;
  const fit = facts.result.responses[screen.response]!;
  const weight = (factor: Factor): number =>
    fit.terms.reduce(
      (sum, { powers, estimate }) =>
        Object.hasOwn(powers, factor.name) ? sum + Math.abs(estimate) : sum,
      0,
    );
  const numeric = [...factors.keys()].filter((i) => isNumeric(factors[i]!));
  const [x = 0, y = numeric.find((i) => i !== x) ?? x] = [...numeric].sort(
    (a, b) => weight(factors[b]!) - weight(factors[a]!),
  );
  return { x, y, place: centre(facts), pinned: null };
}

const centre = ({ study }: AnalyseFacts): number[] => study.opened.factors.map(() => 0);

/** One factor moved by steps inside its studied range; a named one to its next level. */
function shifted(
  place: readonly number[],
  i: number,
  steps: number,
  { study }: AnalyseFacts,
): number[] {
  const factor = study.opened.factors[i]!;
  return place.map((value, j) => {
    if (j !== i) return value;
    if (!isNumeric(factor)) {
      const count = factor.levels.length;
      return (value + Math.sign(steps) + count) % count;
    }
    const next = Math.round((value + steps * STEP) / STEP) * STEP;
    return Math.max(-1, Math.min(1, Number(next.toFixed(6))));
  });
}

/** The next numeric factor on an axis, never the one on the other. */
function turned(view: SurfaceView, axis: 'x' | 'y', { study }: AnalyseFacts): SurfaceView {
  const { factors } = study.opened;
  const other = axis === 'x' ? view.y : view.x;
  const free = [...factors.keys()].filter((i) => isNumeric(factors[i]!) && i !== other);
  if (free.length === 0) return view;
  const at = free.indexOf(view[axis]);
  const next = { ...view, [axis]: free[(at + 1) % free.length]! };
  return next.pinned === next.x || next.pinned === next.y ? { ...next, pinned: null } : next;
}

/** Factors that are not on an axis. */
export const pinnedFactors = (view: SurfaceView, { study }: AnalyseFacts): number[] =>
  [...study.opened.factors.keys()].filter((i) => i !== view.x && i !== view.y);

function nextPinned(view: SurfaceView, facts: AnalyseFacts): SurfaceView {
  const pinned = pinnedFactors(view, facts);
  if (pinned.length === 0) return view;
  const at = view.pinned === null ? -1 : pinned.indexOf(view.pinned);
  return { ...view, pinned: pinned[(at + 1) % pinned.length]! };
}

function pinnedMoved(screen: AnalyseScreen, by: 1 | -1, facts: AnalyseFacts): AnalyseStep {
  const view = surfaceView(screen, facts);
  const first = view.pinned === null ? nextPinned(view, facts) : view;
  if (first.pinned === null) return stay(screen, 'No factor is pinned: both stand on the axes.');
  const place = shifted(first.place, first.pinned, by, facts);
  return stay({ ...screen, surface: { ...first, place } });
}

/** The term under the cursor goes in or out, hierarchy kept; what cannot be is told. */
function toggled(screen: AnalyseScreen, facts: AnalyseFacts): AnalyseStep {
  const term = facts.offered[screen.term];
  if (!term) return stay(screen);
  const name = nameOf(screen, facts);
  const { factors } = facts.study.opened;
  const besides = term.powers
    .flatMap((powers) => Object.keys(powers))
    .filter((own) => factors.every((factor) => factor.name !== own));
  // Keys may come faster than fits: what was tried last counts, not what is fitted.
  const now = modelTerms(screen.tried[name] ?? facts.models[name]!, factors);
  const keys = new Set(now.map(termKey));
  const isIn = term.powers.every((powers) => keys.has(termKey(powers)));
  const edit = isIn ? { drop: [term.name] } : { add: [term.name] };
  try {
    const edited = editedModel(now, edit, factors, besides);
    const model: Model = { terms: [...edited.terms] };
    return stay(tried(screen, name, model), edited.says.join(' ') || null);
  } catch (error) {
    if (error instanceof DomainError) return stay(screen, error.message);
    throw error;
  }
}

const tried = (screen: AnalyseScreen, name: string, model: Model): AnalyseScreen => ({
  ...screen,
  tried: { ...screen.tried, [name]: model },
});

function modelTaken(
  screen: AnalyseScreen,
  which: 'best' | 'all' | 'kept',
  facts: AnalyseFacts,
): AnalyseStep {
  const name = nameOf(screen, facts);
  if (which === 'kept') {
    const { [name]: _, ...others } = screen.tried;
    return stay({ ...screen, tried: others });
  }
  if (which === 'all') {
    const { factors } = facts.study.opened;
    const whole = facts.offered
      .flatMap(({ powers }) => powers)
      .filter((powers) => Object.keys(powers).every((own) => factors.some((f) => f.name === own)));
    return stay(tried(screen, name, { terms: [{}, ...whole] }));
  }
  return facts.best
    ? stay(tried(screen, name, facts.best))
    : stay(screen, `No search by AICc for ${name}: pick its terms by their tests.`);
}

function recorded(screen: AnalyseScreen, facts: AnalyseFacts): AnalyseStep {
  if (screen.at === 'window') return recipeRecorded(screen, facts);
  if (screen.at !== 'model') return stay(screen);
  const name = nameOf(screen, facts);
  const model = screen.tried[name];
  if (!model || isSameModel(model, facts.kept[name], facts))
    return stay(screen, `The model of ${name} is the one in use; nothing to record.`);
  const { [name]: _, ...others } = screen.tried;
  const deeds: AnalyseDeed[] = [{ kind: 'choose model', response: name, model }];
  return {
    screen: { ...screen, tried: others, notice: `Recorded as the model of ${name}.` },
    deeds,
  };
}

function recipeRecorded(screen: AnalyseScreen, { window }: AnalyseFacts): AnalyseStep {
  if (window.kind === 'working') return stay(screen, 'Still working the window out.');
  if (window.value.kind !== 'found')
    return stay(screen, 'There is no recipe to record with these data.');
  return {
    screen: { ...screen, notice: 'Recorded as the proposed recipe.' },
    deeds: [{ kind: 'propose recipe' }],
  };
}

function isSameModel(a: Model, b: Model | undefined, { study }: AnalyseFacts): boolean {
  if (!b) return false;
  const keys = (model: Model): string =>
    modelTerms(model, study.opened.factors).map(termKey).sort().join(';');
  return keys(a) === keys(b);
}
