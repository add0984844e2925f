// Makes datasets/calibration: node tests/bench/run.mjs calibration-table [replicates] [folder]
//
// Four split plots, three ratios of plot to cell variance, five ways of judging. Everything after
// the fit is the product's own: intervals of combinations, the region of the stationary point, the
// chance of conforming and its lower statement.
import { mkdirSync, writeFileSync } from 'node:fs';
import { isMainThread, parentPort, Worker } from 'node:worker_threads';
import { WAYS } from './calibration-fit.ts';
import { CELL_SD, trialPlans } from './calibration-plan.ts';
import { MEASURES, type Measure, type Shares, trialShares } from './calibration-trial.ts';

const replicates = Number(process.argv[2] ?? 2000);
const folder = process.argv[3] ?? 'datasets/calibration';
const SEED = 11;
const RATIOS = [0, 1, 4];
const keys = Object.keys(MEASURES) as Measure[];

interface Row extends Shares {
  readonly plan: string;
  readonly ratio: number;
  readonly way: string;
}

/** One plan at one ratio; a thread works through such tasks. */
interface Task {
  readonly plan: number;
  readonly ratio: number;
}

const plans = trialPlans();
const started = performance.now();
const seconds = (): number => (performance.now() - started) / 1000;

if (isMainThread) {
  const tasks = plans.flatMap((_, plan) => RATIOS.map((ratio): Task => ({ plan, ratio })));
  const found = await inThreads(tasks, 2);
  writeAll(found.flat());
} else {
  parentPort!.on('message', ({ plan, ratio }: Task) => {
    const found = trialShares(plans[plan]!, { ratio, replicates, seed: SEED });
    parentPort!.postMessage(
      WAYS.map((way): Row => ({ plan: plans[plan]!.name, ratio, way, ...found.get(way)! })),
    );
  });
}

/** Rows of every task, in the order of the tasks. */
function inThreads(tasks: readonly Task[], threads: number): Promise<Row[][]> {
  const rows: Row[][] = [];
  let next = 0;
  const work = (): Promise<void> =>
    new Promise((resolve, reject) => {
      const worker = new Worker(process.argv[1]!, { argv: process.argv.slice(2) });
      let at = -1;
      const go = (): void => {
        at = next++;
        if (at < tasks.length) worker.postMessage(tasks[at]);
        else void worker.terminate().then(() => resolve());
      };
      worker.on('error', reject);
      worker.on('message', (made: Row[]) => {
        rows[at] = made;
        const { plan, ratio } = made[0]!;
        console.error(`${plan}, ratio ${ratio}: done after ${seconds().toFixed(0)} s`);
        go();
      });
      go();
    });
  return Promise.all(Array.from({ length: threads }, work)).then(() => rows);
}

function writeAll(rows: readonly Row[]): void {
  mkdirSync(folder, { recursive: true });
  writeFileSync(`${folder}/table.md`, page(rows));
  writeFileSync(`${folder}/shares.json`, json(rows));
  writeFileSync(`${folder}/SOURCE.md`, source());
}

function tableLines(rows: readonly Row[]): string[] {
  const three = (value: number): string => value.toFixed(3);
  const heads = [
    'plan',
    'plot / cell variance',
    'judged by',
    'answered',
    ...Object.values(MEASURES),
  ];
  return [
    heads,
    heads.map(() => '---'),
    ...rows.map(({ plan, ratio, way, answered, shares }) => [
      plan,
      String(ratio),
      way,
      three(answered),
      ...keys.map((key) => (shares ? three(shares[key]) : '–')),
    ]),
  ].map((cells) => `| ${cells.join(' | ')} |`);
}

function json(rows: readonly Row[]): string {
  const rounded = (shares: Shares['shares']) =>
    shares && Object.fromEntries(keys.map((key) => [key, Number(shares[key].toFixed(5))]));
  const body = rows.map((row) => JSON.stringify({ ...row, shares: rounded(row.shares) }));
  return `{"seed":${SEED},"replicates":${replicates},"rows":[\n${body.join(',\n')}\n]}\n`;
}

function source(): string {
  return `# Source

Simulated by this project on ${new Date().toISOString().slice(0, 10)}; nothing here was measured. ${replicates} replicates a
row, seed ${SEED}, Node ${process.versions.node}, ${(seconds() / 60).toFixed(0)} min in two threads on a busy machine. To make it again:

    node tests/bench/run.mjs calibration-table ${replicates}

\`table.md\` is for reading, \`shares.json\` the same figures with more digits. A quick test makes a small
part again from another seed and compares it within the error of the draws.
`;
}

function page(rows: readonly Row[]): string {
  const error = (share: number): string =>
    (100 * Math.sqrt((share * (1 - share)) / replicates)).toFixed(2);
  return `# How often tests, intervals and chances hold

${replicates} replicates a row. All data are simulated: a quadratic in three factors whose bottom lies inside
the region, a cell SD of ${CELL_SD}, whole plots that add the variance named. A share of 0.95 or 0.05 is known
here to ±${error(0.95)} % (one standard error; a little better where several terms or places are averaged).
"answered" is the share of studies that the fit did not refuse; all else is of those.

- judged by: least squares that takes every run as set anew; restricted likelihood with Kenward and
  Roger's errors and df, and with Satterthwaite's; variances by pure error, from the model with one
  mean for each setting; the exact Bayesian fit under its weak prior.
- size of 5 % tests: share of tests at 5 % that refute the true value of a term, over the terms of
  factors set once a plot, and over all others.
- mean, new set-up: share of 95 % intervals that hold the true mean, or one fresh set-up, over four
  places (centre, best place, an inner place, a corner).
- stationary point: share of joint regions (Box & Hunter) that hold the true one.
- chance told: average chance of conforming that is told at the true best place, where it is 0.90.
- chance 95 %: share of 95 % intervals of that chance that hold 0.90.
- promise kept: share of studies whose "not below" (95 %) is not above the true chance.
- at own best: the same at the place that the fit itself likes best, where estimates flatter.

Reading it:

- Least squares that takes every run as set anew refutes 16 to 36 % of what is true of terms set once a
  plot when plots differ as much as cells or more, and hardly ever errs on the others; its intervals,
  regions and promises fall short alike.
- Restricted likelihood keeps its 5 % by either df when plots differ. When they do not, Kenward and
  Roger's is the more careful of the two. Its intervals of a mean, whose df are joined from those of
  the terms, fall short by up to 3 % with few plots that vary much.
- Pure error refuses two plans, which repeat too little. Where hardly a plot is repeated it is far too
  careful with terms set once a plot; with every plot made twice it does as well as the likelihood.
- The Bayesian fit is careful when plots do not differ, and a little too sure of terms set once a plot
  (7 to 8 % for 5 %) when few plots differ more than its weak prior expects. The product judges by it
  where plots leave fewer than 5 df.
- At the place a fit itself likes best the promise falls short where plots vary much, because estimates
  flatter the place they choose: fresh set-ups at the recipe settle it.

${tableLines(rows).join('\n')}
`;
}
