import { DomainError, nearestName } from '../error/domain-error.ts';

/** What a list of names holds, and where a wrong one was met. */
export interface NameList {
  /** The subject of the message, e.g. `designOf: option "limits"`. */
  readonly subject: string;
  readonly known: readonly string[];
  readonly code: string;
}

/**
 * Position of a name in a list.
 * @throws {DomainError} with the list's code when it is not there, offering the nearest name
 */
export function positionOf(name: string, { subject, known, code }: NameList): number {
  const at = known.indexOf(name);
  if (at >= 0) return at;
  const nearest = nearestName(name, known);
  throw new DomainError(
    code,
    `${subject} must be one of ${known.join(', ')}; got "${name}". ${nearest ? `Did you mean "${nearest}"?` : 'Use one of these.'}`,
    { name, nearest: nearest ?? null },
  );
}

/**
 * Position of a factor among those of a design.
 * @throws {DomainError} `unknown_factor`
 */
export function factorPosition(
  name: string,
  factors: readonly { readonly name: string }[],
  subject: string,
): number {
  const known = factors.map((factor) => factor.name);
  return positionOf(name, { subject, known, code: 'unknown_factor' });
}
