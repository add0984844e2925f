// Makes datasets/worked-*: node tests/bench/run.mjs worked-examples
import { mkdirSync, writeFileSync } from 'node:fs';
import { gzipSync } from 'node:zlib';
import {
  planLimits,
  reducedModels,
  type StudyState,
  studyDefaults,
  studyFits,
} from '@strandwise/core';
import { canonicalJson } from '@strandwise/store';
import { steadyState, trueOptimum } from '@strandwise/virtual-line';
import { type Job, wholeJob } from './whole-job.ts';
import { exampleJob, type WorkedExample, workedExamples } from './worked-example.ts';

const json = (value: unknown): string => `${JSON.stringify(value, null, 1)}\n`;

for (const example of workedExamples) {
  const job = await wholeJob(exampleJob(example));
  const folder = `datasets/${example.slug}`;
  mkdirSync(folder, { recursive: true });
  const state = job.journal.state();
  writeFileSync(`${folder}/description.yaml`, descriptionText(example));
  writeFileSync(`${folder}/plan.json`, json(planSummary(state)));
  writeFileSync(`${folder}/study.json.gz`, gzipSync(studyText(job), { level: 9 }));
  writeFileSync(`${folder}/fit.json`, json(fitSummary(state, job)));
  writeFileSync(`${folder}/truth.json`, json(truthOf(example, state, job)));
  writeFileSync(`${folder}/SOURCE.md`, sourceText(example, job));
  console.log(
    example.slug,
    job.found.kind,
    job.verdict?.kind,
    job.card ? 'released' : job.objections.join(' '),
  );
}

function descriptionText({ about, description }: WorkedExample): string {
  const { factors: _, ...said } = description;
  return `# Invented: ${about}.\n${yamlLines(said).join('\n')}\n`;
}

/** Plain data as YAML: nested maps and lists, scalars as JSON. */
function yamlLines(value: object, indent = ''): string[] {
  return Object.entries(value).flatMap(([key, inner]) => {
    if (inner === undefined) return [];
    if (Array.isArray(inner) && inner.every((item) => typeof item === 'object'))
      return [`${indent}${key}:`, ...inner.map((item) => `${indent}  - ${flowText(item)}`)];
    if (inner !== null && typeof inner === 'object' && !Array.isArray(inner))
      return Object.keys(inner).length === 0
        ? [`${indent}${key}: {}`]
        : [`${indent}${key}:`, ...yamlLines(inner, `${indent}  `)];
    return [`${indent}${key}: ${JSON.stringify(inner)}`];
  });
}

function flowText(item: object): string {
  const parts = Object.entries(item).map(([key, inner]) => `${key}: ${JSON.stringify(inner)}`);
  return `{ ${parts.join(', ')} }`;
}

function planSummary({ plan, opened }: StudyState): object {
  return { factors: opened.factors, ...plan };
}

/** The study as "strandwise export" writes it. */
function studyText({ journal }: Job): string {
  const entries = journal.events();
  const names = new Map(
    entries.flatMap(({ what }) =>
      'raw' in what && what.raw ? [[what.raw.sha256, what.raw.name] as const] : [],
    ),
  );
  const raw = [...names]
    .sort(([a], [b]) => (a < b ? -1 : 1))
    .map(([sha256, name]) => ({
      sha256,
      name,
      encoding: 'text',
      content: new TextDecoder().decode(journal.store.raw(sha256)),
    }));
  const whole = { format: 'strandwise study', version: 1, entries, raw };
  return `${JSON.stringify(JSON.parse(canonicalJson(whole)), null, 1)}\n`;
}

/** What the fit of the walked study says: estimates to compare with, and the recipe it proposes. */
function fitSummary(state: StudyState, { found, verdict }: Job): object {
  const fits = studyFits(state, reducedModels(state));
  return {
    responses: fits.responses.map(({ name, method, terms, residualSd, cells }) => ({
      name,
      method,
      cells: { used: cells.used, total: cells.total },
      residualSd,
      terms: terms.map(({ name: term, powers, estimate, standardError }) => ({
        name: term,
        powers,
        estimate,
        standardError,
      })),
    })),
    recommendation:
      found.kind === 'found'
        ? {
            setPoints: found.setPoints,
            probability: found.probability,
            predictions: found.predictions,
          }
        : { kind: found.kind },
    confirmation: verdict && { kind: verdict.kind, says: verdict.says },
  };
}

/** What the virtual line truly does: its best setting, and what happens at the proposed one. */
function truthOf({ virtual, driedPpm }: WorkedExample, state: StudyState, { found }: Job): object {
  const { line, grade, product, factors } = state.opened;
  const defaults = studyDefaults(state);
  const surroundings = { moisturePpm: driedPpm, roomCelsius: 23 };
  const numeric = factors.flatMap((factor) => ('low' in factor ? [factor] : []));
  const constraints = planLimits(factors, { line, grade, product, defaults });
  const optimum = trueOptimum({
    factors: numeric,
    line,
    product,
    grade: virtual,
    surroundings,
    defaults,
    constraints,
  });
  const at = found.kind === 'found' ? found.setPoints : null;
  return {
    virtualGrade: virtual,
    moisturePpm: driedPpm,
    optimum: { natural: optimum.natural, setPoints: optimum.setPoints, state: optimum.state },
    atRecipe: at && steadyState({ settings: at, line, grade: virtual, product, surroundings }),
  };
}

function sourceText(
  { slug, about, seed, driedPpm, confirmBatch }: WorkedExample,
  { journal, hours, verdict, card }: Job,
): string {
  const { cells, opened, scouting } = journal.state();
  const failed = cells.filter(({ status }) => status === 'failed').length;
  return [
    `# Worked example: ${opened.name}`,
    '',
    `Invented by us, no real product: ${about}. Everything was run on the virtual line of this repository`,
    `(seed ${seed}, pellets dried to ${driedPpm} ppm), nothing on a real one.`,
    '',
    `Scouting ${scouting.length} steps (${hours.scout.toFixed(1)} h), ${opened.factors.length} factors, ${cells.length} cells with the confirmation`,
    `(${(hours.plan + hours.confirm).toFixed(1)} h), ${failed} failed. Confirmed with pellets of ${confirmBatch === 'same' ? 'the same' : 'a new'} drying batch. ${verdict ? `Confirmation: ${verdict.says}` : 'No recipe was confirmed.'}`,
    card ? `Released as recipe ${card.recipeVersion}.` : 'Not released.',
    '',
    '- `description.yaml`: what a scientist writes down to start; for `strandwise new --from`',
    '- `plan.json`: the scouted factor ranges and the adopted plan',
    '- `study.json.gz`: the whole walked study with its raw logs; after gunzip for `strandwise import`',
    '- `fit.json`: estimates and the proposed recipe, our own output, a regression snapshot',
    '- `truth.json`: the constants behind the virtual grade, its true optimum, and the truth at the recipe',
    '',
    'Licence: as the repository.',
    '',
    `Made by \`node tests/bench/run.mjs worked-examples\` (${slug}).`,
    '',
  ].join('\n');
}
