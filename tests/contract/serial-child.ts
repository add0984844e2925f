// Runs a serial source for the contract suite, in a process of its own.
import type { Listening } from '@strandwise/core';
import { serialSource } from '@strandwise/gauge';
import { plainLines } from './plain-lines.ts';

const source = serialSource({ path: process.argv[2]!, format: plainLines, retryMs: 10 });
const open = new Map<number, Listening>();

process.on('message', ({ id, does }: { id: number; does: 'listen' | 'stop' }) => {
  if (does === 'listen') {
    open.set(
      id,
      source.listen((event) => process.send!({ id, event })),
    );
  } else {
    void open
      .get(id)!
      .stop()
      .then(() => process.send!({ id, stopped: true }));
  }
});
process.on('disconnect', () => process.exit(0));
process.send!({ ready: true });
