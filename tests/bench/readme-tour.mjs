// Rewrites the tour of README.md from real runs: node tests/bench/readme-tour.mjs (after a build; wants tmux and chromium).
import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { chromium } from 'playwright-core';

const root = resolve(import.meta.dirname, '../..');
const command = join(root, 'packages/cli/dist/main.js');
const folder = mkdtempSync(join(tmpdir(), 'strandwise-tour-'));
const env = { ...process.env, NO_COLOR: '1', STRANDWISE_WHO: 'Robin', LANG: 'C.UTF-8', TZ: 'UTC' };

function run(...args) {
  const ran = spawnSync(process.execPath, [command, ...args], {
    cwd: folder,
    env,
    encoding: 'utf8',
  });
  if (ran.status === null || ran.status > 1) throw new Error(`${args.join(' ')}: ${ran.stderr}`);
  return tidy(ran.stdout);
}

const tidy = (text) =>
  text
    .replaceAll(folder, '.')
    .split('\n')
    .map((line) => line.trimEnd())
    .join('\n')
    .trimEnd();

let servers = 0;

/** Frames of a screen: each step is keys to send and a text to wait for. */
async function frames(args, steps) {
  servers += 1;
  const socket = `tour-${process.pid}-${servers}`;
  const tmux = (...rest) =>
    execFileSync('tmux', ['-L', socket, ...rest], { encoding: 'utf8', env });
  tmux(
    'new-session',
    '-d',
    '-x',
    '80',
    '-y',
    '24',
    '-c',
    folder,
    process.execPath,
    command,
    ...args,
  );
  const shown = [];
  for (const { keys = [], until } of steps) {
    for (const key of keys) {
      tmux('send-keys', key);
      await pause(250);
    }
    for (let tries = 0; ; tries++) {
      const frame = tidy(tmux('capture-pane', '-p'));
      if (frame.includes(until)) {
        shown.push(frame);
        break;
      }
      if (tries > 100) throw new Error(`never saw "${until}" in:\n${frame}`);
      await pause(200);
    }
  }
  tmux('kill-server');
  return shown;
}

const block = (text) => `\`\`\`\n${text}\n\`\`\``;
const part = (text, from, to) => {
  const start = text.indexOf(from);
  const end = to === undefined ? undefined : text.indexOf(to, start);
  return text.slice(start, end).trimEnd();
};

const demo = run('demo', '--seed', '1', '--folder', '.');
run('new', 'qx-7.strandwise', '--from', join(root, 'datasets/tour/qx-7.yaml'));
const compared = run('plan', 'qx-7.strandwise', '--compare', '--hours', '10', '--grams', '2000');
run('plan', 'qx-7.strandwise', '--family', 'box-behnken', '--adopt');
const walked = await frames(
  ['walk', 'qx-7.strandwise'],
  [
    { until: 'papers and people' },
    { keys: ['y', 'y', 'y', 'y', 'y'], until: '→ barrel' },
    { keys: ['clean', 'Enter'], until: '→ dried' },
    { keys: ['4', 'Enter'], until: '→ since drying' },
    { keys: ['Enter'], until: 'SET NOW' },
    { keys: ['Enter'], until: 'HOLD' },
  ],
);
const form = await frames(['new', 'trial.strandwise'], [{ until: 'new study' }]);

/** The top of the demonstration's page as a picture. */
async function pictured(page, picture) {
  const browser = await chromium.launch({
    executablePath: process.env.CHROMIUM_PATH ?? '/usr/bin/chromium',
    args: ['--no-sandbox', '--disable-gpu', '--disable-background-networking'],
  });
  const view = await browser.newPage({ viewport: { width: 860, height: 1040 } });
  await view.goto(`file://${page}`);
  await view.screenshot({ path: picture });
  await browser.close();
}
await pictured(join(folder, 'px-31-seed-1.html'), join(root, 'datasets/tour/page.png'));

const tour = `## A tour

Everything shown is real output of the invented example, made by \`node tests/bench/readme-tour.mjs\`.

### The whole job in one command

\`npm run demo\` opens a study of the invented grade PX-31, plans it, walks the plan on the virtual line, fits and
recommends:

${block(part(demo, 'PLAN', 'THE VIRTUAL'))}

It then says what the virtual line truly does there, and names its files:

${block(part(demo, 'THE VIRTUAL'))}

![The top of the page: the answer in words, the recipe in large set points](datasets/tour/page.png)

### A study of your own

\`strandwise new trial.strandwise\` asks; \`--from FILE\` reads JSON or YAML instead.

${block(form[0])}

### Plans side by side

${block(compared)}

### At the machine

\`strandwise walk qx-7.strandwise\` asks what must be so before heating, then shows what to set:

${block(walked.at(-2))}

and holds by rule, each part with its reason:

${block(walked.at(-1))}

With \`--gauge\` the walk listens to the diameter gauge; \`--gauge virtual --speed 60\` is a trainer without a machine.
`;
const readme = readFileSync(join(root, 'README.md'), 'utf8');
const [before, rest] = readme.split('<!-- tour -->');
const after = rest.slice(rest.indexOf('<!-- /tour -->'));
writeFileSync(join(root, 'README.md'), `${before}<!-- tour -->\n\n${tour}\n${after}`);
