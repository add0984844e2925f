import type { ReadingSource, SourceEvent } from '@strandwise/core';

/**
 * A source as an async sequence, for commands that read one event after another. Events that come
 * faster than they are taken wait in order; the sequence ends when the signal aborts.
 */
export async function* sourceEvents(
  source: ReadingSource,
  signal: AbortSignal,
): AsyncGenerator<SourceEvent> {
  const waiting: SourceEvent[] = [];
  let wake = (): void => {};
  const listening = source.listen((event) => {
    waiting.push(event);
    wake();
  });
  const onAbort = (): void => wake();
  signal.addEventListener('abort', onAbort);
  try {
    while (!signal.aborted) {
      const event = waiting.shift();
      if (event !== undefined) yield event;
      else {
        await new Promise<void>((resolve) => {
          wake = resolve;
        });
      }
    }
  } finally {
    signal.removeEventListener('abort', onAbort);
    await listening.stop();
  }
}
