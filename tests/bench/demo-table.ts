// Makes datasets/demo-seeds/table.md: node tests/bench/run.mjs demo-table [seeds]
import { mkdirSync, writeFileSync } from 'node:fs';
import { openedFrom, openJournal, type SetPoints } from '@strandwise/core';
import { memoryStudyStore } from '@strandwise/store';
import { demoScenario } from '@strandwise/virtual-line';
import { requestFromStudy } from '../../packages/cli/src/command/plan-request.ts';
import {
  demoDescription,
  demonstratedJob,
} from '../../packages/cli/src/demonstration/demonstrated-job.ts';
import { truthBeside } from '../../packages/cli/src/demonstration/truth-beside.ts';
import { lineClock } from '../../packages/cli/src/rehearsal/rehearsed-walk.ts';
import { hopperGainPpm, trueChance } from './true-chance.ts';

const count = Number(process.argv[2] ?? 20);
const options = { family: 'central composite', set: ['alpha=face-centred'] };

const { line, product, virtualGrade: grade, driedPpm } = demoScenario;
const chanceThere = (settings: SetPoints): number =>
  trueChance(settings, { line, grade, product, moisturePpm: driedPpm + hopperGainPpm });

async function demonstrated(seed: number) {
  const clock = lineClock(Date.UTC(2026, 0, 5, 7));
  const store = memoryStudyStore();
  const at = new Date(clock.now()).toISOString();
  store.append([{ at, who: 'scientist', what: openedFrom(demoDescription(seed)) }], 0);
  const journal = openJournal(store, clock, 'scientist');
  const request = requestFromStudy(journal.state(), { options, rest: [] });
  const job = await demonstratedJob({ journal, clock, seed, request });
  const { found } = job;
  const failed = journal.state().cells.filter(({ status }) => status === 'failed').length;
  const place = found.kind === 'found' || found.kind === 'nowhere acceptable' ? found : null;
  return {
    seed,
    failed,
    chance: place?.probability ?? null,
    notBelow: place?.chance?.notBelow ?? null,
    truth: place && chanceThere(place.setPoints),
    hasWindow: place?.window != null,
    ...truthBeside(journal.state(), job),
  };
}

const results: Awaited<ReturnType<typeof demonstrated>>[] = [];
for (let seed = 1; seed <= count; seed++) results.push(await demonstrated(seed));

const losses = results.flatMap(({ loss }) => loss ?? []).sort((a, b) => a - b);
const quantile = (share: number): number => losses[Math.round(share * (losses.length - 1))]!;
const mean = (list: readonly (number | null)[]): number | null => {
  const known = list.flatMap((value) => value ?? []);
  return known.length === 0 ? null : known.reduce((a, b) => a + b, 0) / known.length;
};
const percent = (share: number): string => `${(100 * share).toFixed(0)} %`;
const number = (value: number | null): string => value?.toFixed(2) ?? '–';
const of = (isSo: (result: (typeof results)[number]) => boolean): string =>
  `${results.filter(isSo).length} of ${results.length}`;
const text = `# The demonstration over ${count} seeds

The invented grade PX-31 on the virtual line: face-centred composite of 31 cells, every cell set anew, models reduced,
the recommendation as \`strandwise demo\` prints it. The true optimum is the smallest SD of diameter within the
product's limits. Made by \`node tests/bench/run.mjs demo-table ${count}\`.

| what | value |
| --- | --- |
| a window with the chance asked (0.9) was found | ${of(({ hasWindow }) => hasWindow)} |
| the true optimum lies in the region recommended (the fit gives it the chance asked) | ${of(({ isInRegion }) => isInRegion)} |
| the true optimum lies inside every range that a factor alone may wander | ${of(({ isInRanges }) => isInRanges)} |
| SD at the recommended set points above the optimum's: median, 90 % point, largest | ${percent(quantile(0.5))}, ${percent(quantile(0.9))}, ${percent(quantile(1))} |
| stated chance there, mean | ${number(mean(results.map(({ chance }) => chance)))} |
| true chance there, mean | ${number(mean(results.map(({ truth }) => truth)))} |
| the true chance there reaches the chance asked | ${of(({ truth }) => (truth ?? 0) >= 0.9)} |
| the "not below" (95 %) is kept | ${of(({ notBelow, truth }) => (notBelow ?? 0) <= (truth ?? 0))} |
| failed cells, mean | ${(results.reduce((sum, { failed }) => sum + failed, 0) / results.length).toFixed(1)} |

| seed | failed cells | chance there | not below | true chance there | chance given to the optimum | SD there, mm | SD at the optimum, mm | above |
| ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |
${results.map(({ seed, failed, chance, notBelow, truth, optimumChance, there, optimum, loss }) => `| ${seed} | ${failed} | ${number(chance)} | ${number(notBelow)} | ${number(truth)} | ${number(optimumChance)} | ${there?.sdMm.toFixed(4) ?? '–'} | ${optimum.state.sdMm.toFixed(4)} | ${loss === null ? '–' : percent(loss)} |`).join('\n')}
`;
mkdirSync('datasets/demo-seeds', { recursive: true });
writeFileSync('datasets/demo-seeds/table.md', text);
console.log(text);
