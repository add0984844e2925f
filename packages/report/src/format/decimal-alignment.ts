/** As wide as a digit, U+2007; as wide as a point, U+2008. */
const figureSpace = '\u2007';
const pointSpace = '\u2008';

/**
 * Numbers padded on the right so that their decimal points fall under each other when the column is
 * set flush right in tabular figures. Texts that are not plain numbers stay as they are.
 *
 * @example decimalAligned(['1.25', '−10']) // ['1.25', '−10' + point space + two figure spaces]
 */
export function decimalAligned(texts: readonly string[]): string[] {
  const tails = texts.map((text) => (isNumber(text) ? tailOf(text) : 0));
  const longest = Math.max(0, ...tails);
  return texts.map((text, i) => {
    if (!isNumber(text)) return text;
    const tail = tails[i]!;
    if (tail === 0 && longest > 0) return text + pointSpace + figureSpace.repeat(longest);
    return text + figureSpace.repeat(longest - tail);
  });
}

const isNumber = (text: string): boolean => /^[+−<>]?\s?[\d\u202f]+(\.\d+)?$/.test(text);
const tailOf = (text: string): number => text.split('.')[1]?.length ?? 0;
