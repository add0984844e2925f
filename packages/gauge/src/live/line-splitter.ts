import { LONGEST_LINE } from '../format/line-reader.ts';

/** Turns bytes as they come into whole lines. */
export interface LineSplitter {
  /** Lines closed by this chunk; an over-long one comes cut to its first 4096 characters. */
  push(chunk: Uint8Array): readonly string[];
  /** What is left of a line that nobody will close; forgets it. */
  rest(): string;
}

/**
 * Splits at a line feed, a carriage return, or both. A carriage return at the very end of a chunk
 * closes its line; a line feed that opens the next chunk then belongs to it.
 */
export function lineSplitter(): LineSplitter {
  let pending = '';
  let endedInReturn = false;
  let decoder = new TextDecoder();
  return {
    push(chunk) {
      let text = decoder.decode(chunk, { stream: true });
      if (text === '') return [];
      if (endedInReturn && text.startsWith('\n')) text = text.slice(1);
      endedInReturn = text.endsWith('\r') || (text === '' && endedInReturn);
      const lines = (pending + text).split(/\r\n|\n|\r/);
      pending = lines.pop()!;
      // Noise at the wrong speed may never send a line end; it must not fill the memory.
      if (pending.length > LONGEST_LINE) {
        lines.push(pending);
        pending = '';
      }
      return lines.map((line) => line.slice(0, LONGEST_LINE + 1));
    },
    rest() {
      const rest = pending;
      pending = '';
      endedInReturn = false;
      decoder = new TextDecoder();
      return rest;
    },
  };
}
