import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import {
  adoptedPlan,
  type Journal,
  openedFrom,
  openJournal,
  type PlanRequest,
  type Point,
  planLimits,
  planOf,
  predictorOf,
  type Recipe,
  type Recommendation,
  recommendation,
  reducedModels,
  StudyDescription,
  studyDefaults,
  studyFits,
} from '@strandwise/core';
import { sqliteStudyStore } from '@strandwise/store';
import {
  demoScenario,
  type SteadyState,
  type TrueOptimum,
  trueOptimum,
  truth,
  VirtualLine,
} from '@strandwise/virtual-line';
import { lineClock, rehearsedWalk } from '../rehearsal/rehearsed-walk.ts';
import { bar } from '../terminal/bar.ts';
import { type Theme, themeOf, themeWish } from '../theme.ts';
import { fitText } from '../wording/fit-text.ts';
import { recommendationText } from '../wording/recommendation-text.ts';
import type { Command, ExitCode, Given, Surroundings } from './command.ts';
import { requestFromStudy } from './plan.ts';
import { textOption, wholeOption } from './usage-error.ts';

export const demoCommand: Command = {
  name: 'demo',
  summary: 'the whole job on a virtual line with an invented grade, in accelerated time',
  usage: 'demo [--folder DIR] [--seed N]',
  example: {
    line: 'strandwise demo --seed 7',
    says: 'plans, walks, fits and recommends, says the virtual line’s true optimum beside it, and names the files.',
  },
  options: {
    folder: {
      type: 'string',
      value: 'DIR',
      says: 'where to write the study and the page (default: a new temporary folder)',
    },
    seed: { type: 'string', value: 'N', says: 'seed of plan and line (default 1)' },
    family: { type: 'string', value: 'NAME', says: 'another design family than the composite' },
    model: { type: 'string', value: 'NAME', says: 'main, interactions or quadratic' },
    set: {
      type: 'string',
      multiple: true,
      value: 'OPTION=VALUE',
      says: "one of the family's options",
    },
    whole: { type: 'boolean', says: 'keep every term of the model' },
    json: { type: 'boolean', says: 'recommendation and truth as JSON' },
    brief: { type: 'boolean', says: 'leave out the tables of terms' },
  },
  async run(given, around): Promise<ExitCode> {
    const seed = wholeOption(given.options, 'seed') ?? 1;
    const wanted = textOption(given.options, 'folder');
    const folder =
      wanted === undefined
        ? mkdtempSync(join(tmpdir(), 'strandwise-demo-'))
        : resolve(around.cwd, wanted);
    const path = join(folder, `px-31-seed-${seed}.strandwise`);
    const theme = themeOf(themeWish(around.env, around.isTerminal));
    const clock = lineClock(Date.UTC(2026, 0, 5, 7));
    const store = sqliteStudyStore(path, { mode: 'create' });
    try {
      const opened = openedFrom(demoDescription(seed));
      store.append(
        [{ at: new Date(clock.now()).toISOString(), who: 'scientist', what: opened }],
        0,
      );
      const journal = openJournal(store, clock, 'scientist');
      await demonstrated(journal, { around, theme, clock, seed, path, given });
    } finally {
      store.close();
    }
    return 0;
  },
};

/** The invented grade on the invented line. */
const demoDescription = (seed: number): StudyDescription =>
  StudyDescription.parse({
    name: 'PX-31 on bench line 2',
    invented: true,
    grade: demoScenario.grade,
    line: demoScenario.line,
    product: demoScenario.product,
    factors: demoScenario.factors,
    seed,
  });

/** The composite whose axes end at the ranges' limits, every cell set anew: each effect rests on all resets. */
function demoRequest(journal: Journal, given: Given): PlanRequest {
  if (given.options['family'] !== undefined) return requestFromStudy(journal.state(), given);
  const options = { ...given.options, family: 'central composite', set: ['alpha=face-centred'] };
  return requestFromStudy(journal.state(), { ...given, options });
}

interface Demonstration {
  readonly around: Surroundings;
  readonly theme: Theme;
  readonly clock: ReturnType<typeof lineClock>;
  readonly seed: number;
  readonly path: string;
  readonly given: Given;
}

async function demonstrated(
  journal: Journal,
  { around: surroundings, theme, clock, seed, path, given }: Demonstration,
): Promise<void> {
  const isJson = given.options['json'] === true;
  const around = isJson ? { ...surroundings, out: () => {} } : surroundings;
  const { out } = around;
  const heading = (text: string): void => out(`\n${theme.paint('strong', text)}\n`);
  out('Everything here is invented: the lab, the line, the grade PX-31 and its data.');

  heading('PLAN');
  const plan = planOf(demoRequest(journal, given));
  const { ordered, design } = plan;
  journal.record({ kind: 'plan adopted', plan: adoptedPlan(plan) });
  const settings = new Set(ordered.runs.map(({ wholePlot }) => wholePlot)).size;
  out(
    `${design.family}, ${ordered.runs.length} cells in ${settings} zone settings, ${ordered.hours?.toFixed(1)} h, ${Math.round(ordered.grams ?? 0)} g`,
  );

  heading('WALK');
  journal.signAs('operator');
  await rehearsed(journal, { around, theme, clock, seed });
  const { cells } = journal.state();
  const failed = cells.filter(({ status }) => status === 'failed');
  const ways = failed
    .map(({ cell, failures }) => `cell ${cell} ${failures.at(-1)?.direction}`)
    .join(', ');
  out(
    `${cells.length - failed.length} cells measured, ${failed.length} failed${ways === '' ? '' : `: ${ways}`}`,
  );

  heading('FIT');
  journal.signAs('analyst');
  const fits = studyFits(
    journal.state(),
    given.options['whole'] ? {} : reducedModels(journal.state()),
  );
  if (!given.options['brief']) out(fitText(fits, journal.state().opened.factors, theme));

  heading('RECOMMENDED');
  const found = recommendation(predictorOf(journal.state(), fits));
  out(recommendationText(found, journal.state(), theme));
  if (found.kind === 'found') {
    journal.record({
      kind: 'recipe proposed',
      setPoints: found.setPoints,
      natural: { ...found.natural },
      says: [],
    });
  }

  heading('THE VIRTUAL LINE’S TRUE OPTIMUM');
  const optimum = demoTruth(journal);
  out(truthText(optimum));
  if (found.kind === 'found' || found.kind === 'nowhere acceptable')
    out(lossText(journal, found, optimum));
  if (isJson) surroundings.out(JSON.stringify(demoJson(journal, found, optimum)));

  heading('FILES');
  out(`study  ${path}`);
}

