/** "a", "a and b", "a, b and c". */
export function listed(items: readonly string[]): string {
  if (items.length < 2) return items[0] ?? '';
  return `${items.slice(0, -1).join(', ')} and ${items.at(-1)}`;
}

/** "1 cell", "3 cells". */
export const counted = (n: number, one: string, many = `${one}s`): string =>
  `${n} ${n === 1 ? one : many}`;

/** The text with its first letter as at the start of a sentence. */
export const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

/** Numbers tied to the unit behind them, so that no line breaks between the two. */
export const tiedUnits = (text: string): string =>
  text.replace(/(\d) (?=(?:%|°C|rpm|mm|µm|m|h|min|kg|g|kg\/h)(?![\p{L}]))/gu, '$1\u202f');
