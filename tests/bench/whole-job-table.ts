// Makes datasets/whole-job/table.md: node tests/bench/run.mjs whole-job-table [minutes] [grades]
import { mkdirSync, writeFileSync } from 'node:fs';
import { type SetPoints, scoutSetPoints, seededUniform } from '@strandwise/core';
import {
  demoScenario,
  randomGrade,
  type VirtualGrade,
  VirtualLine,
} from '@strandwise/virtual-line';
import { oneFactorSearch } from './one-factor-search.ts';
import { sheetOf } from './scouting-trial.ts';
import { hopperGainPpm, trueChance } from './true-chance.ts';
import { cellGrams, type Job, jobDescription, wholeJob } from './whole-job.ts';

const minutes = Number(process.argv[2] ?? 15);
const most = Number(process.argv[3] ?? 200);
const setUps = 3;
const { line, product, driedPpm } = demoScenario;
const chanceThere = (settings: SetPoints, grade: VirtualGrade): number =>
  trueChance(settings, { line, grade, product, moisturePpm: driedPpm + hopperGainPpm });

interface Tally {
  grades: number;
  proposed: number;
  released: number;
  stated: number[];
  true: number[];
  trueWhenNot: number[];
  hours: number[];
  grams: number[];
}
const tally = (): Tally => ({
  grades: 0,
  proposed: 0,
  released: 0,
  stated: [],
  true: [],
  trueWhenNot: [],
  hours: [],
  grams: [],
});
const planned = tally();
const oneAtATime = tally();
const ends = new Map<string, number>();
/** Stated and true chance at every recipe that the fit proposed, before anything confirmed it. */
const told: { stated: number; notBelow: number; truth: number }[] = [];

const begun = process.cpuUsage();
const spentMinutes = (): number => {
  const { user, system } = process.cpuUsage(begun);
  return (user + system) / 60e6;
};
function counted(job: Job, virtual: VirtualGrade): void {
  const { found, card, hours, scoutGrams, objections } = job;
  planned.grades++;
  planned.hours.push(hours.scout + hours.plan + hours.confirm);
  planned.grams.push(scoutGrams + cellGrams(job.journal.state()));
  ends.set(endOf(job), (ends.get(endOf(job)) ?? 0) + 1);
  if (found.kind !== 'found') return;
  planned.proposed++;
  const truth = chanceThere(found.setPoints, virtual);
  if (found.chance) {
    const { probability, notBelow } = found.chance;
    told.push({ stated: probability, notBelow, truth });
  }
  if (!card) {
    if (objections.length > 0) planned.trueWhenNot.push(truth);
    return;
  }
  planned.released++;
  planned.true.push(truth);
  planned.stated.push(card.chance!.probability);
}

function endOf({ card, verdict, objections, found }: Job): string {
  if (card) return 'released';
  if (found.kind !== 'found') return 'no setting is acceptable in every response';
  if (!verdict) return 'no setting reaches the chance asked';
  if (objections.some((says) => says.startsWith('Not confirmed'))) return 'the confirmation misses';
  return 'confirmed, but with its cells the chance falls below what is asked';
}

/** One factor at a time on a line of the same seed, from the same scouted ranges, for the same hours. */
function searched(job: Job, virtual: VirtualGrade, seed: number): void {
  const { opened } = job.journal.state();
  const range = (name: string): { low: number; high: number } => {
    const factor = opened.factors.find((one) => one.name === name);
    return factor && 'low' in factor ? { low: factor.low, high: factor.high } : { low: 0, high: 0 };
  };
  const ranges = {
    level: range('level'),
    tilt: range('tilt'),
    hump: range('hump'),
    screw: range('screw'),
    fan: range('fan'),
  };
  const middle = scoutSetPoints(
    Object.fromEntries(
      Object.entries(ranges).map(([name, { low, high }]) => [name, (low + high) / 2]),
    ),
    { line },
  );
  const end = oneFactorSearch({
    line: new VirtualLine({
      line,
      grade: virtual,
      product,
      seed,
      setPoints: middle,
      moisturePpm: driedPpm,
    }),
    described: line,
    grade: opened.grade,
    product,
    ranges,
    hours: job.hours.plan + job.hours.confirm,
    driedPpm,
    setUps,
  });
  const truth = chanceThere(end.setPoints, virtual);
  oneAtATime.grades++;
  oneAtATime.proposed++;
  oneAtATime.hours.push(job.hours.scout + end.hours);
  oneAtATime.grams.push(job.scoutGrams + end.grams);
  if (end.released) {
    oneAtATime.released++;
    oneAtATime.true.push(truth);
  } else oneAtATime.trueWhenNot.push(truth);
}

const mean = (list: readonly number[]): number =>
  list.reduce((a, b) => a + b, 0) / Math.max(1, list.length);
