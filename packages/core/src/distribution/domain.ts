import { DomainError } from '../error/domain-error.ts';

// Guards of this folder. Each throws in the words of the caller, so that a NaN never leaves a distribution.

/** @throws {DomainError} `out_of_domain` when value is not above zero (Infinity passes) */
export function requirePositive(operation: string, subject: string, value: number): void {
  if (!(value > 0)) refuse(operation, subject, 'exceed zero', value);
}

/** @throws {DomainError} `out_of_domain` when value is not above zero and finite */
export function requireFinitePositive(operation: string, subject: string, value: number): void {
  if (!(value > 0 && value < Number.POSITIVE_INFINITY)) {
    refuse(operation, subject, 'be finite and exceed zero', value);
  }
}

/** @throws {DomainError} `out_of_domain` when value is negative, infinite or NaN */
export function requireFiniteNonNegative(operation: string, subject: string, value: number): void {
  if (!(value >= 0 && value < Number.POSITIVE_INFINITY)) {
    refuse(operation, subject, 'be finite and at least zero', value);
  }
}

/** @throws {DomainError} `out_of_domain` when value is infinite or NaN */
export function requireFinite(operation: string, subject: string, value: number): void {
  if (!Number.isFinite(value)) refuse(operation, subject, 'be a finite number', value);
}

/** @throws {DomainError} `out_of_domain` when value is NaN */
export function requireNumber(operation: string, subject: string, value: number): void {
  if (Number.isNaN(value)) refuse(operation, subject, 'be a number', value);
}

/** @throws {DomainError} `out_of_domain` when value is outside [0, 1] */
export function requireProbability(operation: string, subject: string, value: number): void {
  if (!(value >= 0 && value <= 1)) refuse(operation, subject, 'lie in [0, 1]', value);
}

/** @throws {DomainError} `out_of_domain` when value is outside (0, 1) */
export function requireOpenProbability(operation: string, subject: string, value: number): void {
  if (!(value > 0 && value < 1)) refuse(operation, subject, 'lie strictly between 0 and 1', value);
}

/** @throws {DomainError} `out_of_domain` when value is not a whole number from `least` to `most` */
export function requireWhole(
  operation: string,
  subject: string,
  {
    value,
    least,
    most,
  }: { readonly value: number; readonly least: number; readonly most?: number },
): void {
  if (Number.isSafeInteger(value) && value >= least && value <= (most ?? value)) return;
  const rule = most === undefined ? `of at least ${least}` : `from ${least} to ${most}`;
  refuse(operation, subject, `be a whole number ${rule}`, value);
}

function refuse(operation: string, subject: string, rule: string, value: number): never {
  throw new DomainError(
    'out_of_domain',
    `${operation}: ${subject} must ${rule}; got ${value}. Check the ${subject}.`,
    { operation, subject, value },
  );
}

/** @throws {DomainError} `no_convergence` always: an iteration ran out of steps */
export function refuseUnconverged(
  operation: string,
  detail: Readonly<Record<string, unknown>>,
): never {
  throw new DomainError(
    'no_convergence',
    `${operation}: the iteration must settle; got ${JSON.stringify(detail)}. Use less extreme arguments.`,
    detail,
  );
}
