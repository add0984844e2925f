import { type Line, line } from '../../terminal/line.ts';

/** Lines that belong together. The block with the highest rank is left out first when room is short. */
export interface Block {
  readonly lines: readonly Line[];
  /** 0 is never left out. */
  readonly rank: number;
}

export const block = (rank: number, ...lines: readonly Line[]): Block => ({ rank, lines });

/** As many blocks as fit into `room` lines, in their order, padded to exactly that many. */
export function fitted(blocks: readonly Block[], room: number): Line[] {
  let kept = [...blocks];
  const size = (): number => kept.reduce((sum, { lines }) => sum + lines.length, 0);
  while (size() > room) {
    const worst = Math.max(...kept.map(({ rank }) => rank));
    if (worst === 0) break;
    const at = kept.findLastIndex(({ rank }) => rank === worst);
    kept = kept.filter((_, i) => i !== at);
  }
  const lines = kept.flatMap(({ lines: own }) => [...own]).slice(0, room);
  return [...lines, ...Array.from({ length: room - lines.length }, () => line())];
}
