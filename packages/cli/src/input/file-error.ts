import { DomainError, nearestName } from '@strandwise/core';
import { type Document, isNode, type LineCounter } from 'yaml';
import { z } from 'zod';

/** An input file that cannot be used: which file, where in it, what was found, what to do. */
export class InputFileError extends Error {
  constructor(file: string, says: string) {
    super(`${file}: ${says}`);
    this.name = 'InputFileError';
  }
}

/**
 * One line for the first thing wrong with a parsed file: line and column from the text, the field's
 * path, what was got, and the nearest known name where a field is unknown.
 */
export function schemaIssueText(
  issue: z.core.$ZodIssue,
  schema: z.ZodType,
  document: Document | null,
  lines: LineCounter,
): string {
  const path = issue.path.map(String);
  const place = placeOf(issue.path as (string | number)[], document, lines);
  const field = path.length > 0 ? `field "${path.join('.')}"` : 'the file';
  if (issue.code === 'unrecognized_keys') {
    const where = path.length > 0 ? ` in "${path.join('.')}"` : '';
    return `${place}unknown field "${issue.keys.join('", "')}"${where}. ${knownFieldsText(issue, schema)}`;
  }
  if (issue.code === 'custom') return `${place}${field}: ${issue.message}`;
  if (issue.code === 'invalid_type' && issue.input === undefined)
    return `${place}${field} is missing; expected ${issue.expected}.`;
  const known = issue.code === 'invalid_value' ? issue.values.map(String) : [];
  const near = typeof issue.input === 'string' ? nearestName(issue.input, known) : undefined;
  const got = isShort(issue.input) ? `; got ${JSON.stringify(issue.input)}` : '';
  return `${place}${field}: ${issue.message}${got}.${near ? ` Did you mean "${near}"?` : ''}`;
}

/** Values that fit on a line; Infinity and the like are told by the message. */
const isShort = (input: unknown): boolean =>
  typeof input === 'string' ||
  typeof input === 'boolean' ||
  (typeof input === 'number' && Number.isFinite(input));

/** Fields that stand where an unknown one was met, the nearest first. */
function knownFieldsText(
  { keys, path }: z.core.$ZodIssueUnrecognizedKeys,
  schema: z.ZodType,
): string {
  const known = fieldsAt(path, z.toJSONSchema(schema, { io: 'input', unrepresentable: 'any' }));
  if (keys.some((key) => known.includes(key))) return 'It does not go with the others here.';
  const near = keys.flatMap((key) => nearestName(key, known) ?? []);
  if (near.length > 0) return `Did you mean "${near.join('", "')}"?`;
  return known.length > 0
    ? `Known here: ${known.join(', ')}. Remove it.`
    : 'Remove it or check its spelling.';
}

interface SchemaNode {
  readonly properties?: Readonly<Record<string, SchemaNode>>;
  readonly items?: SchemaNode;
  readonly anyOf?: readonly SchemaNode[];
  readonly additionalProperties?: SchemaNode | boolean;
}

/** Names of the fields of a JSON Schema at a path, over all branches. */
function fieldsAt(path: readonly PropertyKey[], node: unknown): string[] {
  if (typeof node !== 'object' || node === null) return [];
  const { properties = {}, items, anyOf, additionalProperties } = node as SchemaNode;
  const [step, ...rest] = path;
  const inBranches = (anyOf ?? []).flatMap((branch) => fieldsAt(path, branch));
  if (step === undefined) return [...new Set([...Object.keys(properties), ...inBranches])];
  const next =
    typeof step === 'number' ? items : (properties[String(step)] ?? additionalProperties);
  return [...fieldsAt(rest, next), ...inBranches];
}

function placeOf(
  path: readonly (string | number)[],
  document: Document | null,
  lines: LineCounter,
): string {
  if (document === null) return '';
  for (let depth = path.length; depth >= 0; depth--) {
    const node = depth === 0 ? document.contents : document.getIn(path.slice(0, depth), true);
    if (isNode(node) && node.range) {
      const { line, col } = lines.linePos(node.range[0]);
      return `line ${line}, column ${col}: `;
    }
  }
  return '';
}

/** A misuse of a name with the nearest known one offered. */
export function unknownName(kind: string, got: string, known: readonly string[]): DomainError {
  const near = nearestName(got, known);
  const offer =
    near === undefined
      ? `Known: ${known.join(', ')}.`
      : `Did you mean "${near}"? Known: ${known.join(', ')}.`;
  return new DomainError('unknown_name', `${kind} must be a known one; got "${got}". ${offer}`);
}
