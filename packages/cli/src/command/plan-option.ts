import { UsageError } from './usage-error.ts';

/**
 * Family options from `--set name=value`: numbers, true and false, JSON lists and objects; anything
 * else is text.
 */
export function planOptionValues(given: unknown): Record<string, unknown> {
  const list = Array.isArray(given) ? given : given === undefined ? [] : [given];
  return Object.fromEntries(
    list.map((item) => {
      const text = String(item);
      const at = text.indexOf('=');
      if (at < 1) throw new UsageError(`--set must be OPTION=VALUE; got "${text}".`);
      return [text.slice(0, at).trim(), optionValue(text.slice(at + 1).trim())];
    }),
  );
}

function optionValue(text: string): unknown {
  if (text !== '' && Number.isFinite(Number(text))) return Number(text);
  if (text === 'true' || text === 'false' || /^[[{"]/.test(text)) {
    try {
      return JSON.parse(text);
    } catch {
      throw new UsageError(`--set value must be a number, text or JSON; got "${text}".`);
    }
  }
  return text;
}
