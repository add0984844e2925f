import { spawnSync } from 'node:child_process';
import { setTimeout as pause } from 'node:timers/promises';

/** A command in a real terminal of a given size, by way of tmux. */
export interface Terminal {
  /** The screen as it is now, trailing blanks cut. */
  screen(): string;
  /** Waits until the screen holds the words; throws with the screen when it does not in time. */
  waitFor(words: string, seconds?: number): Promise<string>;
  /** Types a command and Enter, once the shell asks for one: what is typed before is lost. */
  command(text: string): Promise<void>;
  /** Presses keys by the names tmux knows: "Enter", "Escape", "Right", or letters. */
  press(...keys: string[]): void;
  close(): void;
}

let opened = 0;

/** Opens a shell in a folder; the terminal has a server of its own, which `close` ends. */
export function openTerminal(
  cwd: string,
  { columns, rows }: { readonly columns: number; readonly rows: number },
): Terminal {
  const server = `strandwise-${process.pid}-${++opened}`;
  const tmux = (...args: string[]): string => {
    const ran = spawnSync('tmux', ['-L', server, ...args], { encoding: 'utf8' });
    if (ran.status !== 0) throw new Error(`tmux ${args[0]}: ${ran.stderr || ran.error?.message}`);
    return ran.stdout;
  };
  const env = [
    '-e',
    'LC_ALL=C.UTF-8',
    '-e',
    'STRANDWISE_WHO=tester',
    '-e',
    'PS1=$ ',
    '-e',
    'CI=true',
  ];
  tmux(
    '-f',
    '/dev/null',
    'new-session',
    '-d',
    '-s',
    'main',
    '-x',
    `${columns}`,
    '-y',
    `${rows}`,
    '-c',
    cwd,
    ...env,
    'sh',
  );
  const screen = (): string =>
    tmux('capture-pane', '-p', '-t', 'main')
      .split('\n')
      .map((line) => line.trimEnd())
      .join('\n');
  const press = (...keys: string[]): void => void tmux('send-keys', '-t', 'main', ...keys);
  const isAsking = (): boolean => /(^|\n)[$#]\s*$/.test(screen().trimEnd());
  return {
    screen,
    press,
    async command(text) {
      for (let waited = 0; waited < 30_000 && !isAsking(); waited += 50) await pause(50);
      press(text, 'Enter');
    },
    async waitFor(words, seconds = 25) {
      const end = Date.now() + 1000 * seconds;
      for (;;) {
        const now = screen();
        if (now.includes(words)) return now;
        if (Date.now() > end)
          throw new Error(`no "${words}" within ${seconds} s on the screen:\n${now}`);
        await pause(50);
      }
    },
    close: () => void spawnSync('tmux', ['-L', server, 'kill-server']),
  };
}
