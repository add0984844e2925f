import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';

/** A source of numbers in [0, 1). */
export type Uniform = () => number;

/**
 * A seeded source, the same on every machine: 53-bit fractions from xoroshiro128+.
 *
 * @param seed - any integer; only its low 32 bits count
 * @param stream - a label; the same seed gives an unrelated sequence per label
 */
export function seededUniform(seed: number, stream = ''): Uniform {
  const generator = xoroshiro128plus(scrambled(scrambled(seed) ^ labelHash(stream)));
  const word = (): number => generator.next() >>> 0;
  // The first words of this generator hardly depend on a small seed: leave them out.
  for (let i = 0; i < 16; i++) word();
  return () => ((word() >>> 5) * 67108864 + (word() >>> 6)) / 9007199254740992;
}

/** A bijection of 32-bit words that sends neighbouring seeds far apart (the finaliser of MurmurHash3). */
function scrambled(seed: number): number {
  let word = seed | 0;
  word = Math.imul(word ^ (word >>> 16), 0x85ebca6b);
  word = Math.imul(word ^ (word >>> 13), 0xc2b2ae35);
  return word ^ (word >>> 16);
}

/** FNV-1a over UTF-16 code units: enough to keep labelled streams apart. */
function labelHash(label: string): number {
  let hash = 0x811c9dc5;
  for (let i = 0; i < label.length; i++) hash = Math.imul(hash ^ label.charCodeAt(i), 0x01000193);
  return label === '' ? 0 : hash;
}

/** A copy in random order (Fisher–Yates). */
export function shuffled<T>(items: readonly T[], uniform: Uniform): T[] {
  const out = [...items];
  for (let i = out.length - 1; i > 0; i--) {
    const j = Math.floor(uniform() * (i + 1));
    [out[i], out[j]] = [out[j]!, out[i]!];
  }
  return out;
}
