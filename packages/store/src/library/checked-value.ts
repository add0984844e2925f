import { DomainError, type LibraryKind, type LibraryValue, libraryKinds } from '@strandwise/core';

/** A record checked against the schema of its kind. */
export function checkedValue<K extends LibraryKind>(
  kind: K,
  name: string,
  value: unknown,
): LibraryValue<K> {
  const parsed = libraryKinds[kind].safeParse(value);
  if (parsed.success) return parsed.data as LibraryValue<K>;
  const issue = parsed.error.issues[0]!;
  throw new DomainError(
    'library_value',
    `library: ${kind} "${name}" must keep to its schema; got a wrong ${issue.path.join('.') || 'value'} (${issue.message}). "strandwise schema ${kind}" shows it.`,
    { kind, name },
  );
}

/** Names are one and the same whatever their letter case. */
export const nameKey = (name: string): string => name.trim().toLowerCase();
