import { resolve } from 'node:path';
import {
  adoptedPlan,
  describeFraction,
  designFamilies,
  type Factor,
  fractionFacts,
  type Plan,
  type PlannedRun,
  type PlanRequest,
  planOf,
  pointKinds,
  Spec,
  type StudyState,
  studyDefaults,
} from '@strandwise/core';
import { unknownName } from '../input/file-error.ts';
import { readDocument } from '../input/read-document.ts';
import type { Command, Given, Surroundings } from './command.ts';
import { planOptionValues } from './plan-option.ts';
import { whoOption, withStudy } from './study-file.ts';
import { textOption, UsageError, wholeOption } from './usage-error.ts';

export const planCommand: Command = {
  name: 'plan',
  summary: 'make a plan: which cells, in which order, how many hours and grams',
  usage: 'plan STUDY [--family NAME] [--model NAME] [--set OPTION=VALUE] [--order NAME] [--adopt]',
  example: {
    line: 'strandwise plan px-31.strandwise --family "central composite" --set axial=face --adopt',
    says: 'shows the plan and adopts it; without --adopt it is only shown. --spec FILE works without a study.',
  },
  options: {
    family: {
      type: 'string',
      value: 'NAME',
      says: `one of: ${designFamilies.map(({ name }) => name).join(', ')}`,
    },
    model: {
      type: 'string',
      value: 'NAME',
      says: 'main, interactions or quadratic (default quadratic)',
    },
    set: {
      type: 'string',
      multiple: true,
      value: 'OPTION=VALUE',
      says: "one of the family's options; may be repeated",
    },
    order: {
      type: 'string',
      value: 'NAME',
      says: 'complete, within-plots, trend-robust or fewest-hours',
    },
    seed: {
      type: 'string',
      value: 'N',
      says: 'seed of every random choice; the same seed gives the same plan',
    },
    spec: { type: 'string', value: 'FILE', says: 'plan from a spec file alone, with no study' },
    adopt: { type: 'boolean', says: 'record the plan in the study' },
    families: { type: 'boolean', says: 'list the families and their options' },
    json: { type: 'boolean', says: 'the plan as JSON' },
    ...whoOption,
  },
  run(given, around) {
    if (given.options['families']) {
      around.out(familyList());
      return 0;
    }
    const specFile = textOption(given.options, 'spec');
    if (specFile !== undefined) {
      const spec = readDocument(resolve(around.cwd, specFile), Spec);
      shown(planOf(requestFromSpec(spec, given)), given, around);
      return 0;
    }
    return withStudy(given, around, (journal) => {
      const plan = planOf(requestFromStudy(journal.state(), given));
      shown(plan, given, around);
      if (given.options['adopt']) {
        journal.record({ kind: 'plan adopted', plan: adoptedPlan(plan) });
        around.tell(
          `Adopted as plan ${journal.state().planVersion}. Next: strandwise walk ${given.rest[0]}`,
        );
      } else around.tell('Not adopted yet: add --adopt to record it.');
      return 0;
    });
  },
};

const orders = ['complete', 'within-plots', 'trend-robust', 'fewest-hours'] as const;
const models = ['main', 'interactions', 'quadratic'] as const;

function chosen<T extends string>(
  kind: string,
  given: Given,
  name: string,
  known: readonly T[],
): T | undefined {
  const text = textOption(given.options, name);
  if (text === undefined) return undefined;
  const found = known.find((candidate) => candidate === text);
  if (found === undefined) throw unknownName(kind, text, known);
  return found;
}

function requestFromSpec(spec: Spec, given: Given): PlanRequest {
  const order = chosen('--order', given, 'order', orders);
  return {
    factors: spec.factors,
    model: chosen('--model', given, 'model', models) ?? spec.model,
    family: textOption(given.options, 'family') ?? spec.family ?? 'full factorial',
    options: { ...spec.options, ...planOptionValues(given.options['set']) },
    seed: wholeOption(given.options, 'seed') ?? 1,
    ...(order ? { order } : {}),
  };
}

