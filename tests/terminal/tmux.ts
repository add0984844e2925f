import { spawnSync } from 'node:child_process';
import { randomBytes } from 'node:crypto';

/** A program in a terminal of its own, as a person meets it. */
export interface TmuxTerminal {
  /** Keys as tmux names them: `Enter`, `Escape`, `Space`, letters. */
  press(...keys: string[]): void;
  type(text: string): void;
  frame(): string;
  /** Waits for text on the screen; fails with the last frame. */
  see(text: string | RegExp, withinMs?: number): Promise<string>;
  /** Waits until the program has ended; fails with the last frame. */
  ended(withinMs?: number): Promise<void>;
  resize(columns: number, rows: number): void;
  /** Process id of the program. */
  pid(): number;
  close(): void;
}

function tmux(socket: string, ...args: string[]): string {
  const { status, stdout, stderr, error } = spawnSync('tmux', ['-L', socket, ...args], {
    encoding: 'utf8',
  });
  if (status !== 0) throw new Error(`tmux ${args[0]}: ${stderr || String(error)}`);
  return stdout;
}

const POLL_MS = 40;

/** Starts a command in a new terminal; each has a server of its own, so tests cannot meet. */
export function tmuxTerminal({
  command,
  columns = 80,
  rows = 24,
  env = {},
}: {
  command: readonly string[];
  columns?: number;
  rows?: number;
  env?: Readonly<Record<string, string>>;
}): TmuxTerminal {
  const socket = `strandwise-${randomBytes(6).toString('hex')}`;
  // CI is set on purpose: a person at a terminal there must see the screens all the same.
  const settings = { LANG: 'C.UTF-8', NO_COLOR: '1', CI: 'true', ...env };
  const set = Object.entries(settings).flatMap(([name, value]) => ['-e', `${name}=${value}`]);
  const size = ['-x', String(columns), '-y', String(rows)];
  const words = command.map((word) => `'${word.replaceAll("'", "'\\''")}'`).join(' ');
  const option = (name: string, value: string): string[] => [';', 'set-option', '-g', name, value];
  tmux(
    socket,
    ...['new-session', '-d', '-s', 'walk', ...size, ...set, `exec ${words}`],
    ...option('remain-on-exit', 'on'),
    ...option('escape-time', '0'),
  );
  const frame = (): string => tmux(socket, 'capture-pane', '-p', '-t', 'walk');
  const told = (what: string): string =>
    tmux(socket, 'display-message', '-p', '-t', 'walk', what).trim();
  const until = async (isTrue: () => boolean, withinMs: number, what: string): Promise<void> => {
    const started = performance.now();
    while (!isTrue()) {
      if (performance.now() - started > withinMs)
        throw new Error(`waited ${withinMs} ms for ${what}; the screen shows\n${frame()}`);
      await new Promise((resolve) => setTimeout(resolve, POLL_MS));
    }
  };
  return {
    press: (...keys) => void tmux(socket, 'send-keys', '-t', 'walk', ...keys),
    type: (text) => void tmux(socket, 'send-keys', '-t', 'walk', '-l', text),
    frame,
    async see(text, withinMs = 15_000) {
      let now = '';
      const isThere = (): boolean => {
        now = frame();
        return typeof text === 'string' ? now.includes(text) : text.test(now);
      };
      await until(isThere, withinMs, String(text));
      return now;
    },
    // Not by the words that tmux writes then: on a busy machine it can miss that its child has ended.
    ended: (withinMs = 15_000) => until(() => told('#{pane_dead}') === '1', withinMs, 'the end'),
    resize: (x, y) =>
      void tmux(socket, 'resize-window', '-t', 'walk', '-x', String(x), '-y', String(y)),
    pid: () => Number(told('#{pane_pid}')),
    close: () => void spawnSync('tmux', ['-L', socket, 'kill-server']),
  };
}
