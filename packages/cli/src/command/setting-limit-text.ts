import { SettingLimit } from '@strandwise/core';
import { UsageError } from './usage-error.ts';

const PART = /^\s*([+−-])?\s*(\d+(?:\.\d+)?)?\s*[×*]?\s*(\S.*?)\s*$/;

/**
 * A linear limit from a line of text: a sum of factors with numbers before them, <= or >=, a number.
 *
 * @throws {UsageError} when it does not read as one
 * @example settingLimit('level + 0.5 tilt <= 205')
 */
export function settingLimit(text: string): SettingLimit {
  const sides = /^(.+?)\s*(<=|>=|≤|≥)\s*([+-]?\d+(?:\.\d+)?)\s*$/.exec(text);
  if (!sides) throw unreadable(text);
  const weights: Record<string, number> = {};
  // Signs part the terms only where a space stands before them, so that names may hold a hyphen.
  for (const part of sides[1]!.split(/\s+(?=[+−-])/)) {
    const found = PART.exec(part);
    if (!found) throw unreadable(text);
    const [, sign, size, name] = found;
    const weight = (sign === '-' || sign === '−' ? -1 : 1) * Number(size ?? 1);
    weights[name!] = (weights[name!] ?? 0) + weight;
  }
  const end = Number(sides[3]);
  const isUpper = sides[2] === '<=' || sides[2] === '≤';
  return SettingLimit.parse({
    weights,
    ...(isUpper ? { atMost: end } : { atLeast: end }),
    says: text.trim().slice(0, 120),
  });
}

const unreadable = (text: string): UsageError =>
  new UsageError(
    `--limit must read like "level + 0.5 tilt <= 205"; got "${text}". Use factor names, numbers and <= or >=.`,
  );
