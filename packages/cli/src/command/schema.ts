import {
  AcceptanceLimits,
  AdviceAnswer,
  FitResult,
  Grade,
  Line,
  PlanAnswer,
  PlanComparison,
  PlannedRun,
  Product,
  RecipeCard,
  Spec,
  SpoolCertificate,
  SpoolComparison,
  StudyDescription,
  StudyEvent,
} from '@strandwise/core';
import { z } from 'zod';
import { unknownName } from '../input/file-error.ts';
import type { Command } from './command.ts';
import { StudyExport } from './exchange.ts';
import { ExtensionAnswer } from './extend.ts';

/** Published schemas by name; each is the one definition that also checks the files. */
const schemas: Readonly<Record<string, z.ZodType>> = {
  spec: Spec,
  study: StudyDescription,
  grade: Grade,
  line: Line,
  product: Product,
  run: PlannedRun,
  plan: PlanAnswer,
  comparison: PlanComparison,
  advice: AdviceAnswer,
  extension: ExtensionAnswer,
  fit: FitResult,
  event: StudyEvent,
  export: StudyExport,
  recipe: RecipeCard,
  acceptance: AcceptanceLimits,
  certificate: SpoolCertificate,
  spools: SpoolComparison,
};

export const schemaCommand: Command = {
  name: 'schema',
  summary: 'print the JSON Schema of a file that Strandwise reads or writes',
  usage: 'schema NAME',
  example: {
    line: 'strandwise schema spec',
    says: `prints one of: ${Object.keys(schemas).join(', ')}.`,
  },
  options: {},
  run(given, around) {
    const name = given.rest[0];
    if (name === undefined) {
      around.out(Object.keys(schemas).join('\n'));
      return 0;
    }
    const schema = Object.hasOwn(schemas, name) ? schemas[name] : undefined;
    if (!schema) throw unknownName('the schema', name, Object.keys(schemas));
    around.out(
      JSON.stringify(z.toJSONSchema(schema, { io: 'input', unrepresentable: 'any' }), null, 2),
    );
    return 0;
  },
};