async function rehearsed(
  journal: Journal,
  { around, theme, clock, seed }: Pick<Demonstration, 'around' | 'theme' | 'clock' | 'seed'>,
): Promise<void> {
  const { opened, cells } = journal.state();
  journal.record({
    kind: 'checks confirmed',
    items: ['rehearsal on the virtual line'],
    barrelHolds: 'clean',
    driedHours: opened.grade.drying?.hours ?? null,
    hoursSinceDrying: 0,
  });
  const line = new VirtualLine({
    line: opened.line,
    grade: demoScenario.virtualGrade,
    product: opened.product,
    seed,
    setPoints: cells[0]!.run.setPoints!,
    moisturePpm: demoScenario.driedPpm,
  });
  await rehearsedWalk({
    journal,
    line,
    clock,
    driedPpm: demoScenario.driedPpm,
    onCell: (state) => {
      const done = state.cells.length - state.queue.length;
      const text = `  ${bar(done / state.cells.length, 40, theme)} cell ${done} of ${state.cells.length}`;
      if (around.isTerminal)
        process.stderr.write(`\r${text}${done === state.cells.length ? '\n' : ''}`);
      else if (done % 10 === 0 || done === state.cells.length) around.tell(text);
      return 'go on';
    },
  });
}

function demoTruth(journal: Journal): TrueOptimum {
  const state = journal.state();
  const { line, grade, product } = state.opened;
  const defaults = studyDefaults(state);
  return trueOptimum({
    factors: demoScenario.factors,
    line,
    product,
    grade: demoScenario.virtualGrade,
    defaults,
    constraints: planLimits(demoScenario.factors, { line, grade, product, defaults }),
  });
}

/** What the virtual line truly does at natural settings. */
function demoState(journal: Journal, natural: Point): SteadyState {
  const state = journal.state();
  const { line, product } = state.opened;
  return truth({
    factors: demoScenario.factors,
    line,
    product,
    grade: demoScenario.virtualGrade,
    defaults: studyDefaults(state),
  })(natural);
}

/** How the recommendation truly does, beside the optimum. */
function lossText(journal: Journal, found: Recipe, optimum: TrueOptimum): string {
  const there = demoState(journal, found.natural);
  return [
    `At the recommended set points the line truly gives SD ${there.sdMm.toFixed(4)} mm, ${there.bubblesPerMetre.toFixed(2)} bubbles per metre, ${there.outputKgPerHour.toFixed(3)} kg/h:`,
    `  SD ${((100 * there.sdMm) / optimum.state.sdMm - 100).toFixed(0)} % above the optimum's. The optimum ${isInWindow(found, optimum) ? 'lies inside' : 'lies outside'} the recommended window.`,
  ].join('\n');
}

/** True when every setting of the optimum lies within the ranges that each factor may wander alone. */
function isInWindow({ window }: Recipe, { natural }: TrueOptimum): boolean {
  return (
    window?.every(
      ({ factor, alone: [low, high] }) =>
        Number(natural[factor]) >= low && Number(natural[factor]) <= high,
    ) ?? false
  );
}

function demoJson(journal: Journal, found: Recommendation, optimum: TrueOptimum): object {
  const place = found.kind === 'found' || found.kind === 'nowhere acceptable' ? found : null;
  return {
    kind: found.kind,
    cells: journal.state().cells.length,
    failed: journal.state().cells.filter(({ status }) => status === 'failed').length,
    hours: journal.state().plan?.hours,
    natural: place?.natural,
    probability: place?.probability,
    window: place?.window,
    predicted: place?.predictions,
    truthThere: place && demoState(journal, place.natural),
    optimum: { natural: optimum.natural, state: optimum.state },
    isInWindow: place && isInWindow(place, optimum),
  };
}

function truthText({ setPoints, state }: TrueOptimum): string {
  return [
    `zones ${setPoints.zonesCelsius.join(' · ')} °C    screw ${setPoints.screwRpm} rpm    fan ${setPoints.fanPercent} %`,
    `  SD ${state.sdMm.toFixed(4)} mm, ${state.bubblesPerMetre.toFixed(2)} bubbles per metre, ${state.outputKgPerHour.toFixed(3)} kg/h`,
  ].join('\n');
}
