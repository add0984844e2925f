/** Digits with at most one decimal mark and an exponent; nothing else is a number. */
const PLAIN = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?$/;
const COMMA = /^[+-]?(?:\d+,?\d*|,\d+)(?:[eE][+-]?\d{1,3})?$/;

/** What a cell holds. Blank cells and the usual words for "no value" are missing, not zero. */
export type Cell =
  | { readonly kind: 'number'; readonly value: number }
  | { readonly kind: 'missing' }
  | { readonly kind: 'text' };

const MISSING: Cell = { kind: 'missing' };
const TEXT: Cell = { kind: 'text' };

/** Reads one cell; `1.234,5`, `1_000`, `0x10` and `Infinity` are text. */
export function cellOf(raw: string, decimalMark: '.' | ','): Cell {
  const text = raw.trim();
  if (text === '' || /^(?:nan|n\/?a|null|none|nil|-+|\?+)$/i.test(text)) return MISSING;
  if (decimalMark === ',') {
    return COMMA.test(text) ? numberCell(Number(text.replace(',', '.'))) : TEXT;
  }
  return PLAIN.test(text) ? numberCell(Number(text)) : TEXT;
}

function numberCell(value: number): Cell {
  return Number.isFinite(value) ? { kind: 'number', value } : TEXT;
}
