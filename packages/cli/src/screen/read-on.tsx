import { render, Text, useApp } from 'ink';
import { useKeyPresses } from './key-press.ts';

/**
 * Waits below what a command printed, until it has been read: enter, escape or q.
 *
 * A view of the same kind as the screens before and after it: two readers of different kinds on one
 * keyboard stop each other.
 */
export async function readOn(): Promise<void> {
  const app = render(<ReadOn />, { exitOnCtrlC: true, patchConsole: false });
  await app.waitUntilExit();
}

function ReadOn() {
  const app = useApp();
  useKeyPresses(({ input, key }) => {
    if (key.return || key.escape || input === 'q') app.exit();
  });
  return <Text>{'\nenter: back to the workbench'}</Text>;
}
