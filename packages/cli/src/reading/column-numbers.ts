import { InputFileError } from '../input/file-error.ts';
import type { DelimitedText } from './delimited-text.ts';
import { type DecimalMark, isEitherWay, shownMark, writtenNumber } from './written-number.ts';

type Cell = number | string | null;

/** Words for "nothing was noted". */
const NOTHING = /^(|-+|–|—|\.|\*|\?|n\.?a\.?n?|n\/a|#n\/a|null|none|nil|missing)$/i;

/** Words for a cell that gave no value. */
const FAILED = /^(failed|fail|aborted|lost)$/i;

export const saysNothing = (entry: string): boolean => NOTHING.test(entry.trim());

/** Decimal marks that the entries of some columns show beyond doubt. */
export function marksOf(
  { rows }: DelimitedText,
  columns: readonly number[],
): ReadonlySet<DecimalMark> {
  const marks = rows.flatMap((row) => columns.flatMap((j) => shownMark(row[j]!) ?? []));
  return new Set(marks);
}

/**
 * A column as numbers; what is no number stays text, for whoever needs one to refuse.
 *
 * "1,234" is a thousand or one and a bit: other entries of the column decide, then those of the
 * file; where nothing does it is refused, but for semicolons between entries, which are there because
 * commas are decimal.
 *
 * @param inFile - marks seen in all columns that are used
 * @param mayFail - "failed" stands for no value, as of a response
 * @throws {InputFileError} when points and commas are both decimal marks, or neither can be told
 */
export function columnNumbers(
  text: DelimitedText,
  column: number,
  { inFile, mayFail }: { readonly inFile: ReadonlySet<DecimalMark>; readonly mayFail: boolean },
): Cell[] {
  const own = marksOf(text, [column]);
  const where = `column ${column + 1} ("${text.heads[column]}")`;
  if (own.size > 1) {
    const at = text.rows.findIndex((row) => shownMark(row[column]!) === ',');
    throw new InputFileError(
      text.file,
      `line ${text.lines[at]}, ${where}: a column must write decimals in one way; got ${JSON.stringify(text.rows[at]![column])} beside entries with a decimal point. Write all with a point, or all with a comma.`,
    );
  }
  const [shown] = own.size === 1 ? own : inFile;
  const isTold = own.size === 1 || inFile.size === 1;
  return text.rows.map((row, i): Cell => {
    const entry = row[column]!;
    if (saysNothing(entry) || (mayFail && FAILED.test(entry))) return null;
    const mark = isTold ? shown! : assumedMark(entry, text.delimiter);
    if (isEitherWay(entry) && (!mark || (mark === ',' && entry.includes('.'))))
      throw new InputFileError(
        text.file,
        `line ${text.lines[i]}, ${where}: a number must be readable in one way; got ${JSON.stringify(entry)}, which could have thousands or three decimals. Write it without a mark between thousands.`,
      );
    return writtenNumber(entry, mark ?? '.') ?? entry;
  });
}

/** What a mark means where no entry tells. */
function assumedMark(entry: string, delimiter: string): DecimalMark | undefined {
  if (!entry.includes(',')) return '.';
  return delimiter === ';' || !isEitherWay(entry) ? ',' : undefined;
}
