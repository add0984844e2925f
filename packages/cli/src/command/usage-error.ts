/** The command was called in a way it cannot follow: exit code 2, one line, what to do. */
export class UsageError extends Error {
  constructor(says: string) {
    super(says);
    this.name = 'UsageError';
  }
}

/** Text of a string option, or undefined. */
export function textOption(
  options: Readonly<Record<string, unknown>>,
  name: string,
): string | undefined {
  const value = options[name];
  return typeof value === 'string' ? value : undefined;
}

/** A number from an option, checked. */
export function numberOption(
  options: Readonly<Record<string, unknown>>,
  name: string,
): number | undefined {
  const text = textOption(options, name);
  if (text === undefined) return undefined;
  const value = Number(text);
  if (text.trim() === '' || !Number.isFinite(value)) {
    throw new UsageError(`--${name} must be a number; got "${text}".`);
  }
  return value;
}

/** A whole number from an option, checked. */
export function wholeOption(
  options: Readonly<Record<string, unknown>>,
  name: string,
): number | undefined {
  const value = numberOption(options, name);
  if (value !== undefined && !Number.isSafeInteger(value)) {
    throw new UsageError(`--${name} must be a whole number; got "${String(options[name])}".`);
  }
  return value;
}
