export type CsvCell = string | number | null;

// A spreadsheet takes a cell that begins so for a formula; the wide forms are turned into the
// narrow ones by some of them.
const opensFormula = /^[\s\p{Cc}]*[=+\-@＝＋－＠]|^[\t\r\n]/u;
const plainNumber = /^[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?$/;

/** A cell's text, guarded by an apostrophe when a spreadsheet would run it as a formula. */
export function guardedCell(cell: CsvCell): string {
  if (cell === null) return '';
  if (typeof cell === 'number') return Number.isFinite(cell) ? String(cell) : '';
  if (plainNumber.test(cell) || !opensFormula.test(cell)) return cell;
  return `'${cell}`;
}

/**
 * Rows as comma-separated text: CRLF line ends, cells quoted when they hold a comma, quote or line
 * break, numbers with a point and all their digits, missing values empty.
 *
 * @source RFC 4180, section 2
 */
export function csvText(rows: readonly (readonly CsvCell[])[]): string {
  return rows.map((row) => `${row.map(quotedCell).join(',')}\r\n`).join('');
}

function quotedCell(cell: CsvCell): string {
  const text = guardedCell(cell);
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}
