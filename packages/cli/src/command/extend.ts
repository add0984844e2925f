import {
  Addition,
  additionKinds,
  type Extension,
  PlannedRun,
  PlanProperties,
  planExtension,
} from '@strandwise/core';
import { z } from 'zod';
import { unknownName } from '../input/file-error.ts';
import { themeOf, themeWish } from '../theme.ts';
import { extensionText } from '../wording/extension-text.ts';
import type { Command, ExitCode, Given } from './command.ts';
import { planOptionValues } from './plan-option.ts';
import { changeFrom, requestOptions } from './plan-request.ts';
import { whoOption, withStudy } from './study-file.ts';
import { textOption, UsageError } from './usage-error.ts';

/** What `extend --json` answers. */
export const ExtensionAnswer = z.strictObject({
  says: z.string(),
  hours: z.number(),
  grams: z.number(),
  runs: z.array(PlannedRun),
  leftOut: z.array(z.int()),
  before: PlanProperties,
  after: PlanProperties,
  /** On the model that could be told before; null when the model told is the same. */
  afterOnSameModel: PlanProperties.nullable(),
  notes: z.array(z.string()),
  adopted: z.boolean(),
});

export const extendCommand: Command = {
  name: 'extend',
  summary: 'change a plan half-way: add cells, replace failed ones, move a range',
  usage: 'extend STUDY --add KIND [--set OPTION=VALUE] [--adopt]',
  example: {
    line: 'strandwise extend px-31.strandwise --add "bigger model" --set model=quadratic --adopt',
    says: 'adds the best cells for the model, keeps those that are done, and shows what changes; without --adopt it is only shown.',
  },
  options: {
    add: { type: 'string', value: 'KIND', says: `one of: ${additionKinds.join(', ')}` },
    set: {
      type: 'string',
      multiple: true,
      value: 'OPTION=VALUE',
      says: 'an option of the addition, such as count=4, factor=level, low=185; "--kinds" lists them',
    },
    kinds: { type: 'boolean', says: 'list what can be added, with the options' },
    effect: requestOptions['effect']!,
    noise: requestOptions['noise']!,
    ratio: requestOptions['ratio']!,
    why: { type: 'string', value: 'TEXT', says: 'why, for the record' },
    adopt: { type: 'boolean', says: 'record it in the study' },
    json: { type: 'boolean', says: 'the answer as JSON' },
    ...whoOption,
  },
  run(given, around) {
    if (given.options['kinds']) {
      around.out(kindList());
      return 0;
    }
    return withStudy<ExitCode>(given, around, (journal) => {
      const { opened } = journal.state();
      const change = changeFrom(given, opened.factors, opened.responses);
      const extension = planExtension(journal.state(), additionOf(given), change);
      const isAdopted = given.options['adopt'] === true;
      if (isAdopted) {
        for (const happening of extension.happenings)
          journal.record(happening, textOption(given.options, 'why') ?? undefined);
      }
      const theme = themeOf(themeWish(around.env, around.isTerminal));
      around.out(
        given.options['json']
          ? JSON.stringify(answerOf(extension, isAdopted), null, 2)
          : extensionText(extension, journal.state().opened.factors, theme),
      );
      around.tell(
        isAdopted
          ? `Recorded as plan ${journal.state().planVersion}. Next: strandwise walk ${given.rest[0]}`
          : 'Not recorded yet: add --adopt.',
      );
      return 0;
    });
  },
};

function additionOf(given: Given): Addition {
  const kind = textOption(given.options, 'add');
  if (kind === undefined)
    throw new UsageError(
      `say what to add: --add "${additionKinds[0]}" or another of ${additionKinds.join(', ')}.`,
    );
  if (!additionKinds.some((known) => known === kind))
    throw unknownName('--add', kind, additionKinds);
  const parsed = Addition.safeParse({ kind, ...listed(planOptionValues(given.options['set'])) });
  if (parsed.success) return parsed.data;
  const issue = parsed.error.issues[0]!;
  const where = issue.path.length > 0 ? `option "${issue.path.join('.')}" of ` : '';
  const known = optionNames(kind);
  throw new UsageError(
    `${where}"${kind}": ${issue.message}. Its options: ${known.length === 0 ? 'none' : known.join(', ')}.`,
  );
}

/** Lists may be written with commas: reverse=level,tilt and cells=1,4,5. */
function listed(values: Readonly<Record<string, unknown>>): Record<string, unknown> {
  return Object.fromEntries(
    Object.entries(values).map(([name, value]) => {
      if (name === 'reverse' && !Array.isArray(value)) return [name, split(value)];
      if (name === 'cells' && !Array.isArray(value)) return [name, split(value).map(Number)];
      if (name === 'keep' && typeof value === 'string') {
        const [factor, at] = value.split(':');
        return [name, { factor, at }];
      }
      return [name, value];
    }),
  );
}

const split = (value: unknown): string[] =>
  String(value)
    .split(',')
    .map((part) => part.trim());

const optionNames = (kind: string): string[] => {
  const found = Addition.options.find(({ shape }) => shape.kind.value === kind);
  return found ? Object.keys(found.shape).filter((name) => name !== 'kind') : [];
};

const kindList = (): string =>
  additionKinds
    .map((kind) => {
      const names = optionNames(kind);
      return `${kind}\n    options: ${names.length === 0 ? 'none' : names.join(', ')}`;
    })
    .join('\n');

const answerOf = (extension: Extension, adopted: boolean): z.infer<typeof ExtensionAnswer> => ({
  says: extension.says,
  hours: extension.hours,
  grams: extension.grams,
  runs: extension.runs.map((run) => ({ ...run })),
  leftOut: [...extension.leftOut],
  before: extension.before,
  after: extension.after,
  afterOnSameModel: extension.afterOnSameModel,
  notes: [...extension.notes],
  adopted,
});
