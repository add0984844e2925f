// Runs in a thread of its own: makes one start after another of an optimal search.
import { parentPort, workerData } from 'node:worker_threads';
import { oneStart } from '@strandwise/core';
import type { SearchWork, StartDone, StartWanted } from './search-message.ts';

const { problem } = workerData as SearchWork;
const port = parentPort!;

port.on('message', ({ startIndex }: StartWanted) => {
  port.postMessage(answer(startIndex));
});

function answer(startIndex: number): StartDone {
  try {
    return { kind: 'done', result: oneStart(problem, startIndex) };
  } catch (error) {
    return { kind: 'failed', message: error instanceof Error ? error.message : String(error) };
  }
}