/** The plan that a study's factors and line ask for; nothing said means a composite that fits inside the ranges. */
export function requestFromStudy(state: StudyState, given: Given): PlanRequest {
  const { factors, line, grade, product, seed } = state.opened;
  const order = chosen('--order', given, 'order', orders);
  return {
    factors,
    model: chosen('--model', given, 'model', models) ?? 'quadratic',
    family: textOption(given.options, 'family') ?? 'optimal',
    options: planOptionValues(given.options['set']),
    seed: wholeOption(given.options, 'seed') ?? seed,
    surroundings: { line, grade, product, defaults: studyDefaults(state) },
    ...(order ? { order } : {}),
  };
}

function shown(plan: Plan, given: Given, around: Surroundings): void {
  around.out(given.options['json'] ? JSON.stringify(planJson(plan), null, 2) : planText(plan));
}

/** The headless answer of `plan`. */
export function planJson({ request, design, ordered }: Plan): object {
  return {
    seed: request.seed,
    family: design.family,
    order: ordered.order,
    runs: ordered.runs,
    properties: {
      cells: ordered.runs.length,
      hours: ordered.hours,
      grams: ordered.grams,
      spools: ordered.spools,
      trends: ordered.trends,
      underFlushed: ordered.underFlushed,
      notes: [...design.notes, ...ordered.notes],
    },
  };
}

/** A plan as text: what it is, what it costs, then one line a cell. */
export function planText(plan: Plan): string {
  const { request, design, ordered } = plan;
  const kinds = [...pointKinds(ordered.runs)].map(([kind, count]) => `${count} ${kind}`).join(', ');
  const plots = new Set(ordered.runs.flatMap(({ wholePlot }) => wholePlot ?? [])).size;
  return [
    `${design.family}, ${ordered.runs.length} cells (${kinds})${plots > 0 ? `, ${plots} zone settings` : ''}`,
    `  order ${ordered.order}, seed ${request.seed}`,
    ...(ordered.hours === null
      ? []
      : [
          `  ${ordered.hours.toFixed(1)} h, ${Math.round(ordered.grams ?? 0)} g of resin, ${ordered.spools} spools`,
        ]),
    ...fractionLines(plan),
    ...[...design.notes, ...ordered.notes].map((note) => `  ${note}`),
    '',
    ...runTableLines(ordered.runs, request.factors),
  ].join('\n');
}

function fractionLines({ design }: Plan): string[] {
  if (!design.family.includes('factorial')) return [];
  return describeFraction(fractionFacts(design)).map((text) => `  ${text}`);
}

/** One line a cell: run order, plot, settings, set points, hold. */
export function runTableLines(runs: readonly PlannedRun[], factors: readonly Factor[]): string[] {
  const heads = ['cell', 'setting', ...factors.map(({ name }) => name), 'zones °C', 'hold min'];
  const rows = runs.map((run) => [
    String(run.runOrder),
    run.wholePlot === null ? '' : String(run.wholePlot),
    ...factors.map(({ name }) => settingText(run.natural[name])),
    run.setPoints ? run.setPoints.zonesCelsius.join(' ') : '',
    run.holdSeconds === null ? '' : (run.holdSeconds / 60).toFixed(0),
  ]);
  const used = heads.map((_, i) => rows.some((row) => row[i] !== ''));
  const widths = heads.map((head, i) =>
    Math.max(head.length, ...rows.map((row) => row[i]!.length)),
  );
  const line = (cells: readonly string[]): string =>
    `  ${cells.flatMap((cell, i) => (used[i] ? [cell.padStart(widths[i]!)] : [])).join('  ')}`.trimEnd();
  return [line(heads), ...rows.map(line)];
}

const settingText = (value: number | string | undefined): string =>
  typeof value === 'number' ? String(Number(value.toFixed(2))) : (value ?? '');

function familyList(): string {
  return designFamilies
    .map(({ name, says, options }) => {
      const names = Object.keys(options.shape);
      return `${name}\n    ${says}\n    options: ${names.join(', ')}`;
    })
    .join('\n');
}

/** Refuses a plan file that names no study and no spec. */
export function assertNamed(given: Given): void {
  if (given.rest.length === 0) throw new UsageError('name the study file, or give --spec FILE.');
}
