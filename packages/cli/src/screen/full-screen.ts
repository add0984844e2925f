import { render } from 'ink';
import type { ReactElement } from 'react';

/**
 * Shows an element on the terminal's second page and gives the first page back as it was, whatever
 * happens: a screen must never leave a terminal broken.
 *
 * @param waiting - shown until the first drawing, which covers it; for elements that take long to make
 */
export async function fullScreen(element: ReactElement, waiting = ''): Promise<void> {
  const { stdout } = process;
  const leave = (): void => void stdout.write('\u001B[?25h\u001B[?1049l');
  stdout.write(`\u001B[?1049h\u001B[H${waiting}\r`);
  process.once('exit', leave);
  try {
    const app = render(element, { exitOnCtrlC: false, patchConsole: false });
    await app.waitUntilExit();
  } finally {
    process.removeListener('exit', leave);
    leave();
  }
}
