const TICK_MS = 1000;

/**
 * Calls once a second, behind whatever has arrived: after a program was held up, what waits in the
 * socket or the port is read before silence is judged.
 *
 * @returns a function that stops it
 */
export function tickAfterReading(tick: () => void): () => void {
  let waiting: NodeJS.Immediate | undefined;
  const timer = setInterval(() => {
    waiting = setImmediate(tick);
  }, TICK_MS);
  return () => {
    clearInterval(timer);
    clearImmediate(waiting);
  };
}
