// Makes datasets/scouting/table.md: node tests/bench/run.mjs scouting-table [grades]
import { writeFileSync } from 'node:fs';
import { mostCornerFailure, scoutingSummary, scoutingTrial } from './scouting-trial.ts';

const count = Number(process.argv[2] ?? 200);
const trials = Array.from({ length: count }, (_, i) => scoutingTrial(i + 1));
const all = scoutingSummary(trials);
const percent = (share: number): string => `${(100 * share).toFixed(1)} %`;
const rows: readonly (readonly [string, string])[] = [
  ['grades scouted', String(all.grades)],
  ['a bracket was found', percent(all.bracketed)],
  ['both its good ends lie truly inside the window', percent(all.bracketTrue)],
  ['steps, mean and most', `${all.steps.mean.toFixed(1)}, ${all.steps.most}`],
  [
    'steps without a strand, mean and most',
    `${all.failures.mean.toFixed(2)}, ${all.failures.most}`,
  ],
  ['hours and grams, mean', `${all.hours.toFixed(1)} h, ${Math.round(all.grams)} g`],
  [`every corner fails with chance ${mostCornerFailure} at most`, percent(all.allCornersFeasible)],
  ['every corner is likelier to give a strand than not', percent(all.cornersLikelier)],
  ['corner cells that truly fail, mean', percent(all.cornerCellsLost)],
  ['corner cells that the model expects to fail, mean', percent(all.cornerCellsExpectedLost)],
  ['proposed width of the level, mean', `${all.meanLevelWidth.toFixed(1)} °C`],
];
const text = [
  '# Scouting on the virtual line',
  '',
  `${count} seeded random grades (seeds 1 to ${count}), all invented. Each is scouted from its data sheet alone`,
  'by the search of core/scout, with an operator whose eye is off by 10 % from step to step. Afterwards the',
  'virtual line is asked for the truth at every corner of the proposed ranges (level, tilt, hump, screw, fan).',
  '',
  '| what | value |',
  '| --- | --- |',
  ...rows.map(([what, value]) => `| ${what} | ${value} |`),
  '',
  'Made by `node tests/bench/run.mjs scouting-table`; a shorter run of the same trials is a test.',
  '',
].join('\n');
writeFileSync('datasets/scouting/table.md', text);
console.log(text);
