import { readFileSync } from 'node:fs';
import { LineCounter, parseDocument } from 'yaml';
import type { z } from 'zod';
import { InputFileError, schemaIssueText } from './file-error.ts';

/**
 * A JSON or YAML file checked against a schema. JSON is read as YAML 1.2, of which it is a part, so
 * both get line and column with every complaint.
 *
 * @throws {InputFileError} naming file, line, column and field
 */
export function readDocument<T extends z.ZodType>(file: string, schema: T): z.infer<T> {
  const text = readText(file);
  const lines = new LineCounter();
  const document = parseDocument(text, {
    lineCounter: lines,
    uniqueKeys: true,
    prettyErrors: false,
  });
  const wrong = document.errors[0];
  if (wrong) {
    const { line, col } = lines.linePos(wrong.pos[0]);
    throw new InputFileError(
      file,
      `line ${line}, column ${col}: ${wrong.message}. Mend the file and try again.`,
    );
  }
  const parsed = schema.safeParse(document.toJS(), { reportInput: true });
  if (parsed.success) return parsed.data as z.infer<T>;
  const issues = flattened(parsed.error.issues);
  const shown = issues.slice(0, 5).map((issue) => schemaIssueText(issue, schema, document, lines));
  const more = issues.length > 5 ? [`and ${issues.length - 5} more`] : [];
  throw new InputFileError(file, [...shown, ...more].join('\n  '));
}

/** Of a union's complaints, those of the branch that came nearest (fewest complaints). */
function flattened(issues: readonly z.core.$ZodIssue[]): z.core.$ZodIssue[] {
  return issues.flatMap((issue) => {
    if (issue.code !== 'invalid_union' || issue.errors.length === 0) return [issue];
    const nearest = [...issue.errors].sort((a, b) => distance(a) - distance(b))[0]!;
    return flattened(nearest.map((inner) => ({ ...inner, path: [...issue.path, ...inner.path] })));
  });
}

/**
 * How far a value is from a branch: the wrong kind altogether says most against it, a missing or an
 * unknown field more than a wrong value in a known one.
 */
const distance = (issues: readonly z.core.$ZodIssue[]): number =>
  issues.reduce((sum, issue) => {
    if (issue.code === 'unrecognized_keys') return sum + 2 * issue.keys.length;
    if (issue.path.length === 0 && issue.code !== 'custom') return sum + 3;
    return sum + (issue.code === 'invalid_type' && issue.input === undefined ? 2 : 1);
  }, 0);

export function readText(file: string): string {
  const bytes = readBytes(file);
  if (bytes.byteLength === 0) throw new InputFileError(file, 'the file is empty.');
  const wide = wideEncoding(bytes);
  if (wide) return new TextDecoder(wide).decode(bytes);
  if (bytes.subarray(0, 4096).includes(0))
    throw new InputFileError(file, 'this looks like a binary file; expected text.');
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    // Spreadsheets on older settings write one byte a letter, such as 0xB0 for a degree sign.
    return new TextDecoder('windows-1252').decode(bytes);
  }
}

/** UTF-16, which spreadsheets call "Unicode text", by its byte order mark. */
function wideEncoding([first, second]: Uint8Array): string | null {
  if (first === 0xff && second === 0xfe) return 'utf-16le';
  return first === 0xfe && second === 0xff ? 'utf-16be' : null;
}

export function readBytes(file: string): Uint8Array {
  try {
    return readFileSync(file);
  } catch (error) {
    const { code } = error as { code?: string };
    if (code === 'ENOENT') throw new InputFileError(file, 'there is no such file. Check the name.');
    if (code === 'EISDIR') throw new InputFileError(file, 'this is a folder; expected a file.');
    throw new InputFileError(file, `the file cannot be read (${(error as Error).message}).`);
  }
}