const percent = (part: number, whole: number): string =>
  whole === 0 ? '—' : `${Math.round((100 * part) / whole)} %`;
const two = (list: readonly number[]): string => (list.length === 0 ? '—' : mean(list).toFixed(2));
const atLeast = (list: readonly number[], limit: number): string =>
  percent(list.filter((value) => value >= limit).length, list.length);
const row = (what: string, of: (one: Tally) => string): string =>
  `| ${what} | ${of(planned)} | ${of(oneAtATime)} |`;

const tableText = (): string =>
  [
    '# The whole job without a hand',
    '',
    `${planned.grades} seeded random grades (seeds from 1 on, as many as ${minutes} minutes of one core allow, 200 at most), all invented.`,
    'Each is scouted from its data sheet; a face-centred composite of 31 cells with a quadratic model is planned in the scouted ranges,',
    `walked, fitted and read; the recipe (0.9 asked) is confirmed by ${setUps} fresh set-ups on a new drying batch and released, or not.`,
    'Beside it one factor at a time: the same scouted ranges, holds, measuring and hours; released when all fresh set-ups conform.',
    'The true chance is that of a new set-up on a new drying batch, from the equations of the virtual line.',
    '',
    '| | planned | one factor at a time |',
    '| --- | --- | --- |',
    row('grades', ({ grades }) => String(grades)),
    row('a recipe was proposed', ({ proposed, grades }) => percent(proposed, grades)),
    row('released', ({ released, grades }) => percent(released, grades)),
    row('stated chance of the released, mean', ({ stated }) => two(stated)),
    row('true chance of the released, mean', (one) => two(one.true)),
    row('released that truly reach 0.9', (one) => atLeast(one.true, 0.9)),
    row('released that truly reach 0.8', (one) => atLeast(one.true, 0.8)),
    row('true chance of those held back, mean', (one) => two(one.trueWhenNot)),
    row('held back though they truly reach 0.9', (one) => atLeast(one.trueWhenNot, 0.9)),
    row('released and truly 0.9, of all grades', (one) =>
      percent(one.true.filter((value) => value >= 0.9).length, one.grades),
    ),
    row('hours on the line, mean', ({ hours }) => mean(hours).toFixed(1)),
    row('resin, mean', ({ grams }) => `${Math.round(mean(grams))} g`),
    '',
    'How the planned job ended:',
    '',
    ...[...ends]
      .sort(([, a], [, b]) => b - a)
      .map(([end, count]) => `- ${end}: ${percent(count, planned.grades)}`),
    '',
    'The stated chance at the proposed recipe, before confirmation, against the true one:',
    '',
    '| stated | grades | stated, mean | true, mean | truly 0.9 | “not below” kept |',
    '| --- | --- | --- | --- | --- | --- |',
    ...toldRows(),
    '',
    'The stated chance speaks of the drying batch that was studied; a new batch adds scatter (10 % of the SD) that one batch cannot show.',
    '',
    'Made by `node tests/bench/run.mjs whole-job-table`; one grade is run in a test.',
    '',
  ].join('\n');

/** Grades by what was stated, and the truth of each class. */
function toldRows(): string[] {
  const limits = [0, 0.7, 0.8, 0.9, 0.95, 1.001];
  const classes = limits.slice(1).map((high, i) => ({
    name: i === 0 ? `below ${high}` : `${limits[i]} to ${Math.min(1, high)}`,
    list: told.filter(({ stated }) => stated >= limits[i]! && stated < high),
  }));
  return [...classes, { name: 'all', list: told }].map(({ name, list }) => {
    const truths = list.map(({ truth }) => truth);
    const kept = list.filter(({ notBelow, truth }) => notBelow <= truth).length;
    return `| ${name} | ${list.length} | ${two(list.map(({ stated }) => stated))} | ${two(truths)} | ${atLeast(truths, 0.9)} | ${percent(kept, list.length)} |`;
  });
}

function written(): void {
  mkdirSync('datasets/whole-job', { recursive: true });
  writeFileSync('datasets/whole-job/table.md', tableText());
}

for (let seed = 1; seed <= most && spentMinutes() < minutes; seed++) {
  const virtual = randomGrade(seededUniform(seed, 'grade'));
  const grade = sheetOf(virtual);
  const job = await wholeJob({
    description: jobDescription(`grade ${seed}`, grade, seed),
    virtual,
    seed,
    driedPpm,
    family: 'central composite',
    options: { alpha: 'face-centred' },
    setUps,
    confirmBatch: 'new',
  });
  counted(job, virtual);
  searched(job, virtual, seed);
  // Written as it grows, so that a run cut short leaves an honest table of fewer grades.
  if (seed % 10 === 0) {
    console.error(`${seed} grades, ${spentMinutes().toFixed(1)} min`);
    written();
  }
}
written();
console.log(tableText());
