import { DomainError, nearestName } from '@strandwise/core';
import { type Document, isNode, type LineCounter } from 'yaml';
import type { z } from 'zod';

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
  document: Document | null,
  lines: LineCounter,
): string {
  const path = issue.path.map(String);
  const place = placeOf(issue.path as (string | number)[], document, lines);
  const field = path.length > 0 ? `field "${path.join('.')}"` : 'the file';
  if (issue.code === 'unrecognized_keys') {
    const where = path.length > 0 ? ` in "${path.join('.')}"` : '';
    return `${place}unknown field "${issue.keys.join('", "')}"${where}. Remove it or check its spelling.`;
  }
  return `${place}${field}: ${issue.message}`;
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
