/** Letters that stand for factors in words. I is left out: it stands for the identity. */
const alphabet = 'ABCDEFGHJKLMNOPQRSTUVWXYZ';

/** The letter of a factor by its position from 0; two-sign names past the alphabet ("A2"). */
export function factorLetter(position: number): string {
  const letter = alphabet[position % alphabet.length]!;
  const round = Math.floor(position / alphabet.length);
  return round === 0 ? letter : `${letter}${round + 1}`;
}

/** A set of factors as a word: mask 0b101 ↦ "AC". */
export function wordOf(mask: number): string {
  let word = '';
  for (let position = 0; mask >> position !== 0; position++) {
    if ((mask >> position) & 1) word += factorLetter(position);
  }
  return word;
}

const romans = ['', 'I', 'II', 'III', 'IV', 'V', 'VI', 'VII', 'VIII', 'IX', 'X'];

/** A resolution in the Roman numerals of the trade. */
export function roman(resolution: number): string {
  const tens = Math.floor(resolution / 10);
  return 'X'.repeat(tens) + romans[resolution % 10]!;
}
